"""Finds those of many changed charts that an answer may depend on, without running them all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trainer.assessment.quick_chart import Point, QuickChart, Row, Tests, holds, rows_of


@dataclass(frozen=True, slots=True)
class Changed:
    """A changed chart.

    Attributes:
        rows: The rows in which it differs from the true one.
        when: A guard without which it is the true one there; None: it may differ whenever.
    """

    quick: QuickChart
    rows: frozenset[Row]
    when: Tests | None = None


@dataclass(slots=True)
class _Group:
    when: Tests | None
    names: list[str]


class RowIndex:
    """Changed charts by the rows in which they differ from the true one.

    Args:
        truth: The true chart.
        charts: The changed charts by name.
    """

    def __init__(self, truth: QuickChart, charts: Mapping[str, Changed]) -> None:
        self.charts = dict(charts)
        self._truth = truth
        groups: dict[Row, dict[int, _Group]] = {}
        for name, one in self.charts.items():
            for row in one.rows:
                # Many share one guard, so that they are passed over together.
                group = groups.setdefault(row, {}).setdefault(id(one.when), _Group(one.when, []))
                group.names.append(name)
        self._groups = {row: list(found.values()) for row, found in groups.items()}

    def differing(self, points: Iterable[Point]) -> list[str]:
        """Return the charts that find another outcome in some row of these microsteps."""
        found: set[str] = set()
        for point in dict.fromkeys(points):
            _, configuration, bits = point
            for row in rows_of(point):
                for group in self._groups.get(row, ()):
                    if group.when is None or holds(group.when, configuration, bits):
                        found.update(self._differing(group, row, point, found))
        return [name for name in self.charts if name in found]

    def _differing(self, group: _Group, row: Row, point: Point, found: set[str]) -> Iterable[str]:
        _, configuration, bits = point
        true = self._truth.outcome(row, configuration, bits)
        return [
            name
            for name in group.names
            if name not in found
            and self.charts[name].quick.outcome(row, configuration, bits) != true
        ]
