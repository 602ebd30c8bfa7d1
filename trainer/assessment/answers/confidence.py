"""How well a member's confidence fits the answers, and the answers that were sure and wrong."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.assessment.answers.prediction import CONFIDENCES, Confidence
from trainer.assessment.answers.proportion import wilson_interval


@dataclass(frozen=True, slots=True)
class CalibrationRow:
    """Answers given with one confidence.

    `low` and `high` bound the share of right ones (Wilson's interval, 95 %).

    Example:
        >>> CalibrationRow("sure", count=10, right=8, low=0.49, high=0.94).share
        0.8
    """

    confidence: Confidence
    count: int
    right: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        """Share of right answers, or None without any."""
        return self.right / self.count if self.count else None


def calibration(answers: Iterable[tuple[Confidence, bool]]) -> tuple[CalibrationRow, ...]:
    """Return a row for each confidence, the surest first.

    Args:
        answers: Confidence, and whether the answer was right.

    Example:
        >>> rows = calibration([("sure", True), ("sure", False), ("guess", True)])
        >>> [(row.confidence, row.right, row.count) for row in rows]
        [('sure', 1, 2), ('think_so', 0, 0), ('guess', 1, 1)]
    """
    given = list(answers)
    rows = []
    for confidence in CONFIDENCES:
        verdicts = [is_right for held, is_right in given if held == confidence]
        low, high = wilson_interval(sum(verdicts), len(verdicts))
        rows.append(CalibrationRow(confidence, len(verdicts), sum(verdicts), low, high))
    return tuple(rows)


def calibration_sentence(rows: tuple[CalibrationRow, ...]) -> str:
    """Return what the member should know about their own confidence, in one sentence.

    Example:
        >>> calibration_sentence(calibration([("sure", True), ("sure", False)]))
        'Of 2 answers that you were sure of, 1 was wrong.'
    """
    by_name = {row.confidence: row for row in rows}
    sure, guess = by_name["sure"], by_name["guess"]
    if sure.count == 0:
        return "You were never sure, so nothing can be said about your sureness."
    wrong = sure.count - sure.right
    if wrong:
        verb = "was" if wrong == 1 else "were"
        return f"Of {sure.count} answers that you were sure of, {wrong} {verb} wrong."
    if guess.count and guess.share is not None and guess.share > sure.low:
        return (
            "Your guesses are about as good as what you are sure of: you know more than you think."
        )
    return f"All {sure.count} answers that you were sure of were right."
