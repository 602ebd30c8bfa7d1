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

Step = tuple[Configuration | None, tuple[str, ...]]
"""The configuration after a microstep, None if no rule fires, and what each region moves to."""

_MOST_REMEMBERED = 20_000
"""Microsteps that a chart remembers: its variants ask for the same ones again and again."""


class QuickChart:
    """A specialised chart as rows of compiled guards.

    Args:
        chart: The specialised chart.
        signal_bit: Bit of each signal, as in the machine's.
        like: One of the same shape and bits, that shares most rules: they aren't compiled again.
    """

    def __init__(
        self, chart: ChartSpec, signal_bit: Mapping[str, int], like: QuickChart | None = None
    ) -> None:
        self.chart = chart
        self._index = {name: index for index, name in enumerate(chart.regions)}
        self._signal_bit = signal_bit
        self._states = {r.id: frozenset(r.states) for r in chart.regions.values()}
        self._rows: dict[Row, list[Entry]] = {}
        self._base: QuickChart | None = None
        self._own: dict[str, list[tuple[int, str, list[Entry]]]] = {}
        self._remembered: dict[Point, Step] = {}
        self.guards: dict[str, Tests] = {}
        self._texts: dict[Row, tuple[object, ...]] = {}
        for rule in ordered_rules(chart.rules):
            index = self._index[rule.region]
            known = None if like is None else like.chart.rules.get(rule.id)
            if like is not None and known is not None and known.guard == rule.guard:
                tests = like.guards[rule.id]
            else:
                tests = self._compile(rule.guard)
            self.guards[rule.id] = tests
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

    def row_texts(self, rows: Iterable[Row]) -> frozenset[tuple[Row, tuple[object, ...]]]:
        """Return what stands in some rows, to compare charts by."""
        return frozenset((row, self._texts.get(row, ())) for row in rows)

    def overlaid(self, other: QuickChart, rows: frozenset[Row]) -> QuickChart:
        """Return this chart with some rows taken from another one of the same shape."""
        made = self.with_rows({row: other.entries(row) for row in rows})
        made._texts = {**self._texts, **{row: other._texts.get(row, ()) for row in rows}}
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
        made.vary(self, frozenset(rows))
        return made

    def vary(self, base: QuickChart, rows: frozenset[Row]) -> None:
        """Take all but these rows from a chart of the same shape, with what it remembers."""
        self._base, self._remembered = base, {}
        self._own = {}
        for row in rows:
            if row[1] != REFUSALS:
                own = self._own.setdefault(row[0], [])
                own.append((row[1], row[2], self._rows.get(row, [])))

    def forced(self, row: Row, outcome: str) -> QuickChart:
        """Return this chart with one row that always leads to the same; empty: to nothing."""
        return self.with_rows({row: [((ALWAYS,), outcome)] if outcome else []})

    def outcome(self, row: Row, configuration: Configuration, bits: int) -> str:
        """Return what a row leads to: a state, a refusal's id, or an empty text for nothing."""
        return first_held(self._rows.get(row, ()), configuration, bits)

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
        """Return the configuration after an event in a configuration at rest, settled again.

        Of `automatic`, that to which signals alone lead.
        """
        if event == AUTOMATIC:
            return self.settle(configuration, bits)
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
        """Return the microsteps that several events lead through, each settled before the next.

        The first comes before the logic has settled with the signals: who turns a selector changes
        them in the same moment.
        """
        found: list[Point] = []
        for event in events:
            found.extend(self.points(found[-1][1] if found else configuration, bits, event))
        return found

    def _microstep(
        self, configuration: Configuration, bits: int, event: str
    ) -> Configuration | None:
        """Return the configuration after one microstep, or None if no rule fires."""
        return self._step((event, configuration, bits))[0]

    def _step(self, point: Point) -> Step:
        """Return a microstep; of a variant, that of its base but for the rows of its own."""
        if self._base is not None:
            return self._varied(point, self._base._step(point))
        step = self._remembered.get(point)
        if step is None:
            event, configuration, bits = point
            moves = tuple(
                self.outcome((event, index, state), configuration, bits)
                for index, state in enumerate(configuration)
            )
            step = _moved(configuration, moves)
            if len(self._remembered) >= _MOST_REMEMBERED:
                self._remembered.clear()
            self._remembered[point] = step
        return step

    def _varied(self, point: Point, step: Step) -> Step:
        event, configuration, bits = point
        moves: list[str] | None = None
        for index, state, entries in self._own.get(event, ()):
            if configuration[index] == state:
                move = first_held(entries, configuration, bits)
                if move != step[1][index]:
                    moves = moves or list(step[1])
                    moves[index] = move
        return step if moves is None else _moved(configuration, tuple(moves))


def _moved(configuration: Configuration, moves: tuple[str, ...]) -> Step:
    if not any(moves):
        return None, moves
    return tuple(to or state for to, state in zip(moves, configuration, strict=True)), moves


def rows_of(point: Point) -> list[Row]:
    """Return the rows that a microstep looks at, its refusals first."""
    event, configuration, _ = point
    rows: list[Row] = [(event, index, state) for index, state in enumerate(configuration)]
    return rows if event == AUTOMATIC else [(event, REFUSALS, ""), *rows]


def first_held(entries: Iterable[Entry], configuration: Configuration, bits: int) -> str:
    """Return what the first entry whose guard holds leads to, or an empty text."""
    for tests, target in entries:
        if holds(tests, configuration, bits):
            return target
    return ""


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
