"""The readiness board: who stands where, why, what changed, and whom to call."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QListWidget,
    QSplitter,
    QTableView,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.records.board import STATUSES, Board, Cell, CellKey
from trainer.records.roster import Instructor, Member, Requirement
from trainer.ui.club.board_columns import WrappedHead, fit_columns
from trainer.ui.club.board_model import BoardModel
from trainer.ui.club.board_words import (
    ANY,
    call_lines,
    cell_lines,
    change_lines,
    counts_text,
    shortened,
    status_text,
)
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_kit import fill_picker, lines, named, row, tried
from trainer.ui.club.club_work import BoardPicture
from trainer.ui.look.kit import button, label, show_whole_rows
from trainer.ui.look.picker import Picker
from trainer.ui.look.theme import Theme

EMPTY_WORDS = (
    "Nothing to show yet. Enter an aircraft with what it requires, and the members who are to be"
    " ready for it, on the page 'Roster'."
)
ASK_WORDS = "Choose a cell: here stand its reason, the check and every answer behind it."


class ClubBoardView(QWidget):
    """Filters above, the board on the left, what is behind it on the right."""

    aircraft_asked = Signal(str)
    """Show the board of this aircraft."""
    failed = Signal(str)
    told = Signal(str)
    """What was done."""

    def __init__(self, desk: ClubDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._picture: BoardPicture | None = None
        self._in_hand: CellKey | None = None
        self._is_filling = False
        self._instructors: list[Instructor] = []
        self.aircraft = Picker("Aircraft")
        self.name = QLineEdit()
        self.status = Picker("Status")
        self.competency = Picker("Competency")
        self.counts = label("", "quiet", wraps=True)
        self.model = BoardModel(self)
        self.table = QTableView()
        self.head = WrappedHead()
        self.reason = label(ASK_WORDS, wraps=True)
        self.evidence = QListWidget()
        self.calls = QListWidget()
        self.changes = QListWidget()
        for rows in (self.evidence, self.calls, self.changes):
            show_whole_rows(rows)
        self.seen = button("Mark as seen", hint="What changed is counted from now on")
        self.instructor = Picker("Instructor who briefed")
        self.note = QLineEdit()
        self.brief = button("Record briefing")
        self.side = QTabWidget()
        self._set_up_table()
        self._lay_out()
        self._connect()

    def show_book(self) -> None:
        """Show the filters of the book that is open, and ask for its board."""
        book = self._desk.opened
        fill_picker(self.aircraft, [(one.id, one.title) for one in book.aircraft()])
        self._instructors = book.instructors()
        fill_picker(self.instructor, [(one.id, one.name) for one in self._instructors])
        if self.aircraft.count():
            self.aircraft_asked.emit(self.aircraft.currentData())
        else:
            self.model.show_board(None)
            self.counts.setText(EMPTY_WORDS)

    def show_picture(self, picture: BoardPicture) -> None:
        """Show a board that was read."""
        self._picture = picture
        required = picture.board.requirements
        choices = [("", "Any competency"), *((one.competency_id, one.title) for one in required)]
        fill_picker(self.competency, choices)
        for widget, shown, nothing in (
            (self.calls, call_lines(picture.calls), "Nobody needs a call."),
            (self.changes, change_lines(picture.changes), "Nothing since you last marked it."),
        ):
            widget.clear()
            widget.addItems(shortened(shown) or [nothing])
        self.side.setTabText(1, f"Call next ({len(picture.calls)})")
        self.side.setTabText(2, f"Changed ({len(picture.changes)})")
        if self.seen.hasFocus() and not picture.changes:
            self.changes.setFocus()  # a button that is switched off would pass it on to the top
        self.seen.setEnabled(bool(picture.changes))
        self._filter()

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.model.set_theme(theme)

    def _filter(self) -> None:
        if self._picture is None:
            return
        status = self.status.currentData()
        board = self._picture.board.filtered(
            text=self.name.text().strip(),
            statuses=frozenset({status}) if status else frozenset(),
            competency_id=self.competency.currentData() or "",
        )
        self._is_filling = True
        in_hand = self._in_hand
        self.model.show_board(board)
        fit_columns(self.table, self.head, self.model)
        self.counts.setText(counts_text(board) if self._picture.board.members else EMPTY_WORDS)
        place = self.model.place_of(in_hand)
        self.table.setCurrentIndex(place)
        self._show_cell(place)
        self._is_filling = False

    def _chosen(self) -> tuple[Board, Member, Requirement, Cell] | None:
        index, board = self.table.currentIndex(), self.model.board
        if board is None or not index.isValid() or index.column() == 0:
            return None
        member = board.members[index.row()]
        requirement = board.requirements[index.column() - 1]
        return board, member, requirement, board.cell(member.id, requirement.competency_id)

    def _show_cell(self, _index: QModelIndex) -> None:
        chosen = self._chosen()
        self.evidence.clear()
        self._in_hand = None
        self._let_brief(chosen is not None and bool(self._instructors))
        if chosen is None:
            self.reason.setText(ASK_WORDS)
            return
        board, member, requirement, cell = chosen
        self._in_hand = (member.id, requirement.competency_id)
        self.reason.setText(f"{member.name}, {requirement.title}")
        rules = self._desk.rule_words(board.aircraft.installation_id, cell.changed_rules)
        self.evidence.addItems(cell_lines(requirement, cell, rules))
        tried(
            lambda: self.evidence.addItems(self._desk.evidence(cell.outcome_id)), self.failed.emit
        )
        if not self._is_filling:
            self.side.setCurrentIndex(0)

    def _let_brief(self, can_brief: bool) -> None:
        if self.brief.hasFocus() and not can_brief:
            self.table.setFocus()  # a button that is switched off would pass it on to the top
        self.brief.setEnabled(can_brief)

    def _brief(self) -> None:
        chosen = self._chosen()
        if chosen is None:
            return
        board, member, requirement, _ = chosen
        done = tried(
            lambda: self._desk.brief(
                member.id,
                board.aircraft.id,
                requirement.competency_id,
                self.instructor.currentData(),
                self.note.text(),
            ),
            self.failed.emit,
        )
        if done:
            self.note.clear()
            self.told.emit(f"The briefing of {member.name} on '{requirement.title}' is recorded.")
            self.aircraft_asked.emit(board.aircraft.id)
        else:
            self.note.setFocus()

    def _mark_seen(self) -> None:
        if self._picture is None:
            return
        board = self._picture.board
        if tried(lambda: self._desk.mark_seen(board), self.failed.emit):
            self.told.emit("What changed is counted from now on.")
            self.aircraft_asked.emit(board.aircraft.id)

    def _set_up_table(self) -> None:
        table = self.table
        table.setModel(self.model)
        table.setAccessibleName("Readiness board")
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        table.setWordWrap(False)
        table.setCornerButtonEnabled(False)
        table.setHorizontalHeader(self.head)
        self.head.show()
        table.verticalHeader().setDefaultSectionSize(28)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 8, 8, 8)
        layout.setSpacing(8)
        self.status.addItem(ANY, "")
        for one in STATUSES:
            self.status.addItem(status_text(one), one)
        self.name.setPlaceholderText("part of a name")
        layout.addLayout(
            row(
                named("Aircraft", self.aircraft),
                named("Name", self.name),
                named("Status", self.status),
                named("Competency", self.competency),
            )
        )
        layout.addWidget(self.counts)
        split = QSplitter()
        split.addWidget(self.table)
        split.addWidget(self.side)
        split.setStretchFactor(0, 1)
        split.setStretchFactor(1, 0)
        split.setChildrenCollapsible(False)
        split.setSizes([860, 360])
        self._lay_out_side()
        layout.addWidget(split, 1)

    def _lay_out_side(self) -> None:
        for one, name in (
            (self.evidence, "Evidence of the cell"),
            (self.calls, "Whom to call next"),
            (self.changes, "What changed"),
        ):
            lines(one, name)
        self.note.setPlaceholderText("what was spoken of")
        briefed = named("Briefed by", self.instructor)
        noted = named("Note of the briefing", self.note)
        foot = row(briefed, self.brief)
        for title, parts in (
            ("Evidence", (self.reason, self.evidence, noted, foot)),
            ("Call next", (self.calls,)),
            ("Changed", (self.changes, row(self.seen))),
        ):
            page = QWidget()
            page.setObjectName("plain")
            column = QVBoxLayout(page)
            for part in parts:
                if isinstance(part, QWidget):
                    column.addWidget(part, 1 if isinstance(part, QListWidget) else 0)
                else:
                    column.addLayout(part)
            self.side.addTab(page, title)
        self.reason.setProperty("role", "heading")
        self.brief.setEnabled(False)
        self.side.setMinimumWidth(320)

    def _connect(self) -> None:
        self.aircraft.activated.connect(
            lambda _place: self.aircraft_asked.emit(self.aircraft.currentData())
        )
        self.name.textChanged.connect(lambda _text: self._filter())
        self.status.activated.connect(lambda _place: self._filter())
        self.competency.activated.connect(lambda _place: self._filter())
        self.table.selectionModel().currentChanged.connect(lambda new, _old: self._show_cell(new))
        self.brief.clicked.connect(self._brief)
        self.seen.clicked.connect(self._mark_seen)
