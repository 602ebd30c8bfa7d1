"""A chart compiled for bulk work on single valuations: what does this key do here, and now?

Does exactly what `charts.machine` does (a test compares them) without the machinery behind it,
so that a member's belief costs microseconds. Also tells which rows of the chart an answer
depends on, so that a belief that differs in none of them needs no run of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, conjunctions
from trainer.charts.machine import AUTOMATIC, MAXIMUM_ROUNDS, UnsettledError
from trainer.charts.spec import ChartSpec, Guard

Row = tuple[str, int, str]
"""Event or `automatic`, region's number, state."""

Test = tuple[int, int, tuple[tuple[int, frozenset[str]], ...]]
"""Mask and value of the signal bits, and the states that some regions may be in."""

Tests = tuple[Test, ...]
"""A guard: one of its tests must hold."""

Entry = tuple[Tests, str]
"""What a row leads to if a guard holds: a state, or a refusal's id."""

Point = tuple[str, Configuration, int]
"""A microstep: event or `automatic`, configuration before it, signal bits."""

ALWAYS: Test = (0, 0, ())
REFUSALS = -1
"""Stands for a region's number in the row of an event's refusals."""


class QuickChart:
    """A specialised chart as rows of compiled guards.

    Args:
        chart: The specialised chart.
        signal_bit: Bit of each signal, as in the machine's.
    """

    def __init__(self, chart: ChartSpec, signal_bit: Mapping[str, int]) -> None:
        self.chart = chart
        self._index = {name: index for index, name in enumerate(chart.regions)}
        self._signal_bit = signal_bit
        self._states = {r.id: frozenset(r.states) for r in chart.regions.values()}
        self._rows: dict[Row, list[Entry]] = {}
        self.guards: dict[str, Tests] = {}
        self._texts: dict[Row, tuple[object, ...]] = {}
        for rule in ordered_rules(chart.rules):
            index = self._index[rule.region]
            tests = self.guards[rule.id] = self._compile(rule.guard)
            for event in rule.events or (AUTOMATIC,):
                for source in rule.sources:
                    row = (event, index, source)
                    self._rows.setdefault(row, []).append((tests, rule.target))
                    text = (rule.guard, rule.target, rule.effects)
                    self._texts[row] = (*self._texts.get(row, ()), text)
        for refusal in chart.refusals.values():
            tests = self._compile(refusal.guard)
            for event in refusal.events:
                row = (event, REFUSALS, "")
                self._rows.setdefault(row, []).append((tests, refusal.id))
                self._texts[row] = (*self._texts.get(row, ()), refusal.guard)

    def _compile(self, guard: Guard) -> Tests:
        found: list[Test] = []
        for signals, regions in conjunctions(guard, self._states):
            mask = value = 0
            for name, wanted in signals:
                mask |= 1 << self._signal_bit[name]
                value |= wanted << self._signal_bit[name]
            places = tuple((self._index[name], states) for name, states in regions)
            found.append((mask, value, places))
        return tuple(found)

    def differing_rows(self, other: QuickChart) -> frozenset[Row]:
        """Return the rows in which two charts of the same shape differ."""
        rows = self._texts.keys() | other._texts.keys()
        return frozenset(r for r in rows if self._texts.get(r) != other._texts.get(r))

    def overlaid(self, other: QuickChart, rows: frozenset[Row]) -> QuickChart:
        """Return this chart with some rows taken from another one of the same shape."""
        made = copy(self)
        made._rows, made._texts = dict(self._rows), dict(self._texts)
        for row in rows:
            made._rows[row] = other._rows.get(row, [])
            made._texts[row] = other._texts.get(row, ())
        return made

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows of its rules."""
        return tuple(row for row in self._rows if row[1] != REFUSALS)

    def entries(self, row: Row) -> list[Entry]:
        """Return what a row leads to, the first that holds counting."""
        return self._rows.get(row, [])

    def with_rows(self, rows: Mapping[Row, list[Entry]]) -> QuickChart:
        """Return this chart with other entries in some rows."""
        made = copy(self)
        made._rows = {**self._rows, **rows}
        return made

    def forced(self, row: Row, outcome: str) -> QuickChart:
        """Return this chart with one row that always leads to the same; empty: to nothing."""
        return self.with_rows({row: [((ALWAYS,), outcome)] if outcome else []})

    def outcome(self, row: Row, configuration: Configuration, bits: int) -> str:
        """Return what a row leads to: a state, a refusal's id, or an empty text for nothing."""
        for tests, target in self._rows.get(row, ()):
            if holds(tests, configuration, bits):
                return target
        return ""

    def settle(self, configuration: Configuration, bits: int) -> Configuration:
        """Return the configuration at rest.

        Raises:
            UnsettledError: It never comes to rest.
        """
        for _ in range(MAXIMUM_ROUNDS):
            after = self._microstep(configuration, bits, AUTOMATIC)
            if after is None:
                return configuration
            configuration = after
        raise UnsettledError(("a believed rule",))

    def send(self, configuration: Configuration, bits: int, event: str) -> Configuration:
        """Return the configuration after an event in a configuration at rest, settled again."""
        if self.refusal(configuration, bits, event):
            return configuration
        after = self._microstep(configuration, bits, event)
        return configuration if after is None else self.settle(after, bits)

    def send_all(
        self, configuration: Configuration, bits: int, events: Iterable[str]
    ) -> Configuration:
        """Return the configuration after several events, each settled before the next."""
        for event in events:
            configuration = self.send(configuration, bits, event)
        return configuration

    def refusal(self, configuration: Configuration, bits: int, event: str) -> str:
        """Return the id of the refusal that stands against an event, or an empty text."""
        return self.outcome((event, REFUSALS, ""), configuration, bits)

    def is_at_rest(self, configuration: Configuration, bits: int) -> bool:
        """True if no automatic rule is enabled."""
        return self._microstep(configuration, bits, AUTOMATIC) is None

    def points(self, configuration: Configuration, bits: int, event: str) -> list[Point]:
        """Return the microsteps that an event (or `automatic`) leads through, to rest.

        A belief that finds the same outcome in every row of every point gives the same answer.
        """
        found: list[Point] = []
        here = configuration
        if event != AUTOMATIC:
            found.append((event, here, bits))
            if self.refusal(here, bits, event):
                return found
            here = self._microstep(here, bits, event) or here
        for _ in range(MAXIMUM_ROUNDS):
            found.append((AUTOMATIC, here, bits))
            after = self._microstep(here, bits, AUTOMATIC)
            if after is None:
                return found
            here = after
        raise UnsettledError(("a rule of the chart",))

    def points_of_all(
        self, configuration: Configuration, bits: int, events: Iterable[str]
    ) -> list[Point]:
        """Return the microsteps that the signals and then several events lead through."""
        found = self.points(configuration, bits, AUTOMATIC)
        for event in events:
            found.extend(self.points(found[-1][1], bits, event))
        return found

    def _microstep(
        self, configuration: Configuration, bits: int, event: str
    ) -> Configuration | None:
        """Return the configuration after one microstep, or None if no rule fires."""
        after: list[str] | None = None
        rows = self._rows
        for index, state in enumerate(configuration):
            for tests, target in rows.get((event, index, state), ()):
                if holds(tests, configuration, bits):
                    if after is None:
                        after = list(configuration)
                    after[index] = target
                    break
        return None if after is None else tuple(after)


def rows_of(point: Point) -> list[Row]:
    """Return the rows that a microstep looks at, its refusals first."""
    event, configuration, _ = point
    rows: list[Row] = [(event, index, state) for index, state in enumerate(configuration)]
    return rows if event == AUTOMATIC else [(event, REFUSALS, ""), *rows]


def holds(tests: Tests, configuration: Configuration, bits: int) -> bool:
    """Return whether a guard holds."""
    for mask, value, places in tests:
        if bits & mask == value:
            for index, states in places:
                if configuration[index] not in states:
                    break
            else:
                return True
    return False
