"""Finds those of many changed charts that an answer may depend on, without running them all.

In one configuration most changed rows come to the same as the true one, and many of the others to
the same as each other. So the charts are gathered once for each event and configuration, and only
what is left is looked at for the signals of a moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from trainer.charts.kernel import Entry, Kernel, Point, Row, Tests


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


_Flat = tuple[tuple[int, int, int, str], ...]
"""The tests of a row's entries one after the other, each with what it leads to."""

_Left = tuple[tuple[int, int, str], ...]
"""What is left of a row in a configuration: masks and values of signals, and what they lead to."""

_Gathered = tuple[_Left, tuple[tuple[_Left, int], ...]]
"""Of a row: what is left of the true chart's, and of others', each with their charts as bits."""


class RowIndex:
    """Changed charts by the rows in which they differ from the true one.

    Args:
        truth: The true chart.
        charts: The changed charts by name.
    """

    def __init__(self, truth: Kernel, charts: Mapping[str, Changed]) -> None:
        self.charts = dict(charts)
        self._truth = truth
        self._names = tuple(charts)
        self._rows: dict[Row, dict[Tests | None, list[tuple[int, _Flat]]]] = {}
        for number, one in enumerate(charts.values()):
            for row in one.rows:
                # Many share one guard, so that they are passed over together.
                group = self._rows.setdefault(row, {}).setdefault(one.when, [])
                group.append((1 << number, _flat(one.kernel.entries(row))))
        self._programs: dict[tuple[str, int], tuple[_Gathered, ...]] = {}
        self._found: dict[Point, int] = {}

    def differing(self, points: Iterable[Point]) -> list[str]:
        """Return the charts that find another outcome in some row of these microsteps, in order."""
        return [self._names[number] for number in numbers(self.differing_bits(points))]

    def differing_bits(self, points: Iterable[Point]) -> int:
        """Return them as bits, the first chart's lowest."""
        found = 0
        for point in points:
            known = self._found.get(point)
            if known is None:
                known = self._found[point] = self._at(point)
            found |= known
        return found

    def _at(self, point: Point) -> int:
        event, code, bits = point
        program = self._programs.get((event, code))
        if program is None:
            program = self._programs[event, code] = tuple(self._gathered(event, code))
        found = 0
        for true, others in program:
            outcome = _first(true, bits)
            for left, charts in others:
                if _first(left, bits) != outcome:
                    found |= charts
        return found

    def _gathered(self, event: str, code: int) -> Iterable[_Gathered]:
        for row in self._truth.rows_of(event, code):
            true = _left(_flat(self._truth.entries(row)), code)
            others: dict[_Left, int] = {}
            for when, charts in self._rows.get(row, {}).items():
                if when is not None and all(code & test.barred for test in when):
                    continue
                for chart, tests in charts:
                    left = _left(tests, code)
                    if left != true:
                        others[left] = others.get(left, 0) | chart
            if others:
                yield true, tuple(others.items())


def _flat(entries: Iterable[Entry]) -> _Flat:
    return tuple((*test, leads_to) for tests, leads_to, _ in entries for test in tests)


def _left(flat: _Flat, code: int) -> _Left:
    return tuple(
        (mask, value, leads_to) for barred, mask, value, leads_to in flat if not code & barred
    )


def _first(left: _Left, bits: int) -> str:
    for mask, value, leads_to in left:
        if bits & mask == value:
            return leads_to
    return ""


def numbers(bits: int) -> Iterator[int]:
    """Yield the numbers of the bits that are set, from the lowest.

    Example:
        >>> list(numbers(0b1010))
        [1, 3]
    """
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest
