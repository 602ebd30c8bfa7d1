"""The roster: members and their keys, instructors, aircraft with what each requires."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QListWidget, QTabWidget, QVBoxLayout, QWidget

from trainer.errors import TrainerError
from trainer.records.card import Card
from trainer.records.club_book import ClubBook
from trainer.records.roster import Member
from trainer.ui.club.club_desk import AIRCRAFT_HEADS, MEMBER_HEADS, AircraftEntry, ClubDesk
from trainer.ui.club.club_kit import (
    EdgedSpin,
    fill,
    fill_picker,
    fill_ticks,
    named,
    row,
    table,
    tick_list,
    ticked,
    tried,
)
from trainer.ui.look.kit import button, label
from trainer.ui.look.picker import Picker
from trainer.ui.window.asker import Asker

CARD_KINDS = "Cards (*.card.json *.json)"
VALID_DAYS = 365
NAME_WIDTH = 260
"""Room for an aircraft's name of thirty letters [px]."""


class ClubRosterView(QWidget):
    """Three lists with the entries that belong to each."""

    changed = Signal(str)
    """The book is not what it was; the words say how."""
    failed = Signal(str)

    def __init__(self, desk: ClubDesk, asker: Asker, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self.asker = desk, asker
        self._members: list[Member] = []
        self._book: ClubBook | None = None
        self._card: Card | None = None
        self.members = table("Members", MEMBER_HEADS, 3)
        self.member_name = QLineEdit()
        self.member_aircraft = Picker("Aircraft of the member")
        self.add_member = button("Add member", "main")
        self.put_on = button("Put on this aircraft")
        self.on_board = button("Take off the board, or put back")
        self.card = button("Take member card…")
        self.card_words = label("", "quiet", wraps=True)
        self.code = QLineEdit()
        self.enrol = button("Enrol key")
        self.instructors = QListWidget()
        self.instructor_name = QLineEdit()
        self.add_instructor = button("Add instructor", "main")
        self.aircraft = table("Aircraft", AIRCRAFT_HEADS, 3)
        self.next_stage = button("Give it its next stage")
        self.installation = Picker("Installation")
        self.title = QLineEdit()
        self.stage = EdgedSpin()
        self.valid_days = EdgedSpin()
        self.required = tick_list("Required competencies")
        self.save_aircraft = button("Save aircraft", "main")
        self._lay_out()
        self._connect()

    def show_book(self) -> None:
        """Show the roster of the book that is open."""
        book, in_hand = self._desk.opened, self.member
        self._members = book.members()
        aircraft = [(one.id, one.title) for one in book.aircraft()]
        fill(self.members, self._desk.member_rows())
        if in_hand is not None and book is self._book:
            self._take_in_hand(in_hand.id)
        fill_picker(self.member_aircraft, [("", "no aircraft yet"), *aircraft])
        self.instructors.clear()
        self.instructors.addItems([one.name for one in book.instructors()])
        fill(self.aircraft, self._desk.aircraft_rows())
        self.show_installations()
        self.next_stage.setEnabled(bool(aircraft))
        if book is not self._book:
            self._book = book
            self._drop_card()
            self._clear_aircraft()
        self._show_member()

    def show_installations(self) -> None:
        """Offer the installations that there are; the lead may have made one meanwhile."""
        fits = self._desk.workspace.installations.items()
        present = self.installation.currentData()
        fill_picker(self.installation, [(name, fit.title) for name, fit in fits])
        if self.installation.currentData() != present:
            self._show_required()

    def _take_in_hand(self, member_id: int) -> None:
        """Choose a member again: others may have come before them in the list meanwhile."""
        places = [place for place, one in enumerate(self._members) if one.id == member_id]
        for place in places:
            self.members.selectRow(place)

    def _show_member(self) -> None:
        """What is done to a member needs one in hand."""
        for one in (self.put_on, self.on_board, self.card):
            one.setEnabled(self.member is not None)

    @property
    def member(self) -> Member | None:
        """The member in hand."""
        place = self.members.currentRow()
        return self._members[place] if 0 <= place < len(self._members) else None

    def _add_member(self) -> None:
        name, on = self.member_name.text(), self.member_aircraft.currentData()
        if tried(lambda: self._desk.add_member(name, [on] if on else []), self.failed.emit):
            self.member_name.clear()
            self._tell(f"{name.strip()} is in the book.")

    def _put_on(self) -> None:
        member, on = self.member, self.member_aircraft.currentData()
        if member is None or not on:
            self.failed.emit("Choose a member in the list and an aircraft.")
        elif tried(lambda: self._desk.opened.put_on_aircraft(member.id, on), self.failed.emit):
            self._tell(f"{member.name} is to be ready for {self.member_aircraft.currentText()}.")

    def _switch_board(self) -> None:
        member = self.member
        if member is None:
            return
        is_active = not member.is_active
        change = self._desk.opened.set_active
        if tried(lambda: change(member.id, is_active=is_active), self.failed.emit):
            where = "on" if is_active else "off"
            self._tell(f"{member.name} is {where} the board; nothing of the records is lost.")

    def _take_card(self) -> None:
        path = self.asker.open_file("Member card", CARD_KINDS)
        if path is None:
            return
        self._drop_card()

        def read() -> None:
            self._card = self._desk.member_card(path)

        if tried(read, self.failed.emit):
            self.card_words.setText(
                f"Card of {self._card.name}. Have the member read the code aloud, and type it here."
            )
            self.code.setEnabled(True)
            self.enrol.setEnabled(True)
            self.code.setFocus()

    def _enrol(self) -> None:
        member, card = self.member, self._card
        if member is None or card is None:
            self.failed.emit("Choose the member in the list and take their card first.")
        elif tried(lambda: self._desk.enrol(member.id, card, self.code.text()), self.failed.emit):
            self._drop_card()
            self._tell(f"The key of {member.name} is enrolled: {card.short_code}")

    def _drop_card(self) -> None:
        self._card = None
        self.code.clear()
        self.code.setEnabled(False)
        self.enrol.setEnabled(False)
        self.card_words.setText("A key is believed once its code was heard.")

    def _add_instructor(self) -> None:
        name = self.instructor_name.text().strip()
        if tried(lambda: self._desk.add_instructor(name), self.failed.emit):
            self.instructor_name.clear()
            self._tell(f"{name} is in the book.")

    def _show_required(self) -> None:
        def show() -> None:
            required = self._desk.required(self.installation.currentData())
            choices = [(one.competency_id, one.title) for one in required]
            fill_ticks(self.required, choices, ticked=True)

        tried(show, self.failed.emit)

    def _take_next_stage(self) -> None:
        """Take the name of the aircraft in hand over, so that no second one comes of it."""
        book, place = self._desk.opened, self.aircraft.currentRow()
        one = book.aircraft()[place]
        self.title.setText(one.title)
        self.installation.setCurrentIndex(self.installation.findData(one.installation_id))
        self.stage.setValue(one.stage + 1)
        required = book.requirements(one.id)
        self.valid_days.setValue(max((each.valid_days for each in required), default=VALID_DAYS))
        self._show_required()
        self.installation.setFocus()

    def _clear_aircraft(self) -> None:
        """Leave nothing of one aircraft that the next would be taken for."""
        self.title.clear()
        self.stage.setValue(1)
        self.valid_days.setValue(VALID_DAYS)
        self.installation.setCurrentIndex(0 if self.installation.count() else -1)
        self._show_required()

    def _save_aircraft(self) -> None:
        def save() -> None:
            entry = self._desk.aircraft_entry(
                self.title.text(),
                self.installation.currentData(),
                self.stage.value(),
                self.valid_days.value(),
                ticked(self.required),
            )
            if not self._is_meant(entry):
                raise TrainerError(
                    "nothing was saved: a new aircraft needs a name of its own that no other has"
                )
            self._desk.save_aircraft(entry)
            words = _saved_words(entry) + self._left_out_words()
            self._clear_aircraft()
            self._tell(words)

        tried(save, self.failed.emit)

    def _is_meant(self, entry: AircraftEntry) -> bool:
        """Ask before an aircraft takes the place of another."""
        words = self._desk.replacing_words(entry)
        return not words or self.asker.confirm(
            "An aircraft's place", f"{words} A new aircraft needs a name of its own.", "Replace it"
        )

    def _left_out_words(self) -> str:
        """Say which competencies can't be required, so that nobody looks for them in vain."""
        rest = self._desk.workspace.never_checked(self.installation.currentData())
        return f" Not required, since no check asks about it: {', '.join(rest)}." if rest else ""

    def _tell(self, words: str) -> None:
        self.show_book()
        self.changed.emit(words)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 8, 8, 8)
        self.tabs = QTabWidget()
        self.tabs.addTab(self._member_page(), "Members")
        self.tabs.addTab(self._instructor_page(), "Instructors")
        self.tabs.addTab(self._aircraft_page(), "Aircraft")
        layout.addWidget(self.tabs)

    def _member_page(self) -> QWidget:
        page, column = _page()
        self.code.setPlaceholderText("four groups of four")
        column.addWidget(self.members, 1)
        column.addWidget(label("Member in hand", "group"))
        column.addLayout(row(self.put_on, self.on_board, self.card))
        column.addWidget(self.card_words)
        column.addLayout(row(named("Code heard", self.code), self.enrol))
        column.addWidget(label("New member", "group"))
        column.addLayout(
            row(
                named("Name of the member", self.member_name),
                named("To be ready for", self.member_aircraft),
                self.add_member,
            )
        )
        return page

    def _instructor_page(self) -> QWidget:
        page, column = _page()
        self.instructors.setAccessibleName("Instructors")
        column.addWidget(self.instructors, 1)
        column.addLayout(
            row(named("Name of the instructor", self.instructor_name), self.add_instructor)
        )
        return page

    def _aircraft_page(self) -> QWidget:
        page, column = _page()
        self.stage.setRange(1, 1000)
        self.valid_days.setRange(1, 3650)
        self.valid_days.setValue(VALID_DAYS)
        self.valid_days.setSuffix(" days")
        self.title.setPlaceholderText("as the installation")
        self.title.setMinimumWidth(NAME_WIDTH)
        column.addWidget(self.aircraft, 1)
        column.addLayout(row(self.next_stage))
        column.addWidget(label("New aircraft, or the next stage of one of that name", "group"))
        column.addLayout(
            row(
                named("Installation", self.installation),
                named("Name of the aircraft", self.title),
                named("Stage", self.stage),
                named("Readiness is valid", self.valid_days),
            )
        )
        column.addWidget(label("Required competencies", "group"))
        column.addWidget(self.required, 1)
        column.addLayout(row(self.save_aircraft))
        return page

    def _connect(self) -> None:
        self.add_member.clicked.connect(self._add_member)
        self.member_name.returnPressed.connect(self._add_member)
        self.members.currentCellChanged.connect(lambda *_places: self._show_member())
        self.next_stage.clicked.connect(self._take_next_stage)
        self.put_on.clicked.connect(self._put_on)
        self.on_board.clicked.connect(self._switch_board)
        self.card.clicked.connect(self._take_card)
        self.enrol.clicked.connect(self._enrol)
        self.code.returnPressed.connect(self._enrol)
        self.add_instructor.clicked.connect(self._add_instructor)
        self.instructor_name.returnPressed.connect(self._add_instructor)
        self.installation.activated.connect(lambda _place: self._show_required())
        self.save_aircraft.clicked.connect(self._save_aircraft)


def _saved_words(entry: AircraftEntry) -> str:
    """Say what was saved, and what a new stage does to readiness."""
    saved = f"{entry.aircraft.title}, stage {entry.aircraft.stage}, is in the book."
    if entry.is_new:
        return saved
    return f"{saved} Readiness expires only where a rule has changed; the board says which."


def _page() -> tuple[QWidget, QVBoxLayout]:
    page = QWidget()
    page.setObjectName("plain")
    column = QVBoxLayout(page)
    column.setSpacing(4)
    return page, column
