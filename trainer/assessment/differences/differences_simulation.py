"""How well the differences check detects habits: members that don't exist, seeded."""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import dataclass

from trainer.assessment.diagnosis.diagnosis import Declared
from trainer.assessment.differences.differences_check import DECLARED, DifferencesCheck, judge
from trainer.assessment.figures.simulation import Share
from trainer.assessment.items.item import Item
from trainer.session.annunciation import Annunciation


@dataclass(frozen=True, slots=True)
class Detection:
    """Shares of simulated members.

    Attributes:
        all_habits: Members with every habit of the known ship, of whom at least one is found.
        each_habit: Members with a single habit, in whom that very one is found.
        false_alarms: Members without any, in whom one is found all the same.
    """

    all_habits: Share
    each_habit: dict[str, Share]
    false_alarms: Share


def simulate(
    check: DifferencesCheck, members: int, seed: int, declared: Declared = DECLARED
) -> Detection:
    """Return how often habits are found.

    Args:
        check: The check.
        members: Simulated members of each sort.
        seed: Same seed, same members.
        declared: The noise with which they slip, and what the judgement assumes.
    """

    def found(held: Collection[str], name: str) -> Share:
        count = 0
        for number in range(members):
            chance = random.Random(f"{seed} {name} {number}")  # noqa: S311 - a simulation
            answers = _answers(check, held, declared.noise, chance)
            carried = {one.habit for one in judge(check, answers, declared)
                       if one.is_carried(declared)}  # fmt: skip
            count += bool(carried & set(held)) if held else bool(carried)
        return Share(count, members)

    return Detection(
        found(check.habits, "all"),
        {habit: found((habit,), habit) for habit in check.habits},
        found((), "none"),
    )


def _answers(
    check: DifferencesCheck, held: Collection[str], noise: float, chance: random.Random
) -> list[Annunciation]:
    strips = list({a: None for item in check.items for a in (item.true, *item.answers.values())})
    return [_answer(item, held, noise, chance, strips) for item in check.items]


def _answer(
    item: Item,
    held: Collection[str],
    noise: float,
    chance: random.Random,
    strips: list[Annunciation],
) -> Annunciation:
    """Return what the belief says, or with the noise's probability any other strip of the check."""
    meant = next((a for name, a in item.answers.items() if name in held), item.true)
    if chance.random() >= noise:
        return meant
    return chance.choice([strip for strip in strips if strip != meant])
