"""The lead's side of the exchange: the book card, assignments out, results in."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QDate, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QListWidget,
    QProgressBar,
    QWidget,
)

from trainer.records.board import counted
from trainer.records.club_import import FileImport
from trainer.ui.check.check_bank_worker import BankNews, compute_bank
from trainer.ui.check.check_wait import NOT_KNOWN, WaitLine
from trainer.ui.check.check_words import bank_words
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_kit import (
    EdgedDate,
    EdgedSpin,
    fill,
    fill_picker,
    fill_ticks,
    lines,
    named,
    row,
    table,
    tick_list,
    ticked,
    tried,
)
from trainer.ui.club.club_work import FilePreview, apply_files, preview_files
from trainer.ui.look.kit import button, label, panel, show_whole_rows
from trainer.ui.look.picker import Picker
from trainer.ui.window.asker import Asker
from trainer.ui.window.background import Background

IMPORT_HEADS = ("File", "Member", "State", "What it changes, or why refused")
TAKE = "Take these files"
BUSY = "Something else is being done: wait for its end."
RESULT_KINDS = "Results (*.result.json *.json)"


FileLine = tuple[str, str, str, tuple[str, ...]]
"""File, member, state, and what it changes or why it is refused."""


def preview_line(one: FilePreview) -> FileLine:
    """Return a line about a file that was looked at."""
    if one.refusal:
        return one.path.name, "—", "✕ refused", (one.refusal,)
    cautions = tuple(f"Caution: {words}" for words in one.warnings)
    state = "▲ would be taken" if cautions else "✓ would be taken"
    return one.path.name, one.member, state, (*cautions, *one.changes)


def import_line(one: FileImport) -> FileLine:
    """Return a line about a file that was to be taken."""
    if one.refusal:
        return one.path.name, "—", "✕ refused", (one.refusal,)
    what = f"{counted(one.attempts, 'answer')}, {counted(one.outcomes, 'check outcome')}"
    return one.path.name, one.member, "● taken", (what,)


class ClubExchangeView(QWidget):
    """Files out on the left, files in on the right."""

    changed = Signal(str)
    failed = Signal(str)

    def __init__(
        self, desk: ClubDesk, asker: Asker, background: Background, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk, self.asker, self._background = desk, asker, background
        self.reader = Background(self)
        self._accepted: list[Path] = []
        self._refused: list[FileLine] = []
        self._details: list[tuple[str, ...]] = []
        self.card = button("Write book card…")
        self.code = label("", "number")
        self.member = Picker("Member")
        self.aircraft = Picker("Aircraft")
        self.lessons = tick_list("Lessons to fly")
        self.form = Picker("Check form")
        self.seed = EdgedSpin()
        self.due = EdgedDate()
        self.issue = button("Write assignment…", "main")
        self.wait = WaitLine()
        self.find = compute_bank
        self._is_stopped = False
        self.choose = button("Choose result files…", "main")
        self.files = table("Result files", IMPORT_HEADS)
        self.detail = QListWidget()
        show_whole_rows(self.detail)
        self.progress = QProgressBar()
        self.take = button(TAKE, "main")
        self._lay_out()
        self._connect()

    def show_book(self) -> None:
        """Show the choices of the book that is open."""
        book = self._desk.opened
        fill_picker(self.member, [(one.id, one.name) for one in book.members()])
        fill_picker(self.aircraft, [(one.id, one.title) for one in book.aircraft()])
        if not self.lessons.count() and not self.reader.is_busy:
            self.reader.run(
                lambda _: self._desk.lesson_choices(),
                lambda choices: fill_ticks(self.lessons, choices, ticked=False),
                self.failed.emit,
            )
        tried(lambda: fill_picker(self.form, self._desk.form_choices()), self.failed.emit)
        choices = (self.member, self.aircraft, self.form)
        self.issue.setEnabled(all(one.count() for one in choices))

    def close_work(self) -> None:
        """Stop what is being done, and wait for its end; nothing is written any more."""
        self._stop()
        self.reader.close()
        self._show_finding("")

    def _write_card(self) -> None:
        path = self.asker.save_file("Book card", "club.card.json", "Cards (*.card.json)")
        if path is None:
            return

        def write() -> None:
            self.code.setText(self._desk.write_book_card(path))

        if tried(write, self.failed.emit):
            self.changed.emit(f"{path.name} is written: give it to the members and read the code.")

    def _issue(self) -> None:
        name = f"{self.member.currentText().replace(' ', '-').lower()}.assignment.json"
        path = self.asker.save_file("Assignment", name, "Assignments (*.assignment.json)")
        if path is None:
            return
        write = partial(
            self._desk.issue,
            self.member.currentData(),
            self.aircraft.currentData(),
            path,
            lessons=ticked(self.lessons),
            form=self.form.currentData(),
            seed=self.seed.value(),
            due_day=self.due.date().toString("yyyy-MM-dd"),
        )
        done = f"{path.name} is written for {self.member.currentText()}."

        def write_and_tell() -> None:
            if tried(write, self.failed.emit):
                self.changed.emit(done)

        aircraft = self.aircraft.currentData()
        tried(lambda: self._with_items(aircraft, write_and_tell), self.failed.emit)

    def _with_items(self, aircraft: str, act: Callable[[], None]) -> None:
        """Do something once the items are found that go with a club's own aircraft."""
        name = self._desk.items_to_find(aircraft)
        if not name:
            act()
            return
        self._is_stopped = False

        def end(_known: object) -> None:
            self._show_finding("")
            act()

        def fail(words: str) -> None:
            self._show_finding("")
            self.failed.emit(words)

        def find(progress: Callable[[BankNews], None]) -> object:
            return self.find(self._desk.workspace, name, progress, lambda: self._is_stopped)

        if self.reader.run(find, end, fail, self._show_news):
            self._show_finding(bank_words(BankNews(0.0, 0.0)))
        else:
            self.failed.emit(BUSY)

    def _show_news(self, news: BankNews) -> None:
        self._show_finding(bank_words(news), news.done)

    def _show_finding(self, words: str, done: float = NOT_KNOWN) -> None:
        self.wait.show_words(words, done)
        self.issue.setEnabled(not words)

    def _stop(self) -> None:
        self._is_stopped = True

    def _choose(self) -> None:
        files = self.asker.open_files("Results of members", RESULT_KINDS)
        if not files:
            return
        path, now = self._desk.opened.path, self._desk.now()
        if tried(lambda: self._desk.key, self.failed.emit):
            key = self._desk.key.public_key
            self._run(
                len(files),
                lambda progress: preview_files(path, files, key, now, progress),
                self._show_previews,
            )

    def _show_previews(self, found: list[FilePreview]) -> None:
        self._accepted = [one.path for one in found if not one.refusal]
        self._refused = [preview_line(one) for one in found if one.refusal]
        self._show_lines([preview_line(one) for one in found])
        refused = len(found) - len(self._accepted)
        self.take.setText(f"Take {counted(len(self._accepted), 'file')}")
        self.take.setAccessibleName(self.take.text())
        self.take.setEnabled(bool(self._accepted))
        self.changed.emit(
            f"Nothing is taken yet: {counted(len(self._accepted), 'file')} would be, "
            f"{refused} refused."
        )

    def _take(self) -> None:
        path, now, files = self._desk.opened.path, self._desk.now(), list(self._accepted)
        key = self._desk.key.public_key
        self._run(
            len(files),
            lambda progress: apply_files(path, files, key, now, progress),
            self._show_imports,
        )

    def _show_imports(self, done: list[FileImport]) -> None:
        self._accepted = []
        self._show_lines([*(import_line(one) for one in done), *self._refused])
        self.take.setEnabled(False)
        self.take.setText(TAKE)
        self.take.setAccessibleName(TAKE)
        taken = sum(not one.refusal for one in done)
        refused = len(done) - taken + len(self._refused)
        self.changed.emit(f"{counted(taken, 'file')} taken, {refused} refused.")

    def _run(self, steps: int, work: object, done: object) -> None:
        self.progress.setRange(0, steps)
        self.progress.setValue(0)
        self.progress.show()
        self.take.setEnabled(False)

        def end(result: object) -> None:
            self.progress.hide()
            done(result)

        def fail(words: str) -> None:
            self.progress.hide()
            self.failed.emit(words)

        if not self._background.run(work, end, fail, self.progress.setValue):
            fail(BUSY)

    def _show_lines(self, found: Sequence[FileLine]) -> None:
        self._details = [details for *_, details in found]
        fill(self.files, [(*head, "; ".join(details)) for *head, details in found])
        self._show_detail(self.files.currentRow())

    def _show_detail(self, place: int) -> None:
        self.detail.clear()
        if 0 <= place < len(self._details):
            self.detail.addItems(self._details[place])

    def _lay_out(self) -> None:
        sides = QHBoxLayout(self)
        sides.setContentsMargins(8, 8, 8, 8)
        sides.addWidget(self._out_side(), 2)
        sides.addWidget(self._in_side(), 3)

    def _out_side(self) -> QWidget:
        frame, column = panel("Files for members")
        self.code.setAccessibleName("Code of the book card")
        self.seed.setRange(1, 2_000_000_000)
        self.seed.setValue(int(time.time()) % 1_000_000 + 1)
        self.due.setCalendarPopup(True)
        self.due.setDisplayFormat("yyyy-MM-dd")
        today = QDate.fromString(self._desk.now()[:10], "yyyy-MM-dd")
        self.due.setDate(today.addDays(21))
        column.addWidget(label("Becoming acquainted, once", "heading"))
        column.addWidget(
            label("Members believe this card once they heard you read its code.", wraps=True)
        )
        column.addLayout(row(self.card, self.code))
        column.addSpacing(8)
        column.addWidget(label("Assignment", "heading"))
        column.addLayout(row(named("For the member", self.member), named("On", self.aircraft)))
        column.addWidget(label("Lessons to fly", "group"))
        column.addWidget(self.lessons, 1)
        column.addLayout(
            row(
                named("Check form", self.form),
                named("Seed of the check", self.seed),
                named("Due", self.due),
            )
        )
        column.addLayout(row(self.issue))
        column.addWidget(self.wait)
        return frame

    def _in_side(self) -> QWidget:
        frame, column = panel("Results from members")
        column.addWidget(label("Results", "heading"))
        column.addWidget(
            label("First you see what each file would change; nothing is taken before.", wraps=True)
        )
        column.addLayout(row(self.choose))
        column.addWidget(self.files, 2)
        column.addWidget(label("The file in hand", "group"))
        column.addWidget(lines(self.detail, "What the file changes"), 1)
        self.progress.setAccessibleName("Progress")
        self.progress.setFormat("%v of %m files")
        self.progress.hide()
        column.addWidget(self.progress)
        self.take.setEnabled(False)
        column.addLayout(row(self.take))
        return frame

    def _connect(self) -> None:
        self.card.clicked.connect(self._write_card)
        self.issue.clicked.connect(self._issue)
        self.wait.stopped.connect(self._stop)
        self.choose.clicked.connect(self._choose)
        self.take.clicked.connect(self._take)
        self.files.currentCellChanged.connect(lambda place, *_: self._show_detail(place))
