"""Proves that a changed rule changes nothing: same outcome wherever the chart can go.

The true chart is explored once with every microstep noted. A mutant can differ only in macrosteps
that pass a microstep in which its rule's row answers otherwise; those are compared, for all
valuations in which the chart can be. If none differs, what is reachable is the same too, so nothing
ever differs.
"""

from __future__ import annotations

from trainer.charts.table import Leaf, Table

from tests.helpers.charts import machine_for
from tests.helpers.mutants import Mutant
from trainer.charts.cubes import FREE, Cube, meet
from trainer.charts.explore import Explorer
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, UnsettledError
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec, RuleSpec

Macrostep = tuple[Configuration, str]
Signature = tuple[Configuration, str, tuple[str, ...], tuple[tuple[str, str], ...]]


class _NotingTable(Table):
    """A table that notes which configurations each settling passes."""

    def __init__(self, machine: ModeMachine) -> None:
        super().__init__(machine)
        self.passed: dict[Configuration, set[Configuration]] = {}
        self._top: Configuration = machine.initial

    def _ends(self, configuration: Configuration, cube: Cube) -> list[Leaf]:
        self._top = configuration
        return super()._ends(configuration, cube)

    def _follow(self, leaf: Leaf, ends: list[Leaf]) -> None:
        self.passed.setdefault(self._top, set()).add(leaf.configuration)
        super()._follow(leaf, ends)


class Equivalence:
    """What is reachable under some options, ready to compare mutants with."""

    def __init__(self, chart: ChartSpec, options: dict[str, str]) -> None:
        self.options = options
        self.machine = machine_for(chart, options)
        explorer = Explorer(self.machine)
        self.table = explorer.table = _NotingTable(self.machine)
        self.rest = explorer.run().settled
        self._to: dict[Configuration, set[Macrostep]] = {}
        for source in self.rest:
            self._to.setdefault(source, set()).add((source, AUTOMATIC))
            for event in self.machine.chart.events:
                for _, after, _ in self.table.microstep(source, FREE, event):
                    self._to.setdefault(after, set()).add((source, event))

    def difference(self, mutant: Mutant) -> str:
        """Return where the mutant differs from the true chart, or an empty text: nowhere."""
        table = Table(machine_for(mutant.spoiled, self.options))
        for configuration, event in self._suspects(mutant, table):
            try:
                found = self._compare(table, configuration, event)
            except UnsettledError as error:
                return str(error)
            if found:
                return found
        return ""

    def _suspects(self, mutant: Mutant, table: Table) -> set[Macrostep]:
        """Return the macrosteps that pass a microstep in which the changed row acts otherwise."""
        rule = mutant.original
        events = [event for event in rule.events if event in self.machine.chart.events]
        if not isinstance(rule, RuleSpec):
            return {(one, event) for one in self.rest for event in events}
        index = self.machine.region_index[rule.region]

        def differs(event: str, configuration: Configuration) -> bool:
            return bool(
                _differing(
                    self.table.cells(event, index, configuration),
                    table.cells(event, index, configuration),
                )
            )

        if rule.events:
            return {(one, event) for event in events for one in self.rest if differs(event, one)}
        visited = set().union(*self.table.passed.values())
        changed = {one for one in visited if differs(AUTOMATIC, one)}
        dirty = [top for top, passed in self.table.passed.items() if passed & changed]
        return {macrostep for top in dirty for macrostep in self._to.get(top, ())}

    def _compare(self, table: Table, configuration: Configuration, event: str) -> str:
        for cube, rest in self._starts(configuration, event):
            mine, theirs = (
                {
                    leaf.cube: _signature(self.machine, configuration, leaf)
                    for leaf in self._leaves(one, configuration, cube, event)
                }
                for one in (self.table, table)
            )
            # Cubes are disjoint, so one that both have meets no other.
            same = [one for one, seen in mine.items() if theirs.get(one) == seen]
            for one in same:
                del mine[one], theirs[one]
            for one, seen in mine.items():
                for other, found in theirs.items():
                    both = meet(one, other)
                    if both is None or seen == found:
                        continue
                    if any(meet(both, part) is not None for part in rest):
                        names = self.machine.signal_names(both[0])
                        return f"{configuration} {event} {names}: {seen} became {found}"
        return ""

    def _starts(
        self, configuration: Configuration, event: str
    ) -> list[tuple[Cube, tuple[Cube, ...]]]:
        """Return the valuations to send an event in, and which of them can be."""
        if event == AUTOMATIC:
            return [(FREE, (FREE,))]
        rest = self.rest[configuration]
        changes = self.machine.chart.events[event].changes
        if changes:
            freed = {self.table.space.freed(cube, changes) for cube in rest}
            return [(cube, (cube,)) for cube in freed]
        return [(_common(rest), rest)]

    def _leaves(
        self, table: Table, configuration: Configuration, cube: Cube, event: str
    ) -> list[Leaf]:
        if event == AUTOMATIC:
            return table.settle(configuration, cube)
        at_rest = not self.machine.chart.events[event].changes
        return list(table.send(configuration, cube, event, at_rest=at_rest))


def _common(cubes: tuple[Cube, ...]) -> Cube:
    true, false = -1, -1
    for cube in cubes:
        true, false = true & cube[0], false & cube[1]
    return true, false


def _differing(
    mine: tuple[tuple[Cube, RuleSpec | None], ...], theirs: tuple[tuple[Cube, RuleSpec | None], ...]
) -> list[Cube]:
    return [
        both
        for one, rule in mine
        for two, other in theirs
        if (both := meet(one, two)) is not None and _acts(rule) != _acts(other)
    ]


def _acts(rule: RuleSpec | None) -> tuple[object, ...]:
    return () if rule is None else (rule.target, rule.effects, rule.by)


def _signature(machine: ModeMachine, source: Configuration, leaf: Leaf) -> Signature:
    """Return all that can be seen of an outcome once it has come to rest.

    That is where it ends, the refusal, the effects of each region's last move, and who moved each
    region that is elsewhere than before; references taken for a state that was only passed through
    guide nothing.
    """
    states = list(source)
    effects: dict[str, tuple[str, ...]] = {}
    causes: dict[str, str] = {}
    for rule in leaf.fired:
        index = machine.region_index[rule.region]
        entered = states[index] != rule.target
        enter = machine.chart.regions[rule.region].states[rule.target].enter
        effects[rule.region] = (*(enter if entered else ()), *rule.effects)
        if entered:
            causes[rule.region] = rule.by
        states[index] = rule.target
    for region in tuple(causes):
        if states[machine.region_index[region]] == source[machine.region_index[region]]:
            del causes[region]
    refusal = leaf.refusal.reason if leaf.refusal is not None else ""
    done = sorted(one for part in effects.values() for one in part)
    return leaf.configuration, refusal, tuple(done), tuple(sorted(causes.items()))
