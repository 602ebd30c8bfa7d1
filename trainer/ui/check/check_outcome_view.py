"""After a check: the verdicts with their evidence, and each wrong answer to be flown again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from trainer.assessment.answers.prediction import score
from trainer.records.check_verdict import CheckReport, WrongAnswer
from trainer.session.strip_content import Verdict
from trainer.session.strip_design import StripColours, StripDesign
from trainer.ui.check.check_desk import Taken, question_of
from trainer.ui.check.check_words import (
    WHAT_IT_IS,
    WRONG_HEADS,
    calibration_line,
    competency_title,
    decision_words,
    handing_in,
    verdict_lines,
    wrong_row,
)
from trainer.ui.club.club_kit import fill, table
from trainer.ui.look.kit import button, label, panel, scroll_area, set_role
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

_ROLES = {"ready": "right", "not yet": "wrong", "undecided": "quiet", "needs a briefing": "wrong"}
_STRIPS = (("before", "Read before"), ("said", "You said"), ("true", "It read"))


class CheckOutcomeView(QWidget):
    """Shows a `CheckReport`."""

    closed = Signal()
    replayed = Signal(object)
    """A `WrongAnswer`."""
    lesson_asked = Signal(str)
    exchange_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._report: CheckReport | None = None
        self._taken: Taken | None = None
        self._because: Callable[[WrongAnswer], list[str]] = lambda _one: []
        self._lessons: Mapping[str, str] = {}
        self.decision = label("", "title")
        self.whose = label("", "quiet")
        self.reasons = label("", wraps=True)
        self.unsigned = label("", "caution", wraps=True)
        self.verdicts = QWidget()
        self.verdicts.setObjectName("plain")
        self.grid = QGridLayout(self.verdicts)
        self.calibration = QWidget()
        self.calibration.setObjectName("plain")
        self.calibrated = QGridLayout(self.calibration)
        self.calibration_words = label("", wraps=True)
        self.diagnosis = label("", wraps=True)
        self.hand_in = label("", wraps=True)
        self.exchange = button("Exchange with the club")
        self.back = button("Back  Esc", name="Back")
        self.list = table("Wrong answers", WRONG_HEADS)
        self.none = label("No answer was wrong.", "right")
        self.question = label("", "heading", wraps=True)
        self.why = label("", wraps=True)
        self.belief = label("", "wrong", wraps=True)
        self.replay = button("Fly it again  Enter", "main", name="Fly it again")
        self.lesson = button("Lesson")
        words = StripWords({})
        self.strips = {name: StripWidget(words) for name, _ in _STRIPS}
        self._lay_out()
        self._connect()

    def show_report(
        self,
        taken: Taken,
        report: CheckReport,
        words: StripWords,
        *,
        titles: Mapping[str, str],
        lessons: Mapping[str, str],
        because: Callable[[WrongAnswer], list[str]],
        not_asked_for: Sequence[str] = (),
        caution: str = "",
    ) -> None:
        """Show what a check says.

        Args:
            taken: The check.
            report: What it says.
            words: The installation's words for the strip.
            titles: Title of each competency by id.
            lessons: Title of each lesson by id.
            because: Returns the rules behind an item, in sentences.
            not_asked_for: Competencies that the assignment doesn't require.
            caution: What holds of limits that nobody has signed; empty if all are.
        """
        self._taken, self._report, self._because, self._lessons = taken, report, because, lessons
        self._show_head(taken, report)
        self.unsigned.setText(caution)
        self.unsigned.setVisible(bool(caution))
        rest = [competency_title(name, titles) for name in not_asked_for]
        self.hand_in.setText(handing_in(bool(taken.sitting.assignment_id), rest))
        verdicts = verdict_lines(report, titles)
        _fill(self.grid, [((t, ""), (n, "quiet"), (v, _ROLES[v])) for t, n, v in verdicts])
        rows = [calibration_line(row) for row in report.calibration if row.count]
        _fill(self.calibrated, [tuple((text, "") for text in row) for row in rows])
        self.calibration_words.setText(report.calibration_words)
        self.diagnosis.setText("\n".join(report.diagnosis))
        for strip in self.strips.values():
            strip.set_words(words)
        asked = [question_of(taken, one.answer.item) for one in report.wrong]
        fill(self.list, map(wrong_row, report.wrong, asked))
        self.list.setVisible(bool(report.wrong))
        self.none.setVisible(not report.wrong)
        self.detail.setVisible(bool(report.wrong))
        self.list.selectRow(0)
        self._show()

    def _show_head(self, taken: Taken, report: CheckReport) -> None:
        sitting = taken.sitting
        words, role = decision_words(report)
        self.decision.setText(words)
        self.whose.setText(f"{sitting.member}, {sitting.aircraft_title}, form {sitting.form}")
        set_role(self.whose, role)
        self.reasons.setText("\n".join(report.decided.reasons))
        self.exchange.setVisible(bool(sitting.assignment_id))

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another strip design."""
        for strip in self.strips.values():
            strip.set_design(design, colours)

    def take_focus(self) -> None:
        """Put the keyboard on the wrong answers, the worst first."""
        (self.list if self.list.isVisible() else self.back).setFocus()

    @property
    def wrong(self) -> WrongAnswer | None:
        """The wrong answer in hand."""
        place = self.list.currentRow()
        found = self._report.wrong if self._report is not None else ()
        return found[place] if 0 <= place < len(found) else None

    def _show(self) -> None:
        one = self.wrong
        if one is None or self._taken is None:
            return
        item = one.answer.item
        asked = question_of(self._taken, item)
        self.question.setText(f"{item.situation.words} {asked}")
        self.why.setText(" ".join(self._because(one)) or "No rule acts here: nothing changes.")
        self.belief.setText(f"Fits the wrong rule: {one.rule}" if one.rule else "")
        self.belief.setVisible(bool(one.rule))
        said = one.answer.answer
        marks: dict[str, Verdict] = dict.fromkeys(score(said, item.true).wrong_cells, "wrong")
        self.strips["before"].show_annunciation(item.before)
        self.strips["said"].show_annunciation(said, verdicts=marks)
        self.strips["true"].show_annunciation(item.true)
        title = self._lessons.get(one.lesson, "")
        self.lesson.setVisible(bool(title))
        self.lesson.setText(f"Lesson: {title}")
        self.lesson.setAccessibleName(f"Lesson: {title}")

    def _connect(self) -> None:
        self.back.clicked.connect(self.closed)
        self.exchange.clicked.connect(self.exchange_asked)
        self.list.currentCellChanged.connect(lambda *_: self._show())
        self.list.itemActivated.connect(lambda _item: self.replay.click())
        self.replay.clicked.connect(lambda: self.wrong and self.replayed.emit(self.wrong))
        self.lesson.clicked.connect(
            lambda: self.wrong and self.lesson_asked.emit(self.wrong.lesson)
        )

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 8)
        layout.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(self.decision)
        head.addSpacing(12)
        head.addWidget(self.whose)
        head.addStretch(1)
        head.addWidget(self.exchange)
        head.addWidget(self.back)
        layout.addLayout(head)
        both = QHBoxLayout()
        both.setSpacing(12)
        both.addWidget(self._said(), 1)
        frame, column = panel("Wrong answers")
        column.addWidget(label("Wrong answers, sure ones first", "heading"))
        column.addWidget(self.none)
        column.addWidget(self.list, 1)
        both.addWidget(frame, 1)
        layout.addLayout(both, 1)
        layout.addWidget(self._wrong())

    def _said(self) -> QWidget:
        inner = QWidget()
        inner.setObjectName("plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 8, 0)
        for grid in (self.grid, self.calibrated):
            grid.setContentsMargins(0, 0, 0, 0)
            grid.setHorizontalSpacing(16)
            grid.setColumnStretch(0, 1)
        for title, widget in (
            ("Why", self.reasons), ("", self.unsigned), ("Verdict by competency", self.verdicts),
            ("How sure you were, and how often that was right", self.calibration),
            ("", self.calibration_words), ("What you may believe", self.diagnosis),
            ("Handing in", self.hand_in), ("What this is", label(WHAT_IT_IS, "quiet", wraps=True)),
        ):  # fmt: skip
            if title:
                column.addWidget(label(title, "group"))
            column.addWidget(widget)
        column.addStretch(1)
        return scroll_area(inner, "What the check says")

    def _wrong(self) -> QWidget:
        self.detail, column = panel("Wrong answer in hand")
        column.addWidget(self.question)
        row = QHBoxLayout()
        row.setSpacing(12)
        for name, title in _STRIPS:
            side = QVBoxLayout()
            side.setSpacing(2)
            side.addWidget(label(title, "group"))
            side.addWidget(self.strips[name])
            row.addLayout(side, 1)
        column.addLayout(row)
        column.addWidget(self.why)
        column.addWidget(self.belief)
        foot = QHBoxLayout()
        foot.addWidget(self.lesson)
        foot.addStretch(1)
        foot.addWidget(self.replay)
        column.addLayout(foot)
        return self.detail


def _fill(grid: QGridLayout, rows: Sequence[Sequence[tuple[str, str]]]) -> None:
    """Fill a grid with words and their meaning, row by row."""
    while grid.count():
        widget = grid.takeAt(0).widget()
        widget.hide()
        widget.deleteLater()
    for place, row in enumerate(rows):
        for column, (words, role) in enumerate(row):
            grid.addWidget(label(words, role), place, column)
