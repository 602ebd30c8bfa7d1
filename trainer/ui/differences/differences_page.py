"""Differences between ships: a list by cause, and for each the strips of a flight side by side."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QListWidget,
    QListWidgetItem,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.session.strip_design import StripColours, StripDesign
from trainer.ui.differences.differences_study import Studied, parting_words
from trainer.ui.look.kit import button, label, panel, scroll_area, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

NOT_YET = (
    "Choose the ship that is known and the one to fly, and compare them. Every state that both can "
    "show is looked at, so this takes up to a minute."
)
WHAT_COMES = (
    "Then the causes stand on the left, the gravest first. Here stands a flight that shows each of"
    " them, with the strips of both ships, and what was found to be the same."
)
NO_THIRD = "No third ship"
_LIST_PX = 330
_PADDING_PX = 54
_CELL_PADDING_PX = 28
_TABLE_ROWS = 4
_LONGEST_NAME = 14
"""Of a ship's name on a button; all of it is in the accessible name."""
_PLACES = ((0, 0), (2, 0), (2, 1))
"""Row and column of each strip's title: before on top, the two ships beside each other."""


class DifferencesPage(QWidget):
    """Says what is wanted; the owner compares and writes."""

    closed = Signal()
    compare_asked = Signal(str, str, str)
    """Known ship, ship to fly, third ship or an empty text."""
    stop_asked = Signal()
    briefing_asked = Signal()
    lessons_asked = Signal()
    check_asked = Signal()
    fly_asked = Signal(int, int)
    """Row of the list, and the ship in which its flight is to be flown: 0 or 1."""

    def __init__(self, words: StripWords) -> None:
        super().__init__()
        self.setObjectName("page")
        self.studied: Studied | None = None
        self.known = Picker("Ship that is known")
        self.other = Picker("Ship to fly")
        self.third = Picker("Third ship, side by side")
        self.compare = button("Compare", "main")
        self.stop = button("Stop")
        self.briefing = button("Save briefing…")
        self.lessons = button("Save lessons…")
        self.check = button(
            "Take the check", hint="A few questions that find habits of the known ship"
        )
        self.state = label(NOT_YET, "quiet", wraps=True)
        self.unsigned = label("", "caution", wraps=True)
        self.list = QListWidget()
        self.list.setAccessibleName("Differences by cause")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.heading = label("", "title", wraps=True)
        self.choices = label("", wraps=True)
        self.sentence = label("", wraps=True)
        self.parting = label("", "quiet", wraps=True)
        self.fly = [button("", hint="Free practice from this very moment") for _ in range(2)]
        self.seamless = label("", wraps=True)
        self.values = label("", wraps=True)
        self.titles = [label("", "group", wraps=True) for _ in range(3)]
        self.strips = [StripWidget(words) for _ in range(3)]
        self.table = QTableWidget(0, 4)
        self._lay_out()
        self._connect()
        self.show_busy("")
        self.unsigned.hide()
        self._show(-1)

    def show_ships(self, titles: dict[str, str], wanted: str = "") -> None:
        """Offer the ships: id -> title; `wanted` is taken as the known one if it is there."""
        kept = self.chosen
        for picker in (self.known, self.other, self.third):
            picker.clear()
        self.third.addItem(NO_THIRD, "")
        for name, title in titles.items():
            for picker in (self.known, self.other, self.third):
                picker.addItem(title, name)
        names = list(titles)
        first = wanted or kept[0] or (names[0] if names else "")
        second = kept[1] or next((name for name in names if name != first), first)
        if second == first:
            second = next((name for name in names if name != first), first)
        for picker, name in ((self.known, first), (self.other, second), (self.third, kept[2])):
            picker.setCurrentIndex(max(picker.findData(name), 0))

    @property
    def chosen(self) -> tuple[str, str, str]:
        """Ids of the ships chosen; the third may be an empty text."""
        names = [picker.currentData() or "" for picker in (self.known, self.other, self.third)]
        return names[0], names[1], names[2]

    def show_busy(self, news: str) -> None:
        """Show how far a comparison is; an empty text: none runs."""
        is_busy = bool(news)
        self.stop.setVisible(is_busy)
        self.compare.setEnabled(not is_busy)
        for widget in (self.briefing, self.lessons, self.check):
            widget.setEnabled(not is_busy and self.studied is not None)
        if is_busy:
            self.say(news)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """Say something below the choice."""
        self.state.setText(words)
        set_role(self.state, "caution" if is_problem else "quiet")

    def show_studied(self, studied: Studied) -> None:
        """Show what was found."""
        self.studied = studied
        page = studied.briefing
        self.list.clear()
        # Numbered, since what only comes at once with others names these by their number.
        numbered = (f"{n}  {row.heading}\n{row.often}" for n, row in enumerate(page.rows, 1))
        for text in (*numbered, *page.further):
            self.list.addItem(self._item(text))
        self.unsigned.setText(page.unsigned)
        self.unsigned.setVisible(bool(page.unsigned))
        self.seamless.setText(page.seamless)
        self.values.setText("\n".join(page.values))
        self._show_table()
        self.show_busy("")
        self.say(page.proof)
        self.lessons.setEnabled(bool(studied.lessons))
        self.check.setEnabled(studied.check is not None)
        self.list.setCurrentRow(0 if self.list.count() else -1)
        self._show(self.list.currentRow())

    def _item(self, text: str) -> QListWidgetItem:
        """Return a line of the list, high enough for its words: padding isn't reckoned by Qt."""
        item = QListWidgetItem(text)
        room = QRect(0, 0, _LIST_PX - _PADDING_PX, 1000)
        flags = int(Qt.TextFlag.TextWordWrap)
        height = self.list.fontMetrics().boundingRect(room, flags, text).height()
        item.setSizeHint(QSize(room.width(), height + _PADDING_PX // 3))
        return item

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use a strip design."""
        for strip in self.strips:
            strip.set_design(design, colours)

    def _show(self, place: int) -> None:
        rows = self.studied.briefing.rows if self.studied is not None else ()
        has_flight = 0 <= place < len(rows)
        told = (self.choices, self.sentence, self.parting, *self.fly)
        for widget in (*self.titles, *self.strips, *told):
            widget.setVisible(has_flight)
        if not has_flight:
            found = self.studied is not None
            item = self.list.item(place) if place >= 0 else None
            nothing = "No difference" if found else "Nothing compared yet"
            self.heading.setText(item.text() if item else nothing)
            if not found:
                self.values.setText(WHAT_COMES)
            return
        row, names = rows[place], self.studied.briefing.names
        self.heading.setText(row.heading)
        pairs = zip(names, row.choices, strict=True)
        self.choices.setText("\n".join(f"{name}: {choice}" for name, choice in pairs))
        self.sentence.setText(row.sentence)
        self.parting.setText(parting_words(self.studied, place))
        for widget, name in zip(self.fly, names, strict=True):
            short = name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"
            widget.setText(f"Fly this in {short}".replace("&", "&&"))
            widget.setAccessibleName(f"Fly this in {name}")
        shown = (row.flown.before, row.flown.first.after, row.flown.second.after)
        titles = ("Before, in both", f"{names[0]}, after", f"{names[1]}, after")
        for title, strip, text, annunciation in zip(
            self.titles, self.strips, titles, shown, strict=True
        ):
            title.setText(text)
            strip.setAccessibleName(text)
            strip.show_annunciation(annunciation)

    def _show_table(self) -> None:
        rows = self.studied.rows if self.studied is not None else ()
        self.table.setVisible(bool(rows))
        self.table.setRowCount(len(rows))
        if not rows:
            return
        self.table.setHorizontalHeaderLabels(["Setting", *self.studied.titles])
        for line, row in enumerate(rows):
            for column, text in enumerate((row.heading, *row.values)):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(line, column, item)
        for column, title in enumerate(self.studied.titles, 1):
            self.table.horizontalHeaderItem(column).setToolTip(title)
        self._fit_rows()

    def _fit_rows(self) -> None:
        """Make each row as high as its words: Qt's own measure forgets the padding."""
        table, metrics = self.table, self.table.fontMetrics()
        flags = int(Qt.TextFlag.TextWordWrap)
        for line in range(table.rowCount()):
            heights = [table.verticalHeader().defaultSectionSize()]
            for column in range(table.columnCount()):
                item = table.item(line, column)
                room = QRect(0, 0, table.columnWidth(column) - _CELL_PADDING_PX, 1000)
                if item is not None:
                    box = metrics.boundingRect(room, flags, item.text())
                    heights.append(box.height() + _CELL_PADDING_PX // 2)
            table.setRowHeight(line, max(heights))

    def _connect(self) -> None:
        self.compare.clicked.connect(lambda: self.compare_asked.emit(*self.chosen))
        self.stop.clicked.connect(self.stop_asked)
        self.briefing.clicked.connect(self.briefing_asked)
        self.lessons.clicked.connect(self.lessons_asked)
        self.check.clicked.connect(self.check_asked)
        self.list.currentRowChanged.connect(self._show)
        for number, widget in enumerate(self.fly):
            widget.clicked.connect(
                lambda _on=False, n=number: self.fly_asked.emit(self.list.currentRow(), n)
            )

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Differences", "title"))
        head.addStretch(1)
        for widget in (self.briefing, self.lessons, self.check):
            head.addWidget(widget)
        back = button("Back  Esc", name="Back")
        back.clicked.connect(self.closed)
        head.addWidget(back)
        column.addLayout(head)
        choice = QHBoxLayout()
        for words, picker in (("Known", self.known), ("To fly", self.other), ("", self.third)):
            if words:
                choice.addWidget(label(words, "group"))
            choice.addWidget(picker, 1)
        choice.addWidget(self.compare)
        choice.addWidget(self.stop)
        column.addLayout(choice)
        column.addWidget(self.state)
        column.addWidget(self.unsigned)
        body = QHBoxLayout()
        body.setSpacing(12)
        self.list.setFixedWidth(_LIST_PX)
        body.addWidget(self.list)
        body.addWidget(self._detail(), 1)
        column.addLayout(body, 1)
        self._lay_out_table()
        column.addWidget(self.table)

    def _detail(self) -> QWidget:
        frame, inside = panel("The difference flown")
        inside.addWidget(self.heading)
        words = QVBoxLayout()
        words.setSpacing(8)
        for widget in (self.choices, self.sentence, self.parting):
            words.addWidget(widget)
        flights = QHBoxLayout()
        flights.setSpacing(8)
        for widget in self.fly:
            flights.addWidget(widget)
        flights.addStretch(1)
        words.addLayout(flights)
        words.addStretch(1)
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(2)
        for title, strip, (row, column) in zip(self.titles, self.strips, _PLACES, strict=True):
            grid.addWidget(title, row, column)
            grid.addWidget(strip, row + 1, column)
        grid.addLayout(words, 0, 1, 2, 1)
        for column in (0, 1):
            grid.setColumnStretch(column, 1)
        inside.addLayout(grid)
        inside.addStretch(1)
        inside.addWidget(self.values)
        inside.addWidget(self.seamless)
        return scroll_area(frame, sideways=True)

    def _lay_out_table(self) -> None:
        table = self.table
        table.setAccessibleName("Three ships side by side")
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setTabKeyNavigation(False)
        table.verticalHeader().hide()
        table.setShowGrid(False)
        table.setWordWrap(True)
        table.setTextElideMode(Qt.TextElideMode.ElideNone)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.sectionResized.connect(lambda *_sizes: self._fit_rows())
        table.setMaximumHeight(table.verticalHeader().defaultSectionSize() * (_TABLE_ROWS + 1))
        table.hide()
