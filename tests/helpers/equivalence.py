"""Proves that a changed rule changes nothing: same outcome wherever the chart can go.

The true chart is explored once with every microstep noted. A mutant can differ only in macrosteps
that pass a microstep in which a changed row answers otherwise; those are compared, for all
valuations in which the chart can be. If none differs, what is reachable is the same too, so nothing
ever differs.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from tests.helpers.charts import machine_for
from tests.helpers.mutants import Mutant
from trainer.charts.cubes import Cube, CubeSpace, meet
from trainer.charts.explore import Edges, Exploration, Explorer
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, REFUSALS, Entry, Kernel, Row, UnsettledError
from trainer.charts.spec import ChartSpec, RuleSpec
from trainer.charts.symbolic import Array, Symbolic, Ways, first_of_each, met_by

AT_ONCE = 200
Signature = tuple[Configuration, str, tuple[str, ...], tuple[tuple[str, str], ...]]
Cells = list[tuple[Cube, tuple[object, ...]]]


class _Noting(Symbolic):
    """Notes which configurations each settling passes, and where events lead before it."""

    def __init__(self, kernel: Kernel) -> None:
        super().__init__(kernel)
        self.passed: set[tuple[int, int]] = set()
        """A settling begins at the first place and passes the second."""
        self.led: set[tuple[str, int, int]] = set()
        """An event at the first place leads to the second in its own microstep."""
        self._tops = np.zeros(0, dtype=np.int64)

    def settle(self, ways: Ways) -> Ways:
        origins, self._tops = ways.origin, ways.place
        ends = super().settle(replace(ways, origin=np.arange(len(ways))))
        ends.origin = origins[ends.origin]
        return ends

    def _microstep(self, event: str, ways: Ways) -> tuple[Ways, Array]:
        places = ways.place
        if event == AUTOMATIC:
            self.passed.update(_pairs(self._tops[ways.origin], places))
        after, origins = super()._microstep(event, ways)
        if event != AUTOMATIC:
            pairs = _pairs(places[origins], after.place)
            self.led.update((event, source, target) for source, target in pairs)
        return after, origins


def _pairs(left: Array, right: Array) -> list[tuple[int, int]]:
    return [(pair >> 32, pair & 0xFFFFFFFF) for pair in np.unique(left << 32 | right).tolist()]


class Equivalence:
    """What is reachable under some options, ready to compare mutants with."""

    def __init__(self, chart: ChartSpec, options: dict[str, str]) -> None:
        self.options = options
        self.kernel = machine_for(chart, options).kernel
        explorer = Explorer(self.kernel)
        self.symbolic = explorer.symbolic = _Noting(self.kernel)
        explorer.result = Exploration(self.kernel.chart, Edges(self.symbolic))
        self.rest = explorer.run().settled
        self.selectors = {e.id: e.changes for e in self.kernel.chart.events.values() if e.changes}

    def difference(self, mutant: Mutant) -> str:
        """Return where the mutant differs from the true chart, or an empty text: nowhere."""
        other = Symbolic(Kernel(machine_for(mutant.spoiled, self.options).chart, self.kernel))
        try:
            for event, configurations in self._suspects(other.kernel).items():
                for first in range(0, len(configurations), AT_ONCE):
                    part = configurations[first : first + AT_ONCE]
                    found = self._compare(other, event, part)
                    if found:
                        return found
        except UnsettledError as error:
            return str(error)
        return ""

    def _suspects(self, other: Kernel) -> dict[str, list[Configuration]]:
        """Return the macrosteps that pass a microstep in which a changed row acts otherwise."""
        suspects: dict[str, dict[Configuration, None]] = {}
        for row in sorted(self.kernel.differing_rows(other)):
            if row[0] == AUTOMATIC:
                macrosteps = self._passing(other, row)
            else:
                differs = _Differing(self.kernel, other, row)
                macrosteps = [(one, row[0]) for one in self.rest if differs.at(one)]
            for configuration, event in macrosteps:
                suspects.setdefault(event, {})[configuration] = None
        return {event: list(configurations) for event, configurations in suspects.items()}

    def _passing(self, other: Kernel, row: Row) -> list[tuple[Configuration, str]]:
        differs = _Differing(self.kernel, other, row)
        at = self.symbolic.configuration
        visited = {place for _, place in self.symbolic.passed}
        changed = {place for place in visited if differs.at(at(place))}
        dirty = {top for top, place in self.symbolic.passed if place in changed}
        alone = [one for one in self.rest if self.symbolic.place(one) in dirty]
        found = [(one, AUTOMATIC) for one in alone]
        # A refused selector settles too, from where it was turned.
        found += [(one, event) for one in alone for event in self.selectors]
        led = [(at(source), event) for event, source, to in self.symbolic.led if to in dirty]
        return found + [macrostep for macrostep in led if macrostep[0] in self.rest]

    def _compare(self, other: Symbolic, event: str, configurations: list[Configuration]) -> str:
        """Return the first difference of an event in some configurations, or an empty text."""
        begun, cubes = self._starts(event, configurations)
        starts = self.symbolic.start(begun, cubes)
        mine = self._led(self.symbolic, event, starts)
        places = np.array([other.place(one) for one in begun])
        met = met_by(places, mine, partial(self._led, other, event))
        one, two = met.mine, met.theirs
        ends = (one.place, one.fired, one.refusal, two.place, two.fired, two.refusal)
        for row in first_of_each(starts.place[one.origin], *ends).tolist():
            source = begun[int(one.origin[row])]
            seen = _signature(self.symbolic, source, one, row)
            found = _signature(other, source, two, row)
            if seen != found:
                return f"{source} {event} {two.cube(row)}: {seen} became {found}"
        return ""

    def _starts(
        self, event: str, configurations: list[Configuration]
    ) -> tuple[list[Configuration], list[Cube] | None]:
        """Return each configuration with each cube of valuations in which it can be."""
        if event == AUTOMATIC:
            return configurations, None
        space, changes = self.symbolic.space, self.selectors.get(event, ())
        begun = list(
            dict.fromkeys(
                (one, space.freed(cube, changes) if changes else cube)
                for one in configurations
                for cube in self.rest[one]
            )
        )
        return [one for one, _ in begun], [cube for _, cube in begun]

    def _led(self, symbolic: Symbolic, event: str, ways: Ways) -> Ways:
        if event == AUTOMATIC:
            return symbolic.settle(ways)
        return symbolic.send(event, ways, at_rest=event not in self.selectors)


class _Differing:
    """Says in which configurations a row acts otherwise in another kernel."""

    def __init__(self, mine: Kernel, theirs: Kernel, row: Row) -> None:
        self._kernel, self._row = mine, row
        self._space = CubeSpace(mine.chart, mine.signal_bit)
        self._entries = (mine.entries(row), theirs.entries(row))
        self._read = 0
        for entries in self._entries:
            for entry in entries:
                for test in entry.tests:
                    self._read |= test.barred
        self._known: dict[int, bool] = {}

    def at(self, configuration: Configuration) -> bool:
        _, index, state = self._row
        if index != REFUSALS and configuration[index] != state:
            return False
        code = self._kernel.pack(configuration) & self._read
        if code not in self._known:
            mine, theirs = (self._cells(entries, code) for entries in self._entries)
            self._known[code] = any(
                acts != others and meet(one, other) is not None
                for one, acts in mine
                for other, others in theirs
            )
        return self._known[code]

    def _cells(self, entries: tuple[Entry, ...], code: int) -> Cells:
        guards = [
            tuple(test for test in entry.tests if not code & test.barred) for entry in entries
        ]
        return [
            (cube, _acts(entries[number]) if number >= 0 else ())
            for cube, number in self._space.divided(guards)
        ]


def _acts(entry: Entry) -> tuple[object, ...]:
    rule = entry.rule
    return (rule.target, rule.effects, rule.by) if isinstance(rule, RuleSpec) else (rule.reason,)


def _signature(symbolic: Symbolic, source: Configuration, ways: Ways, row: int) -> Signature:
    """Return all that can be seen of an outcome once it has come to rest.

    That is where it ends, the refusal, the effects of each region's last move, and who moved each
    region that is elsewhere than before; references taken for a state that was only passed through
    guide nothing.
    """
    kernel = symbolic.kernel
    states = list(source)
    effects: dict[str, tuple[str, ...]] = {}
    causes: dict[str, str] = {}
    for rule in symbolic.rules(int(ways.fired[row])):
        index = kernel.region_index[rule.region]
        entered = states[index] != rule.target
        enter = kernel.chart.regions[rule.region].states[rule.target].enter
        effects[rule.region] = (*(enter if entered else ()), *rule.effects)
        if entered:
            causes[rule.region] = rule.by
        states[index] = rule.target
    for region in tuple(causes):
        if states[kernel.region_index[region]] == source[kernel.region_index[region]]:
            del causes[region]
    number = int(ways.refusal[row])
    refusal = symbolic.refusals[number].reason if number >= 0 else ""
    done = sorted(one for part in effects.values() for one in part)
    end = symbolic.configuration(int(ways.place[row]))
    return end, refusal, tuple(done), tuple(sorted(causes.items()))
