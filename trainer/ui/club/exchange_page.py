"""The member's page: key and card, assignments in, results out, and one's own records."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QListWidget, QVBoxLayout, QWidget

from trainer.errors import TrainerError
from trainer.records.assignment import Assignment, AssignmentPreview
from trainer.records.card import Card
from trainer.records.error import CorruptStoreError
from trainer.ui.club.club_kit import fill, fill_picker, lines, named, row, sentence, table, tried
from trainer.ui.club.member_exchange import (
    ASSIGNMENT_HEADS,
    MemberExchange,
    assignment_row,
    rename_words,
    replace_words,
    taken_words,
)
from trainer.ui.look.kit import button, label, panel, set_role, show_whole_rows
from trainer.ui.look.picker import Picker
from trainer.ui.window.asker import Asker
from trainer.ui.window.background import Background

HEARD = "Have the training lead read the code aloud, and type it here."


class ExchangePage(QWidget):
    """Three steps from left to right: become acquainted, take, hand in."""

    closed = Signal()
    records_moved = Signal()
    """The file of answers is about to be replaced or changed: nobody may keep it open."""
    aircraft_brought = Signal()
    """An assignment has brought an aircraft."""
    member_named = Signal(str)
    """Answers are kept under another name from now on."""

    def __init__(self, exchange: MemberExchange, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.exchange = exchange
        self.asker = Asker(self)
        self.background = Background(self)
        self._card: Card | None = None
        self._preview: AssignmentPreview | None = None
        self._assignments: list[Assignment] = []
        self._backups: list[Path] = []
        self.back = button("Back  Esc", name="Back")
        self.message = label("", wraps=True)
        self.own_card = button("Write my card…", "main")
        self.own_code = label("", "number")
        self.book_card = button("Take club card…")
        self.card_words = label(HEARD, "quiet", wraps=True)
        self.code = QLineEdit()
        self.trust = button("Trust this club")
        self.clubs = QListWidget()
        self.look = button("Open assignment…", "main")
        self.asked = QListWidget()
        for rows in (self.clubs, self.asked):
            show_whole_rows(rows)
        self.take = button("Take it")
        self.assignments = table("Assignments taken", ASSIGNMENT_HEADS)
        self.answers = Picker("What the result answers")
        self.club = Picker("Club")
        self.result = button("Write result…", "main")
        self.export = button("Export all of mine…")
        self.delete = button("Delete all of mine…")
        self.back_up = button("Back up now")
        self.backups = Picker("Backup")
        self.restore = button("Restore…")
        self.recover = button("Recover my damaged file…", "main")
        self._lay_out()
        self._connect()

    def show_member(self, member: str) -> None:
        """Show what there is of a member."""
        self.exchange.member = member
        self.say("")
        self._drop_card()
        self._drop_preview()
        self._refresh()

    def say(self, words: str, role: str = "") -> None:
        """Show what came of something, or why it was refused."""
        self.message.setText(words)
        set_role(self.message, role)

    def close_records(self) -> None:
        """Wait for what is being done."""
        self.background.close()

    def _refresh(self) -> None:
        def show() -> None:
            clubs = self.exchange.clubs()
            self.clubs.clear()
            self.clubs.addItems([words for _, words in clubs] or ["No club is trusted yet."])
            fill_picker(self.club, [(key.hex(), words) for key, words in clubs])
            self._assignments = self.exchange.assignments()
            fill(self.assignments, [assignment_row(one) for one in self._assignments])
            answers = [(one.id, f"{one.club}, due {one.due_utc[:10]}") for one in self._assignments]
            fill_picker(self.answers, [*answers, ("", "no assignment, all my answers")])
            self._backups = self.exchange.backups()
            backups = [(path.name, path.name) for path in self._backups]
            fill_picker(self.backups, backups or [("", "no backup yet")])
            if self.exchange.has_key:
                self.own_code.setText(self.exchange.key.short_code)

        self.recover.hide()
        try:
            show()
        except CorruptStoreError as error:
            self.recover.show()
            self._fail(str(error))
        except TrainerError as error:
            self._fail(str(error))
        self.restore.setEnabled(bool(self._backups))
        self.result.setEnabled(bool(self.club.count()))
        self._show_club()

    def _show_club(self) -> None:
        self.club.setEnabled(not self.answers.currentData() and self.club.count() > 0)

    def _write_card(self) -> None:
        name = f"{self.exchange.member.replace(' ', '-').lower()}.card.json"
        path = self.asker.save_file("My card", name, "Cards (*.card.json)")
        if path is None:
            return

        def write() -> None:
            self.own_code.setText(self.exchange.write_member_card(path))

        if tried(write, self._fail):
            self._tell(f"{path.name} is written: give it to the lead, and read your code aloud.")

    def _take_card(self) -> None:
        path = self.asker.open_file("Card of the club", "Cards (*.card.json *.json)")
        if path is None:
            return
        self._drop_card()

        def read() -> None:
            self._card = self.exchange.book_card(path)

        if tried(read, self._fail):
            self.card_words.setText(f"Card of {self._card.name}. {HEARD}")
            self.code.setEnabled(True)
            self.trust.setEnabled(True)
            self.code.setFocus()

    def _trust(self) -> None:
        card = self._card
        if card is not None and tried(
            lambda: self.exchange.trust(card, self.code.text()), self._fail
        ):
            self._drop_card()
            self._refresh()
            self._tell(f"{card.name} is trusted.")

    def _drop_card(self) -> None:
        self._card = None
        self.code.clear()
        self.code.setEnabled(False)
        self.trust.setEnabled(False)
        self.card_words.setText("A card is believed once its code was heard.")

    def _look(self) -> None:
        path = self.asker.open_file("Assignment", "Assignments (*.assignment.json *.json)")
        if path is None:
            return
        self._drop_preview()

        def read() -> None:
            self._preview = self.exchange.look_at(path)

        if tried(read, self._fail):
            self.asked.clear()
            self.asked.addItems(self._preview.changes)
            self.take.setEnabled(True)
            self.take.setFocus()
            self.say("Nothing is taken yet.")

    def _take(self) -> None:
        preview = self._preview
        if preview is None:
            return
        words = replace_words(preview)
        if words and not self.asker.confirm("Replace an aircraft", words, "Take the club's"):
            self.say("Nothing is taken: your own aircraft is as it was.")
            return
        if tried(lambda: self.exchange.take(preview), self._fail):
            self._drop_preview()
            if preview.aircraft is not None:
                self.aircraft_brought.emit()
            name_words = self._take_name(preview.assignment.member)
            self._refresh()
            self.answers.setCurrentIndex(max(0, self.answers.findData(preview.assignment.id)))
            self._show_club()
            self._tell(f"{taken_words(preview)} {name_words}".strip())

    def _take_name(self, name: str) -> str:
        """Be the member that an assignment is for: a result holds the answers of one name."""
        old = self.exchange.member
        if name == old:
            return ""
        answers = self.exchange.count_answers()
        words = rename_words(old, name, answers)
        if answers and not self.asker.confirm("Your name", words, f"Be '{name}'"):
            return f"You are '{old}' still: what you answer so isn't in a result of '{name}'."
        self.exchange.member = name
        self.member_named.emit(name)
        return f"You are '{name}' in the whole program now, as the club's roster has you."

    def _drop_preview(self) -> None:
        self._preview = None
        self.asked.clear()
        self.asked.addItem("What an assignment asks for is shown here before you take it.")
        self.take.setEnabled(False)

    def _write_result(self) -> None:
        name = f"{self.exchange.member.replace(' ', '-').lower()}.result.json"
        path = self.asker.save_file("Result", name, "Results (*.result.json)")
        if path is None:
            return
        assignment, club = self.answers.currentData() or None, self.club.currentData()
        key = bytes.fromhex(club) if club else None
        self._run(
            lambda _: self.exchange.write_result(path, key, assignment),
            lambda size: (
                f"{path.name} is written ({size:,} bytes): send it to the lead."
                f" {self.exchange.kept_back_words()}"
            ),
        )

    def _export(self) -> None:
        path = self.asker.save_file("All my data", "my-data.json", "JSON (*.json)")
        if path is not None:
            self._run(
                lambda _: self.exchange.export(path),
                lambda _: f"All of yours is in {path.name}. {self.exchange.kept_back_words()}",
            )

    def _delete(self) -> None:
        words = (
            f"All answers, outcomes and assignments of {self.exchange.member} are deleted for "
            "good, in the backups too. Counts without a name stay. What others hold is not reached."
        )
        if self.asker.confirm("Delete all of mine", words, "Delete all of mine"):
            self.records_moved.emit()
            self._run(
                lambda _: self.exchange.delete(),
                lambda deleted: f"{deleted} answers deleted; counts without a name stay.",
            )

    def _restore(self) -> None:
        backup = self._backups[self.backups.currentIndex()]
        words = (
            f"Your answers become what they were in {backup.name}. The file as it is now is kept "
            "beside it under another name."
        )
        if self.asker.confirm("Restore", words, "Restore"):
            self.records_moved.emit()
            self._run(lambda _: self.exchange.restore(backup), str)

    def _recover(self) -> None:
        words = "The newest sound backup comes back, with all younger answers that can be read."
        if self.asker.confirm("Recover", words, "Recover"):
            self.records_moved.emit()
            self._run(lambda _: self.exchange.recover(), str)

    def _run(self, work: Callable[[object], object], words: Callable[[object], str]) -> None:
        def done(result: object) -> None:
            self._refresh()
            self._tell(words(result))

        if not self.background.run(work, done, self._fail):
            self._fail("Something else is being done: wait for its end.")

    def _tell(self, words: str) -> None:
        self.say(words, "right")

    def _fail(self, words: str) -> None:
        self.say(sentence(words), "wrong")

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Exchange with the club", "title"))
        head.addStretch(1)
        head.addWidget(self.back)
        layout.addLayout(head)
        layout.addWidget(self.message)
        sides = QHBoxLayout()
        sides.addWidget(self._acquainted_panel(), 2)
        sides.addWidget(self._work_panel(), 3)
        layout.addLayout(sides, 1)
        layout.addWidget(self._records_panel())

    def _acquainted_panel(self) -> QWidget:
        frame, column = panel("Becoming acquainted, once")
        self.own_code.setAccessibleName("My code")
        self.clubs.setAccessibleName("Trusted clubs")
        self.code.setPlaceholderText("four groups of four")
        column.addWidget(label("1  Becoming acquainted, once", "heading"))
        column.addWidget(
            label("Give the lead your card, and read this code aloud to them:", wraps=True)
        )
        column.addLayout(row(self.own_card, self.own_code))
        column.addSpacing(8)
        column.addWidget(label("The lead gives you the club's card:"))
        column.addLayout(row(self.book_card))
        column.addWidget(self.card_words)
        column.addLayout(row(named("Code heard", self.code)))
        column.addLayout(row(self.trust))
        column.addWidget(label("Trusted clubs", "group"))
        column.addWidget(self.clubs, 1)
        return frame

    def _work_panel(self) -> QWidget:
        frame, column = panel("Assignment and result")
        lines(self.asked, "What the assignment asks for")
        self.asked.setMaximumHeight(120)
        column.addWidget(label("2  Assignment", "heading"))
        column.addLayout(row(self.look, self.take))
        column.addWidget(self.asked)
        column.addWidget(self.assignments, 1)
        column.addSpacing(8)
        column.addWidget(label("3  Result", "heading"))
        column.addLayout(row(named("Answers to", self.answers), named("Made for", self.club)))
        column.addLayout(row(self.result))
        return frame

    def _records_panel(self) -> QWidget:
        frame, column = panel("My records")
        column.addWidget(label("My records", "heading"))
        column.addLayout(
            row(
                self.recover,
                self.back_up,
                self.backups,
                self.restore,
                self.export,
                self.delete,
            )
        )
        return frame

    def _connect(self) -> None:
        self.answers.activated.connect(lambda _place: self._show_club())
        self.code.returnPressed.connect(self._trust)
        for widget, act in (
            (self.own_card, self._write_card),
            (self.book_card, self._take_card),
            (self.trust, self._trust),
            (self.look, self._look),
            (self.take, self._take),
            (self.result, self._write_result),
            (self.export, self._export),
            (self.delete, self._delete),
            (self.restore, self._restore),
            (self.recover, self._recover),
        ):
            widget.clicked.connect(act)
        self.back.clicked.connect(self.closed)
        self.back_up.clicked.connect(lambda: self._run(lambda _: self.exchange.back_up(), str))
