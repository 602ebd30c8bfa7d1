"""When a member should meet a rule again: one memory card for each rule, spaced by FSRS.

Not items but rules are spaced: each review is a fresh situation of the same rule. Ratings come
from the answer, never from how it felt alone. Time is handed in.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from fsrs import Card, Rating, Scheduler

from trainer.assessment.answers.prediction import Confidence

RETENTION = 0.9
"""Wanted probability that a rule is still known when it comes up again."""
SOON = timedelta(minutes=10)
"""When a rule comes up again after a wrong answer; a right one is spaced by days at once."""


@dataclass(frozen=True, slots=True)
class Review:
    """A rule met at a moment."""

    rule: str
    at: datetime
    is_right: bool
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class RuleState:
    """What is known about one rule's memory."""

    rule: str
    due: datetime
    recall: float
    """Probability that it is known now."""
    is_due: bool


def rating_of(is_right: bool, confidence: Confidence) -> Rating:
    """Return the rating of an answer: wrong is Again, a right guess is Hard, right is Good."""
    if not is_right:
        return Rating.Again
    return Rating.Hard if confidence == "guess" else Rating.Good


class Spacing:
    """A member's cards, built from the reviews on record.

    Args:
        retention: Wanted probability that a rule is still known when it comes up again.
        learning: Waits before a rule that is new is spaced by days.
    """

    def __init__(
        self, retention: float = RETENTION, learning: tuple[timedelta, ...] = (SOON,)
    ) -> None:
        self._scheduler = Scheduler(
            desired_retention=retention,
            learning_steps=learning,
            relearning_steps=(SOON,),
            enable_fuzzing=False,
        )
        self._cards: dict[str, Card] = {}

    def add(self, reviews: Iterable[Review]) -> None:
        """Take reviews in the order of time."""
        for review in sorted(reviews, key=lambda one: one.at):
            card = self._cards.get(review.rule)
            if card is None:
                card = Card(card_id=len(self._cards) + 1, due=review.at)
            rating = rating_of(review.is_right, review.confidence)
            self._cards[review.rule], _ = self._scheduler.review_card(card, rating, review.at)

    def states(self, now: datetime) -> tuple[RuleState, ...]:
        """Return every rule met so far, the least remembered first."""
        found = [
            RuleState(
                rule, card.due, self._scheduler.get_card_retrievability(card, now), card.due <= now
            )
            for rule, card in self._cards.items()
        ]
        return tuple(sorted(found, key=lambda state: (state.recall, state.rule)))

    def due(self, now: datetime) -> tuple[str, ...]:
        """Return the rules that are due, the least remembered first."""
        return tuple(state.rule for state in self.states(now) if state.is_due)
