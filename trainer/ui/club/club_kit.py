"""Tables and rows as the club's pages use them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from PySide6.QtCore import QModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QDateEdit,
    QDoubleSpinBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLayout,
    QListWidget,
    QListWidgetItem,
    QSpinBox,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import TrainerError
from trainer.ui.look.kit import label

LINE_PADDING_PX = 22
"""Left and right of a list's words together, with a pixel of air each [px]; see the style sheet."""


class _Edged:
    """An edge that is seen in every appearance; Qt's own vanishes on black."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint, with the edge on top."""
        super().paintEvent(event)
        role = QPalette.ColorRole
        has_focus = self.hasFocus()
        colour = self.palette().color(role.Highlight if has_focus else role.PlaceholderText)
        width = 2.0 if has_focus else 1.0
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour, width))
        inset = width / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(inset, inset, -inset, -inset), 5, 5)


class EdgedSpin(_Edged, QSpinBox):
    """A whole number."""


class EdgedNumber(_Edged, QDoubleSpinBox):
    """A number with a decimal."""


class EdgedDate(_Edged, QDateEdit):
    """A day."""


def table(name: str, heads: Sequence[str], stretched: int = -1) -> QTableWidget:
    """Return an empty table of whole rows to choose from."""
    made = QTableWidget(0, len(heads))
    made.setHorizontalHeaderLabels(list(heads))
    made.setAccessibleName(name)
    made.verticalHeader().hide()
    made.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    made.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    made.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    made.setTabKeyNavigation(False)
    made.setShowGrid(False)
    made.setWordWrap(False)
    header = made.horizontalHeader()
    header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    header.setHighlightSections(False)
    header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    header.setSectionResizeMode(
        stretched if stretched >= 0 else len(heads) - 1, QHeaderView.ResizeMode.Stretch
    )
    return made


def fill(made: QTableWidget, rows: Iterable[Sequence[str]]) -> None:
    """Show rows, and keep the row in hand where it was."""
    present = max(0, made.currentRow())
    rows = list(rows)
    made.setRowCount(len(rows))
    for place, row in enumerate(rows):
        for column, text in enumerate(row):
            item = QTableWidgetItem(text)
            item.setToolTip(text)
            made.setItem(place, column, item)
    if rows:
        made.selectRow(min(present, len(rows) - 1))


def row(*parts: QWidget | QLayout | str) -> QHBoxLayout:
    """Return parts side by side; a text becomes a label, and the rest stays free."""
    made = QHBoxLayout()
    made.setSpacing(8)
    has_titles = any(isinstance(part, QLayout) for part in parts)
    for part in parts:
        if isinstance(part, QLayout):
            made.addLayout(part)
            continue
        widget = label(part) if isinstance(part, str) else part
        made.addWidget(widget)
        if has_titles:
            made.setAlignment(widget, Qt.AlignmentFlag.AlignBottom)
    made.addStretch(1)
    return made


def named(title: str, field: QWidget) -> QVBoxLayout:
    """Return a field with its title above, which also is its accessible name."""
    made = QVBoxLayout()
    made.setSpacing(2)
    words: QLabel = label(title, "group")
    words.setBuddy(field)
    if not field.accessibleName():
        field.setAccessibleName(title)
    if isinstance(field, QAbstractSpinBox):
        field.setMinimumHeight(28)
    made.addWidget(words)
    made.addWidget(field)
    return made


class WholeLineDelegate(QStyledItemDelegate):
    """Gives a line the height its words need beside the padding, which Qt forgets."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex) -> QSize:
        """Return the size of a line that is broken at the width its words are painted in."""
        narrowed = QStyleOptionViewItem(option)
        narrowed.rect = option.rect.adjusted(0, 0, -LINE_PADDING_PX, 0)
        return super().sizeHint(narrowed, index)


def lines(made: QListWidget, name: str) -> QListWidget:
    """Have a list show long lines whole, and give it its accessible name."""
    made.setAccessibleName(name)
    made.setItemDelegate(WholeLineDelegate(made))
    made.setWordWrap(True)
    # Lines are broken for the width beside the bar, so the bar must not come and go.
    made.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    made.setResizeMode(QListWidget.ResizeMode.Adjust)
    return made


def sentence(words: str) -> str:
    """Return words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


class TickDelegate(QStyledItemDelegate):
    """Draws the tick that a style sheet takes away from a box."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex) -> None:
        """Paint a line, and its tick in the colour of its words."""
        super().paint(painter, option, index)
        if index.data(Qt.ItemDataRole.CheckStateRole) != Qt.CheckState.Checked.value:
            return
        drawn = QStyleOptionViewItem(option)
        self.initStyleOption(drawn, index)
        place = QStyle.SubElement.SE_ItemViewItemCheckIndicator
        centre = drawn.widget.style().subElementRect(place, drawn, drawn.widget).center()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(drawn.palette.color(QPalette.ColorRole.Text), 2.0))
        corners = ((-3.5, 0.5), (-0.5, 3.5), (4.5, -3.5))
        painter.drawPolyline(QPolygonF([QPointF(centre) + QPointF(x, y) for x, y in corners]))
        painter.restore()


def tick_list(name: str) -> QListWidget:
    """Return a list whose lines are ticked with a click or the space bar."""
    made = QListWidget()
    made.setItemDelegate(TickDelegate(made))
    made.setAccessibleName(name)
    return made


def fill_ticks(made: QListWidget, choices: Iterable[tuple[str, str]], *, ticked: bool) -> None:
    """Show choices (id, words), all ticked or none."""
    made.clear()
    state = Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked
    for name, words in choices:
        item = QListWidgetItem(words)
        item.setData(Qt.ItemDataRole.UserRole, name)
        item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
        item.setCheckState(state)
        made.addItem(item)


def ticked(made: QListWidget) -> list[str]:
    """Return the ids of what is ticked."""
    items = (made.item(place) for place in range(made.count()))
    return [
        item.data(Qt.ItemDataRole.UserRole)
        for item in items
        if item.checkState() == Qt.CheckState.Checked
    ]


def fill_picker(picker: QWidget, choices: Iterable[tuple[object, str]]) -> None:
    """Show choices (id, words) in a picker, and keep the one in hand if it is there still."""
    present = picker.currentData()
    picker.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
    picker.blockSignals(True)
    picker.clear()
    for name, words in choices:
        picker.addItem(words, name)
    place = picker.findData(present)
    picker.setCurrentIndex(max(0, place) if picker.count() else -1)
    picker.blockSignals(False)


def tried(act: Callable[[], object], failed: Callable[[str], object]) -> bool:
    """Do something; tell the reason if it is refused, and return whether it was done."""
    try:
        act()
    except TrainerError as error:
        failed(sentence(str(error)))
        return False
    return True
