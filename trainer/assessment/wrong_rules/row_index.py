"""Finds those of many changed charts that an answer may depend on, without running them all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trainer.charts.kernel import Entry, Kernel, Point, Row, Tests, holds, rows_of


@dataclass(frozen=True, slots=True)
class Changed:
    """A changed chart.

    Attributes:
        rows: The rows in which it differs from the true one.
        when: A guard without which it is the true one there; None: it may differ whenever.
    """

    kernel: Kernel
    rows: frozenset[Row]
    when: Tests | None = None


@dataclass(slots=True)
class _Group:
    when: Tests | None
    charts: list[tuple[str, tuple[Entry, ...]]]


_MOST_REMEMBERED = 20_000
"""Microsteps whose differing charts are remembered."""


class RowIndex:
    """Changed charts by the rows in which they differ from the true one.

    Args:
        truth: The true chart.
        charts: The changed charts by name.
    """

    def __init__(self, truth: Kernel, charts: Mapping[str, Changed]) -> None:
        self.charts = dict(charts)
        self._order = {name: number for number, name in enumerate(self.charts)}
        self._truth = truth
        self._remembered: dict[Point, frozenset[str]] = {}
        groups: dict[Row, dict[int, _Group]] = {}
        for name, one in self.charts.items():
            for row in one.rows:
                # Many share one guard, so that they are passed over together.
                group = groups.setdefault(row, {}).setdefault(id(one.when), _Group(one.when, []))
                group.charts.append((name, one.kernel.entries(row)))
        self._groups = {row: list(found.values()) for row, found in groups.items()}

    def differing(self, points: Iterable[Point]) -> list[str]:
        """Return the charts that find another outcome in some row of these microsteps."""
        found: set[str] = set()
        for point in points:
            names = self._remembered.get(point)
            if names is None:
                names = self._differing(point)
                if len(self._remembered) >= _MOST_REMEMBERED:
                    self._remembered.clear()
                self._remembered[point] = names
            found |= names
        return sorted(found, key=self._order.__getitem__)

    def _differing(self, point: Point) -> frozenset[str]:
        _, configuration, bits = point
        code = self._truth.pack(configuration)
        found: list[str] = []
        # The charts share most guards, as objects: each is looked at once.
        known: dict[int, bool] = {}
        for row in rows_of(point):
            true = self._truth.outcome(row, configuration, bits)
            for group in self._groups.get(row, ()):
                if group.when is not None and not holds(group.when, code, bits):
                    continue
                for name, entries in group.charts:
                    outcome = ""
                    for tests, target, _ in entries:
                        held = known.get(id(tests))
                        if held is None:
                            held = known[id(tests)] = holds(tests, code, bits)
                        if held:
                            outcome = target
                            break
                    if outcome != true:
                        found.append(name)
        return frozenset(found)
