"""Confidence against the answers, and when a rule should come up again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Rating

from trainer.assessment.answers.confidence import calibration, calibration_sentence
from trainer.assessment.answers.proportion import wilson_interval
from trainer.assessment.check.spacing import Review, Spacing, rating_of

START = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def test_each_confidence_has_its_own_share() -> None:
    rows = calibration([("sure", True), ("sure", False), ("guess", True)])
    assert [(row.confidence, row.count, row.right) for row in rows] == [
        ("sure", 2, 1), ("think_so", 0, 0), ("guess", 1, 1),
    ]  # fmt: skip
    assert rows[1].share is None
    assert "1 was wrong" in calibration_sentence(rows)


def test_wilson_interval_against_a_worked_example() -> None:
    """10 of 10: lower bound n / (n + z^2) = 10 / 13.8415 = 0.7225."""
    low, high = wilson_interval(10, 10)
    assert low == pytest.approx(0.7225, abs=5e-5)
    assert high == pytest.approx(1.0)
    assert wilson_interval(0, 0) == (0.0, 1.0)


def test_guesses_as_good_as_sure_answers_are_told() -> None:
    answers = [("sure", True)] * 8 + [("guess", True)] * 5
    assert "know more than you think" in calibration_sentence(calibration(answers))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("is_right", "confidence", "rating"),
    [(False, "sure", Rating.Again), (True, "guess", Rating.Hard), (True, "sure", Rating.Good)],
)
def test_ratings_come_from_the_answer(is_right: bool, confidence: str, rating: Rating) -> None:
    assert rating_of(is_right, confidence) == rating  # type: ignore[arg-type]


def test_a_wrong_rule_is_due_before_a_right_one() -> None:
    spacing = Spacing()
    for day in range(3):
        at = START + timedelta(days=3 * day)
        spacing.add([Review("right", at, True, "sure"), Review("wrong", at, False, "sure")])
    soon = START + timedelta(days=7)
    assert spacing.due(soon) == ("wrong",)
    assert [state.rule for state in spacing.states(soon)] == ["wrong", "right"]


def test_a_right_answer_is_spaced_by_days_and_a_wrong_one_by_minutes() -> None:
    spacing = Spacing()
    spacing.add([Review("right", START, True, "sure"), Review("wrong", START, False, "sure")])
    assert spacing.due(START + timedelta(minutes=15)) == ("wrong",)
    assert spacing.due(START + timedelta(days=1)) == ("wrong",)
    assert set(spacing.due(START + timedelta(days=4))) == {"right", "wrong"}
