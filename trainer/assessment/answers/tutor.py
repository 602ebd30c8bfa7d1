"""A lesson with a trainee: takes predictions, scores them against what is then flown, explains.

Adds to `lesson.runner` exactly that; the window and the tests drive this.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.assessment.answers.explain import explain, explain_details
from trainer.assessment.answers.prediction import Prediction, Score, score_answer
from trainer.lesson.answer import Answer
from trainer.lesson.runner import LessonRunner, Prompt
from trainer.session.annunciation import Annunciation
from trainer.session.record import StepRecord


@dataclass(frozen=True, slots=True)
class Outcome:
    """A prompt answered, played and explained."""

    prompt: Prompt
    prediction: Prediction
    actual: Annunciation
    score: Score
    records: tuple[StepRecord, ...]
    explanation: tuple[str, ...]
    """One sentence for each visible change, naming what the rule says."""
    details: tuple[str, ...]
    """The whole reason of each rule: what was armed, what decided, what would have gone on."""
    rule_ids: tuple[str, ...]
    elapsed_s: float


class Tutor(LessonRunner):
    """One run of a lesson by one trainee.

    Attributes:
        outcome: The result while the phase is explained.
        outcomes: All results so far.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> tutor = workspace.start_lesson(lesson)
        >>> records = tutor.advance(60.0)
        >>> from trainer.lesson.question import compute_answer
        >>> strip = compute_answer(tutor.asked, tutor.session).after
        >>> tutor.answer(Prediction(strip, "sure"))
        >>> records = tutor.advance(60.0)
        >>> tutor.outcome.score.is_right, tutor.outcome.explanation[0]
        (True, 'The director key switches guidance on.')
    """

    def restart(self) -> None:
        """Begin again from the lesson's start, with no results."""
        self.outcome: Outcome | None = None
        self.outcomes: list[Outcome] = []
        self._prediction: Prediction | None = None
        super().restart()

    def answer(self, prediction: Prediction) -> None:
        """Take the prediction for the prompt that is being asked; time then shows what happens."""
        if self.phase == "asking":
            self._prediction = prediction
            self.commit()

    def proceed(self) -> tuple[StepRecord, ...]:
        """Go on after an explanation; the records of steps that need no time are returned."""
        self.outcome = None
        return super().proceed()

    def _finish_prompt(self, answer: Answer) -> None:
        super()._finish_prompt(answer)
        answer = self.played[-1]
        assert self.prompt is not None
        assert self._prediction is not None
        score = score_answer(self.prompt, self._prediction, answer)
        right = [cell.cell for cell in score.cells if cell.is_right]
        wrong = [cell.cell for cell in score.cells if not cell.is_right]
        self.outcome = Outcome(
            self.prompt, self._prediction, answer.after, score, answer.records,
            explain(answer, self.session.installation, right, wrong),
            explain_details(answer, self.session.installation), answer.rule_ids, answer.elapsed_s,
        )  # fmt: skip
        self.outcomes.append(self.outcome)
