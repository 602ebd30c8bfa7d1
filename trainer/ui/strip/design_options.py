"""The choices of a strip design: shape, size, colours and words, each as a labelled field."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QColorDialog,
    QFormLayout,
    QGridLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.session.strip_design import (
    EMPHASES,
    MARKERS,
    ORIENTATIONS,
    SHAPES,
    StripDesign,
    colour_names,
)
from trainer.ui.look.kit import button, label
from trainer.ui.look.picker import Picker
from trainer.ui.look.words import StripWords, capitalised
from trainer.ui.strip.design_edit import with_colour, with_word

_FIELDS = (
    ("orientation", "Lanes run", ORIENTATIONS, {"rows": "across", "columns": "down"}),
    ("active_shape", "Active chip", SHAPES, {"cut": "cut corners"}),
    ("armed_shape", "Armed chip", SHAPES, {"cut": "cut corners"}),
    ("armed_marker", "Armed marker", MARKERS, {}),
    ("emphasis", "Change by itself", EMPHASES, {"border_and_mark": "border and words"}),
)
_SCALES = (0.8, 0.9, 1.0, 1.25, 1.5, 2.0)


class DesignOptions(QTabWidget):
    """Edits a design; `changed` carries the new one."""

    changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Design")
        self._design = StripDesign()
        self._is_showing = False
        self.pickers: dict[str, Picker] = {}
        self.colour_buttons: dict[tuple[str, str], QPushButton] = {}
        self._swatches: dict[tuple[str, str], QLabel] = {}
        self.words = QTableWidget(0, 2)
        self.addTab(self._form_page(), "Layout")
        self.addTab(self._colour_page(), "Colours")
        self.addTab(self._words_page(), "Words")

    def show_design(self, design: StripDesign, words: StripWords) -> None:
        """Show a design; `words` are the chart's own."""
        self._design = design
        self._is_showing = True
        for name, picker in self.pickers.items():
            picker.setCurrentIndex(max(0, picker.findData(getattr(design, name))))
        for (scheme, name), widget in self.colour_buttons.items():
            colour = getattr(getattr(design, scheme), name)
            widget.setText(colour)
            widget.setAccessibleName(f"{_plain(name)}, {scheme}: {colour}")
            self._swatches[scheme, name].setStyleSheet(
                f"background: {colour}; border: 1px solid #808080; border-radius: 3px;"
            )
        self._show_words(words)
        self._is_showing = False

    def set_colour(self, scheme: str, name: str, colour: str) -> None:
        """Take a colour."""
        self.changed.emit(with_colour(self._design, scheme, name, colour))

    def _form_page(self) -> QWidget:
        page = QWidget()
        page.setObjectName("plain")
        form = QFormLayout(page)
        form.setSpacing(8)
        for name, title, choices, words in _FIELDS:
            picker = Picker(title)
            for choice in choices:
                picker.addItem(words.get(choice, choice), choice)
            self._add_picker(form, name, title, picker)
        scale = Picker("Size")
        for value in _SCALES:
            scale.addItem(f"{value * 100:.0f} %", value)
        self._add_picker(form, "scale", "Size", scale)
        return page

    def _add_picker(self, form: QFormLayout, name: str, title: str, picker: Picker) -> None:
        picker.currentIndexChanged.connect(lambda _place, n=name: self._pick(n))
        self.pickers[name] = picker
        form.addRow(label(title), picker)

    def _colour_page(self) -> QWidget:
        page = QWidget()
        page.setObjectName("plain")
        grid = QGridLayout(page)
        grid.setHorizontalSpacing(4)
        grid.setVerticalSpacing(4)
        grid.addWidget(label("Light", "group"), 0, 2)
        grid.addWidget(label("Dark", "group"), 0, 4)
        for row, name in enumerate(colour_names(), 1):
            grid.addWidget(label(_plain(name)), row, 0)
            for column, scheme in ((1, "light"), (3, "dark")):
                swatch = QLabel()
                swatch.setFixedSize(18, 18)
                widget = button("#000000")
                widget.clicked.connect(lambda _on=False, s=scheme, n=name: self._ask_colour(s, n))
                self._swatches[scheme, name] = swatch
                self.colour_buttons[scheme, name] = widget
                grid.addWidget(swatch, row, column)
                grid.addWidget(widget, row, column + 1)
        grid.setRowStretch(len(colour_names()) + 1, 1)
        return page

    def _words_page(self) -> QWidget:
        page = QWidget()
        page.setObjectName("plain")
        column = QVBoxLayout(page)
        column.addWidget(label("Your own word for a mode; an empty one is the chart's.", "quiet"))
        self.words.setHorizontalHeaderLabels(["Mode", "Your word"])
        self.words.setAccessibleName("Words")
        self.words.verticalHeader().hide()
        self.words.setTabKeyNavigation(False)
        self.words.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.words.itemChanged.connect(self._word_changed)
        column.addWidget(self.words)
        return page

    def _show_words(self, words: StripWords) -> None:
        states = {c.id: c.label for choices in words.cells.values() for c in choices}
        self.words.setRowCount(len(states))
        for row, (state, word) in enumerate(states.items()):
            fixed = QTableWidgetItem(word)
            fixed.setFlags(Qt.ItemFlag.ItemIsEnabled)
            fixed.setToolTip(word)
            self.words.setItem(row, 0, fixed)
            own = QTableWidgetItem(self._design.words.get(state, ""))
            own.setData(Qt.ItemDataRole.UserRole, state)
            self.words.setItem(row, 1, own)

    def _pick(self, name: str) -> None:
        if not self._is_showing:
            value = self.pickers[name].currentData()
            self.changed.emit(replace(self._design, **{name: value}))

    def _word_changed(self, item: QTableWidgetItem) -> None:
        if not self._is_showing and item.column() == 1:
            state = item.data(Qt.ItemDataRole.UserRole)
            self.changed.emit(with_word(self._design, state, item.text()[:40]))

    def _ask_colour(self, scheme: str, name: str) -> None:
        now = QColor(getattr(getattr(self._design, scheme), name))
        colour = QColorDialog.getColor(now, self, f"{_plain(name)}, {scheme}")
        if colour.isValid():
            self.set_colour(scheme, name, colour.name().upper())


def _plain(name: str) -> str:
    return capitalised(name.replace("_", " "))
