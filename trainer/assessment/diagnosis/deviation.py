"""How a wrong answer deviates from the true one, and whether it deviates as another one did.

A slip puts anything anywhere, a wrong rule puts the same things in the same cells again. So wrong
answers that deviate alike say more than their number.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection

from trainer.session.annunciation import CELLS, Annunciation, changed_cells

Deviation = frozenset[tuple[str, str | tuple[str, ...]]]
"""The cells that are wrong, each with what was put there."""


def deviation_of(true: Annunciation, answer: Annunciation) -> Deviation:
    """Return the cells of an answer that are wrong, with what was put there; empty if right.

    Example:
        >>> deviation_of(Annunciation("autopilot"), Annunciation("director"))
        frozenset({('engagement', 'director')})
    """
    return frozenset((name, answer.cell(name)) for name in changed_cells(true, answer))


class Deviations:
    """Tells how much to be expected a deviation is after others.

    Args:
        strips: The strips that slips may lead to, the true one among them.

    Example:
        >>> right, wrong = Annunciation("autopilot"), Annunciation("director")
        >>> off = Annunciation("no_guidance")
        >>> deviations = Deviations([right, wrong, off])
        >>> before = Counter([deviation_of(right, wrong)])
        >>> deviations.share(deviation_of(right, wrong), before, 2)
        0.75
        >>> deviations.share(deviation_of(right, off), before, 2)
        0.25
    """

    def __init__(self, strips: Collection[Annunciation]) -> None:
        self._strips = [frozenset((c, strip.cell(c)) for c in CELLS) for strip in strips]
        self._common: dict[Deviation, float] = {}

    def share(self, deviation: Deviation, before: Counter[Deviation], alternatives: int) -> float:
        """Return how likely a wrong rule deviates just so after what it has shown before.

        Args:
            deviation: How the answer deviates.
            before: How earlier answers did, with how many times.
            alternatives: How many wrong strips there are for a slip.
        """
        by_chance = 1.0 / alternatives
        known = sum(
            times * self._alike(deviation, other, by_chance) for other, times in before.items()
        )
        return (by_chance + known) / (1 + before.total())

    def _alike(self, deviation: Deviation, other: Deviation, by_chance: float) -> float:
        """Return how likely it deviates so if it did otherwise before: half the time alike.

        The other half of the time it has some of its cells in common, any of them, with the rest
        as by chance.
        """
        common = deviation & other
        if not common:
            return 0.0
        exact = 0.5 if deviation == other else 0.0
        ways = (1 << len(other)) - 1
        return exact + 0.5 * min(1.0, by_chance / self._frequency(common)) / ways

    def _frequency(self, common: Deviation) -> float:
        """Return the share of wrong strips that have these cells."""
        if common not in self._common:
            count = sum(1 for strip in self._strips if common <= strip)
            self._common[common] = max(count, 1) / max(len(self._strips) - 1, 1)
        return self._common[common]
