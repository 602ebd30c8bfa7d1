"""For the instructor: the wrong rules that a member's answers point to, and those answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.records.attempt import Attempt
from trainer.records.check_diagnosis import MemberDiagnosis, diagnose_attempts, tells_something
from trainer.records.club_attempts import attempts_of
from trainer.ui.check.check_banks import Banks
from trainer.ui.check.check_belief_words import (
    ANSWER_HEADS,
    ASK,
    FINDING_HEADS,
    NO_ANSWERS,
    BeliefRow,
    answer_detail,
    answer_row,
    belief_rows,
    calibration_words,
    verdict_line,
)
from trainer.ui.check.check_wait import WaitLine
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_kit import fill, fill_picker, named, row, sentence, table, tried
from trainer.ui.look.kit import button, label, panel
from trainer.ui.look.picker import Picker
from trainer.ui.look.words import StripWords, words_of_chart


@dataclass(frozen=True, slots=True)
class Believed:
    """A diagnosis with what its page needs."""

    found: MemberDiagnosis
    rows: list[BeliefRow]
    lessons: dict[str, str]
    situations: dict[str, str]
    """Id of an answer to an item of the bank -> the situation that was flown."""


class CheckBeliefView(QWidget):
    """Aircraft and member above, the findings on the left, their answers on the right."""

    failed = Signal(str)

    def __init__(self, desk: ClubDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._shown: Believed | None = None
        self._words = StripWords({})
        self.banks = Banks(desk.workspace, self)
        self.aircraft = Picker("Aircraft")
        self.member = Picker("Member")
        self.look = button("Look at the answers", "main")
        self.wait = WaitLine()
        self.verdict = label(ASK, "heading", wraps=True)
        self.calibration = label("", wraps=True)
        self.findings = table("Findings", FINDING_HEADS)
        self.sentence = label("", "heading", wraps=True)
        self.advice = label("", wraps=True)
        self.answers = table("Answers behind the finding", ANSWER_HEADS)
        self.detail = label("", wraps=True)
        self._lay_out()
        self._connect()
        self._show_rows([])

    def show_book(self) -> None:
        """Show aircraft and members of the book that is open."""
        book = self._desk.opened
        fill_picker(self.aircraft, [(one.id, one.title) for one in book.aircraft()])
        fill_picker(self.member, [(one.id, one.name) for one in book.members()])
        self.look.setEnabled(bool(self.aircraft.count() and self.member.count()))
        self.clear()

    def clear(self) -> None:
        """Show nothing of anybody."""
        self._shown = None
        self.verdict.setText(ASK)
        self.calibration.setText("")
        self._show_rows([])

    def diagnose(self) -> None:
        """Look at the answers of the member in the aircraft."""
        tried(self._diagnose, self.failed.emit)

    def close_records(self) -> None:
        """Stop what is being done."""
        self.banks.close()

    def _diagnose(self) -> None:
        book = self._desk.opened
        installation = book.one_aircraft(self.aircraft.currentData()).installation_id
        found = attempts_of(book, self.member.currentData(), installation_id=installation)
        attempts = [one for one in reversed(found) if tells_something(one)]
        self.clear()
        if not attempts:
            self.verdict.setText(NO_ANSWERS)
            return
        self._words = words_of_chart(self._desk.workspace.installation(installation).chart)
        if any(one.item_id for one in attempts):
            self.banks.fetch(
                installation, lambda _known: self._weigh(attempts, installation), self._fail
            )
        else:
            self._weigh(attempts, installation)

    def _weigh(self, attempts: Sequence[Attempt], installation: str) -> None:
        workspace = self._desk.workspace

        def work(check: Callable[[], None]) -> Believed:
            items, _ = workspace.items_answered(attempts, installation, check)
            library = workspace.library(installation)
            found = diagnose_attempts(attempts, items, installation, library.beliefs)
            rows = belief_rows(found, library.misconceptions)
            titles = dict(self._desk.lesson_choices())
            flown = {one.id: item.situation.words for one, item in found.used if one.item_id}
            return Believed(found, rows, titles, flown)

        self.banks.run(work, self._show, self._fail)
        self.wait.show_words("Weighing the answers.")

    def _show(self, believed: Believed) -> None:
        self._shown = believed
        self.verdict.setText(f"{self.member.currentText()}: {verdict_line(believed.found)}")
        self.calibration.setText(calibration_words(believed.found))
        self._show_rows(believed.rows)

    def _show_rows(self, rows: Sequence[BeliefRow]) -> None:
        fill(self.findings, [one.line for one in rows])
        self.findings.setVisible(bool(rows))
        self.side.setVisible(bool(rows))
        if rows:
            self.findings.selectRow(0)
        self._show_row()

    @property
    def row(self) -> BeliefRow | None:
        """The finding in hand."""
        place = self.findings.currentRow()
        rows = self._shown.rows if self._shown is not None else []
        return rows[place] if 0 <= place < len(rows) else None

    def _show_row(self) -> None:
        one = self.row
        if one is None or self._shown is None:
            return
        self.sentence.setText(one.sentence)
        lesson = self._shown.lessons.get(one.lesson, "")
        told = f"The lesson that shows it: {lesson}." if lesson else ""
        self.advice.setText(" ".join(part for part in (one.advice, told) if part))
        self.advice.setVisible(bool(self.advice.text()))
        fill(self.answers, [answer_row(answer) for answer in one.answers])
        if one.answers:
            self.answers.selectRow(0)
        self._show_answer()

    def _show_answer(self) -> None:
        one, place = self.row, self.answers.currentRow()
        if one is None or self._shown is None or not 0 <= place < len(one.answers):
            self.detail.setText("None.")
            return
        answer = one.answers[place]
        flown = self._shown.situations.get(answer.id, "")
        self.detail.setText(f"{flown} {answer_detail(answer, self._words)}".strip())

    def _fail(self, words: str) -> None:
        self.failed.emit(sentence(words))

    def _connect(self) -> None:
        self.look.clicked.connect(self.diagnose)
        self.wait.stopped.connect(self.banks.stop)
        self.banks.waiting.connect(self._show_waiting)
        for picker in (self.aircraft, self.member):
            picker.activated.connect(lambda _place: self.clear())
        self.findings.currentCellChanged.connect(lambda *_: self._show_row())
        self.answers.currentCellChanged.connect(lambda *_: self._show_answer())

    def _show_waiting(self, words: str, done: float) -> None:
        self.wait.show_words(words, done)
        self.look.setEnabled(not words)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 12, 12, 12)
        layout.setSpacing(8)
        layout.addLayout(
            row(named("Aircraft", self.aircraft), named("Member", self.member), self.look)
        )
        layout.addWidget(self.wait)
        layout.addWidget(self.verdict)
        layout.addWidget(self.calibration)
        both = QHBoxLayout()
        both.setSpacing(12)
        both.addWidget(self.findings, 1)
        self.side, column = panel("Finding in hand")
        for part in (self.sentence, self.advice):
            column.addWidget(part)
        column.addWidget(label("Answers behind it", "group"))
        column.addWidget(self.answers, 1)
        column.addWidget(self.detail)
        both.addWidget(self.side, 1)
        layout.addLayout(both, 1)
