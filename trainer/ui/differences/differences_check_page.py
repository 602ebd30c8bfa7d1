"""The differences check in the window: items on a quiet page, then which habits were found."""

from __future__ import annotations

import time

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QListWidget,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.assessment.answers.prediction import Prediction
from trainer.session.strip_design import StripDesign
from trainer.ui.check.check_item_view import QuietPage
from trainer.ui.differences.differences_check_run import (
    CARRIED,
    FREE,
    OPEN,
    CheckRun,
    HabitWords,
    MadeCheck,
)
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.lesson.practice import Practice
from trainer.ui.lesson.practice_page import strip_colours
from trainer.ui.look.kit import button, item_head, label, panel, set_role
from trainer.ui.look.theme import Theme
from trainer.ui.look.whole_rows import WholeRows
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

HINT = (
    "Build the strip as it will read, then say how sure you are. Nothing is told until the end."
    " Every answer is kept under your name."
)
_MARKS = {CARRIED: "\N{BALLOT X}", FREE: "\N{CHECK MARK}"}
_OPEN_MARK = "?"
_TITLES = ("Before", "Your answer", "As it reads")


class DifferencesCheckPage(QWidget):
    """Shows a run; `kept` carries each answer that came."""

    closed = Signal()
    kept = Signal(object, float)
    """The `Tutor` that an answer was given in, and the time taken [s]."""

    def __init__(self, words: StripWords) -> None:
        super().__init__()
        self.setObjectName("page")
        self.run: CheckRun | None = None
        self._began_s = 0.0
        self.page = QuietPage()
        self.title = label("", "heading", wraps=True)
        self.number = label("", "quiet")
        self.stop = button("Stop  Esc", name="Stop the check", hint="Answers given stay kept")
        self.outcome_title = label("", "title", wraps=True)
        self.summary = label("", "heading", wraps=True)
        self.habits = WholeRows()
        self.habits.setAccessibleName("Habits of the known ship")
        self.items = WholeRows()
        self.items.setAccessibleName("Questions")
        self.situation = label("", wraps=True)
        self.strips = [StripWidget(words) for _ in _TITLES]
        self.back = button("Back  Esc", "main", name="Back")
        self.pages = QStackedWidget()
        self._lay_out()
        self.page.builder.submitted.connect(self._answer)
        self.stop.clicked.connect(self.closed)
        self.back.clicked.connect(self.closed)
        self.items.currentRowChanged.connect(self._show_item)

    def begin(self, made: MadeCheck) -> None:
        """Begin a check."""
        self.run = CheckRun(made)
        self.title.setText(made.title)
        self._ask()

    def set_look(self, theme: Theme, design: StripDesign) -> None:
        """Use a theme and a strip design."""
        self.page.set_theme(theme, design)
        for strip in self.strips:
            strip.set_design(design, strip_colours(design, theme))

    def _ask(self) -> None:
        run = self.run
        if run is None or run.tutor is None or run.tutor.prompt is None or run.item is None:
            self._show_outcome()
            return
        number, count = len(run.outcomes) + 1, len(run.made.check.items)
        self.number.setText(f"Question {number} of {count}")
        text = LessonText(
            title=f"Question {number} of {count}", narration=run.item.situation.words,
            question=run.tutor.prompt.question, hint=HINT,
        )  # fmt: skip
        self.pages.setCurrentIndex(0)
        self.page.show_item(Practice(run.tutor, lambda _answered: None), text)
        self._began_s = time.monotonic()
        self.page.builder.take_focus()

    def _answer(self, said: Prediction) -> None:
        if self.run is not None and self.run.tutor is not None:
            taken_s = time.monotonic() - self._began_s
            self.kept.emit(self.run.answer(said), taken_s)
            self._ask()

    def _show_outcome(self) -> None:
        run = self.run
        if run is None:
            return
        self.outcome_title.setText(run.made.title)
        right = sum(one.score.is_right for one in run.outcomes)
        told = run.habit_words()
        self.summary.setText(f"{right} of {len(run.outcomes)} answers right. {_found(run, told)}")
        states = {one.state for one in told}
        set_role(self.summary, "wrong" if CARRIED in states else
                 "caution" if OPEN in states else "right")  # fmt: skip
        self.habits.show_lines([
            f"{_MARKS.get(one.state, _OPEN_MARK)}  {one.heading}\n{one.words}" for one in told
        ])  # fmt: skip
        self.items.show_lines([
            f"{_MARKS[FREE if one.score.is_right else CARRIED]}  {number}  {one.prompt.question}"
            for number, one in enumerate(run.outcomes, 1)
        ])  # fmt: skip
        wrong = (n for n, one in enumerate(run.outcomes) if not one.score.is_right)
        self.pages.setCurrentIndex(1)
        self.items.setCurrentRow(next(wrong, 0))
        self.back.setFocus()

    def _show_item(self, place: int) -> None:
        run = self.run
        if run is None or not 0 <= place < len(run.outcomes):
            return
        one, item = run.outcomes[place], run.made.check.items[place]
        reasons = " ".join(one.explanation)
        self.situation.setText(f"{item.situation.words} {reasons}".strip())
        shown = (one.prompt.before, one.prediction.annunciation, one.actual)
        for strip, title, annunciation in zip(self.strips, _TITLES, shown, strict=True):
            strip.setAccessibleName(title)
            strip.show_annunciation(annunciation)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        asking = QWidget()
        inside = QVBoxLayout(asking)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(4)
        inside.addLayout(item_head(self.title, self.number, self.stop))
        inside.addWidget(self.page, 1)
        self.pages.addWidget(asking)
        self.pages.addWidget(self._outcome())
        column.addWidget(self.pages)

    def _outcome(self) -> QWidget:
        outcome = QWidget()
        outcome.setObjectName("page")
        column = QVBoxLayout(outcome)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(self.outcome_title, 1)
        head.addWidget(self.back)
        column.addLayout(head)
        column.addWidget(self.summary)
        body = QHBoxLayout()
        body.setSpacing(12)
        left = QVBoxLayout()
        for words, rows in (("Habits", self.habits), ("Questions", self.items)):
            left.addWidget(label(words, "group"))
            left.addWidget(rows, 1)
        self.habits.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        body.addLayout(left, 1)
        body.addWidget(self._one_answer(), 1)
        column.addLayout(body, 1)
        return outcome

    def _one_answer(self) -> QWidget:
        frame, inside = panel("One answer")
        inside.addWidget(self.situation)
        grid = QGridLayout()
        for place, (title, strip) in enumerate(zip(_TITLES, self.strips, strict=True)):
            grid.addWidget(label(title, "group"), 2 * place, 0)
            grid.addWidget(strip, 2 * place + 1, 0, Qt.AlignmentFlag.AlignTop)
        inside.addLayout(grid)
        inside.addStretch(1)
        return frame


def _found(run: CheckRun, told: tuple[HabitWords, ...]) -> str:
    """Return how many habits were found, and how many the answers leave open."""
    carried, undecided = (sum(one.state == state for one in told) for state in (CARRIED, OPEN))
    habits = "No habit" if not carried else f"{carried} habit{'s' if carried > 1 else ''}"
    tail = f"; {undecided} undecided" if undecided else ""
    return f"{habits} of {run.made.names[0]} found{tail}."
