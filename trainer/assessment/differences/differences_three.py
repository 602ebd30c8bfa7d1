"""Three ships side by side, for instance stage one, stage two and the sister ship."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from trainer.assessment.differences.differences import cause_words
from trainer.charts.compare import Comparison
from trainer.charts.installation import Installation

Ships = tuple[Installation, Installation, Installation]


@dataclass(frozen=True, slots=True)
class ThreeWayRow:
    """One setting that isn't the same in all three.

    Attributes:
        cause: `option:NAME`, `limit:NAME` or `fitted:EVENT`.
        heading: The question or label.
        values: What holds in each ship.
        kinds: How many kinds of situation it makes differ, for each pair of `PAIRS`.
    """

    cause: str
    heading: str
    values: tuple[str, str, str]
    kinds: tuple[int, int, int]

    @property
    def alike(self) -> tuple[int, int] | None:
        """The two ships that agree, by number, or None if all three differ."""
        return next((pair for pair in PAIRS if self.values[pair[0]] == self.values[pair[1]]), None)


PAIRS: tuple[tuple[int, int], ...] = tuple(combinations(range(3), 2))
"""First with second, first with third, second with third."""


def three_way(ships: Ships, found: Sequence[Comparison]) -> tuple[ThreeWayRow, ...]:
    """Return one row for each setting that differs somewhere, most kinds of situation first.

    Args:
        ships: The three installations.
        found: Their comparisons, in the order of `PAIRS`.
    """
    causes = dict.fromkeys(value.cause for one in found for value in one.values)
    rows = []
    for cause in causes:
        heading, first, second = cause_words(cause, ships[0], ships[1])
        third = cause_words(cause, ships[0], ships[2])[2]
        counts = [sum(cause in one.causes for one in pair.differences) for pair in found]
        rows.append(
            ThreeWayRow(cause, heading, (first, second, third), (counts[0], counts[1], counts[2]))
        )
    rows.sort(key=lambda row: (-max(row.kinds), -sum(row.kinds)))
    return tuple(rows)
