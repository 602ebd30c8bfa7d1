"""Which of many charts an answer may depend on: those that lead elsewhere in some row on the way.

In one configuration most changed rows come to the same as the true one, and many of the others to
the same as each other. So the charts are gathered once for each event and configuration, and only
what is left is looked at for the signals of a moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from trainer.assessment.items.overlaid import Place
from trainer.assessment.wrong_rules.row_index import Changed
from trainer.charts.kernel import Entry, Kernel, Row, Tests, rows_of

_Left = tuple[tuple[int, int, str], ...]
"""What is left of a row in a configuration: masks and values of signals, and what they lead to."""

_Gathered = tuple[_Left, tuple[tuple[_Left, int], ...]]
"""Of a row: what is left of the true chart's, and of others', each with their charts as bits."""


class Differing:
    """Changed charts by the rows in which they differ from the true one.

    Args:
        truth: The true chart.
        charts: The changed charts by name.
    """

    def __init__(self, truth: Kernel, charts: Mapping[str, Changed]) -> None:
        self._truth = truth
        self._names = tuple(charts)
        self._rows: dict[Row, list[tuple[int, Tests | None, tuple[Entry, ...]]]] = {}
        for number, one in enumerate(charts.values()):
            for row in one.rows:
                held = (1 << number, one.when, one.kernel.entries(row))
                self._rows.setdefault(row, []).append(held)
        self._programs: dict[tuple[str, int], tuple[_Gathered, ...]] = {}
        self._found: dict[Place, int] = {}

    def at(self, places: Iterable[Place]) -> list[str]:
        """Return the charts that find another outcome in some row of these microsteps, in order."""
        found = 0
        for place in places:
            known = self._found.get(place)
            if known is None:
                known = self._found[place] = self._at(place)
            found |= known
        names = []
        while found:
            lowest = found & -found
            names.append(self._names[lowest.bit_length() - 1])
            found ^= lowest
        return names

    def _at(self, place: Place) -> int:
        event, code, bits = place
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
        rest = _Rest(code)
        for row in rows_of((event, self._truth.unpack(code), 0)):
            true = rest.of(self._truth.entries(row))
            others: dict[_Left, int] = {}
            for chart, when, entries in self._rows.get(row, ()):
                if when is None or rest.asked(when):
                    left = rest.of(entries)
                    if left != true:
                        others[left] = others.get(left, 0) | chart
            if others:
                yield true, tuple(others.items())


class _Rest:
    """What is left of rows in a configuration: most tests can't hold there."""

    def __init__(self, code: int) -> None:
        self._code = code
        # The charts share most guards, as objects: each is looked at once.
        self._asked: dict[int, list[tuple[int, int]]] = {}

    def asked(self, tests: Tests) -> list[tuple[int, int]]:
        """Return what a guard asks of the signals, in any way; nothing: it can't hold."""
        asked = self._asked.get(id(tests))
        if asked is None:
            code = self._code
            asked = [(mask, value) for barred, mask, value in tests if not code & barred]
            self._asked[id(tests)] = asked
        return asked

    def of(self, entries: Iterable[Entry]) -> _Left:
        """Return what is left of a row."""
        left: list[tuple[int, int, str]] = []
        for tests, leads_to, _ in entries:
            for mask, value in self.asked(tests):
                left.append((mask, value, leads_to))
                if not mask:  # it holds whatever the signals
                    return tuple(left)
        return tuple(left)


def _first(left: _Left, bits: int) -> str:
    for mask, value, leads_to in left:
        if bits & mask == value:
            return leads_to
    return ""
