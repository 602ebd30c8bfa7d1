"""A differences check being taken: item by item, then which habits were found. No Qt here."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Outcome, Tutor
from trainer.assessment.differences.differences import Group, cause_words
from trainer.assessment.differences.differences_check import (
    DECLARED,
    DifferencesCheck,
    HabitFinding,
    habit_of,
    judge,
)
from trainer.assessment.differences.differences_lesson import short_titles
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.item import Item, lesson_of

_FLY_S = 0.1
CARRIED, FREE, OPEN = "carried", "free", "open"


@dataclass(frozen=True, slots=True)
class HabitWords:
    """What is told of one habit."""

    state: str
    """`carried`, `free` or `open`: the answers don't say."""
    heading: str
    words: str


@dataclass(frozen=True, slots=True)
class MadeCheck:
    """A check with what is needed to take it and to tell what came out.

    Attributes:
        groups: The causes that it asks about.
        ships: The ship that is known, and the one that is asked about.
    """

    check: DifferencesCheck
    groups: tuple[Group, ...]
    ships: tuple[Ship, Ship]

    @property
    def names(self) -> tuple[str, str]:
        """What the ships are called in running text."""
        first, second = (ship.logic.installation for ship in self.ships)
        return short_titles(first, second)

    @property
    def title(self) -> str:
        """What stands above it, and with the answers that are kept."""
        return f"Differences check: from {self.names[0]} to {self.names[1]}"


class CheckRun:
    """One member's run; the next item waits at its question.

    Attributes:
        outcomes: What came of each answer, in order.
        tutor: The item that is asked; None: all are answered.
    """

    def __init__(self, made: MadeCheck) -> None:
        self.made = made
        self.outcomes: list[Outcome] = []
        self.tutor: Tutor | None = None
        self._ask_next()

    @property
    def item(self) -> Item | None:
        """The item that is asked."""
        items, place = self.made.check.items, len(self.outcomes)
        return items[place] if place < len(items) else None

    def answer(self, said: Prediction) -> Tutor:
        """Take an answer and go to the next item; return the run that it was given in."""
        tutor = self.tutor
        assert tutor is not None
        tutor.answer(said)
        while tutor.outcome is None:
            tutor.advance(_FLY_S)
        self.outcomes.append(tutor.outcome)
        self._ask_next()
        return tutor

    def findings(self) -> tuple[HabitFinding, ...]:
        """Return what the answers so far say of each habit."""
        said = [one.prediction.annunciation for one in self.outcomes]
        return judge(self.made.check, said)

    def habit_words(self) -> tuple[HabitWords, ...]:
        """Return what is told of each habit, those that were found first."""
        ships = tuple(ship.logic.installation for ship in self.made.ships)
        by_habit = {habit_of(group.causes): group for group in self.made.groups}
        found = []
        for one in self.findings():
            causes = by_habit[one.habit].causes
            heading = " ".join(cause_words(cause, *ships)[0] for cause in causes)
            state, words = self._judged(one)
            found.append(HabitWords(state, heading, words))
        order = (CARRIED, OPEN, FREE)
        return tuple(sorted(found, key=lambda one: order.index(one.state)))

    def _judged(self, one: HabitFinding) -> tuple[str, str]:
        known, flown = self.made.names
        if one.is_carried():
            times = len(one.fitting)
            many = "once" if times == 1 else f"{times} times"
            return CARRIED, f"Answered {many} as {known} would. Brief this before flying {flown}."
        if one.probability <= 1.0 - DECLARED.certainty:
            return FREE, f"Answered as {flown} does it."
        asked = sum(one.habit in item.answers for item in self.made.check.items)
        said = f"Answered {len(one.fitting)} of {asked} as {known} would"
        return OPEN, f"{said}: not enough to tell, ask again."

    def _ask_next(self) -> None:
        item = self.item
        self.tutor = None
        if item is None:
            return
        second = self.made.ships[1]
        lesson = replace(lesson_of(item, second.name), title=self.made.title)
        self.tutor = tutor = Tutor(lesson, lambda: second.begin(lesson.start))
        while tutor.phase == "running":
            tutor.advance(_FLY_S)
