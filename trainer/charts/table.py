"""The machines compiled into a table, for exploration and bulk work.

Read off the `transitions` machines themselves, not off the file, so that there is one source of
truth; a test fires the real machines on every row. A microstep here takes a cube of valuations
and returns one leaf for each way it can go.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from trainer.charts.cubes import FREE, Cube, CubeSpace, decide_guard, meet
from trainer.charts.guard import Configuration, regions_in
from trainer.charts.machine import AUTOMATIC, MAXIMUM_ROUNDS, ModeMachine, UnsettledError
from trainer.charts.spec import RefusalSpec, RuleSpec

Guarded = TypeVar("Guarded", RuleSpec, RefusalSpec)

Cells = tuple[tuple[Cube, RuleSpec | None], ...]
"""For one region: disjoint cubes that cover all valuations, and the rule that fires in each."""


Way = tuple[Cube, Configuration, tuple[RuleSpec, ...]]
"""One way of a microstep: for these valuations, to there, by these rules."""


@dataclass(slots=True)
class Leaf:
    """One way a macrostep can go: for the valuations of `cube`, to `configuration`."""

    cube: Cube
    configuration: Configuration
    fired: tuple[RuleSpec, ...]
    rounds: int
    refusal: RefusalSpec | None = None


class Table:
    """Rows (event, region, state) -> rules in order, with cells cached by what guards read."""

    def __init__(self, machine: ModeMachine) -> None:
        self.machine = machine
        self.space = CubeSpace(machine.chart, machine.signal_bit)
        self.rows: dict[tuple[str, int, str], tuple[RuleSpec, ...]] = {}
        for index, one in enumerate(machine.machines):
            for event, entry in one.events.items():
                for state, transitions in entry.transitions.items():
                    rules = tuple(t.conditions[0].func.__self__.rule for t in transitions)
                    self.rows[event, index, str(state)] = rules
        self._reads: dict[tuple[str, int, str], tuple[int, ...]] = {
            key: self._regions_read(rules) for key, rules in self.rows.items()
        }
        self._cells: dict[tuple[str, int, str, tuple[str, ...]], Cells] = {}
        self._known_ways: dict[tuple[str, Configuration], list[Way]] = {}
        self._known_parts: dict[tuple[Configuration, Cube], list[Way]] = {}
        self._known_ends: dict[Configuration, list[Leaf]] = {}
        self._refusal_cells: dict[
            tuple[str, tuple[str, ...]], tuple[tuple[Cube, RefusalSpec | None], ...]
        ] = {}
        self._refusals = {
            event: [r for r in machine.chart.refusals.values() if event in r.events]
            for event in machine.chart.events
        }

    def _regions_read(self, rules: tuple[RuleSpec, ...]) -> tuple[int, ...]:
        names = frozenset().union(*(regions_in(rule.guard) for rule in rules))
        return tuple(sorted(self.machine.region_index[name] for name in names))

    def cells(self, event: str, index: int, configuration: Configuration) -> Cells:
        """Return the cells of one region for an event in a configuration."""
        row = (event, index, configuration[index])
        rules = self.rows.get(row)
        if not rules:
            return ((FREE, None),)
        read = tuple(configuration[i] for i in self._reads[row])
        key = (*row, read)
        known = self._cells.get(key)
        if known is None:
            known = self._cells[key] = self._divide(rules, configuration)
        return known

    def _divide(
        self, parts: Sequence[Guarded], configuration: Configuration
    ) -> tuple[tuple[Cube, Guarded | None], ...]:
        """Return disjoint cubes that cover all valuations, each with the first part that holds."""
        cells: list[tuple[Cube, Guarded | None]] = []
        rest: list[Cube] = [FREE]
        for part in parts:
            decide = decide_guard(
                part.guard, configuration, self.machine.region_index, self.machine.signal_bit
            )
            left: list[Cube] = []
            for cube in rest:
                true, false = self.space.split(decide, cube)
                cells.extend((one, part) for one in true)
                left.extend(false)
            rest = left
        cells.extend((cube, None) for cube in rest)
        return tuple(cells)

    def microstep(self, configuration: Configuration, cube: Cube, event: str) -> list[Way]:
        """Return every way one microstep can go for the valuations of a cube."""
        ways = self._ways(event, configuration)
        return ways if cube == FREE else _under(ways, cube)

    def _automatic(self, configuration: Configuration, cube: Cube) -> list[Way]:
        """Return every way the signals alone can move it; most are asked for several times."""
        if cube == FREE:
            return self._ways(AUTOMATIC, configuration)
        key = (configuration, cube)
        known = self._known_parts.get(key)
        if known is None:
            ways = self._ways(AUTOMATIC, configuration)
            known = self._known_parts[key] = _under(ways, cube)
        return known

    def _ways(self, event: str, configuration: Configuration) -> list[Way]:
        key = (event, configuration)
        known = self._known_ways.get(key)
        if known is None:
            known = self._known_ways[key] = self._build_ways(event, configuration)
        return known

    def _build_ways(self, event: str, configuration: Configuration) -> list[Way]:
        ways: list[tuple[Cube, tuple[tuple[int, RuleSpec], ...]]] = [(FREE, ())]
        for index in range(len(configuration)):
            cells = self.cells(event, index, configuration)
            if len(cells) == 1 and cells[0][1] is None:
                continue
            ways = [
                (
                    (one[0] | part[0], one[1] | part[1]),
                    (*fired, (index, rule)) if rule is not None else fired,
                )
                for one, fired in ways
                for part, rule in cells
                if not (one[0] & part[1] or one[1] & part[0])
            ]
        return [_apply(configuration, one, fired) for one, fired in ways]

    def settle(self, configuration: Configuration, cube: Cube) -> list[Leaf]:
        """Return every settled end for the valuations of a cube.

        Raises:
            UnsettledError: Automatic rules that never come to rest.
        """
        known = self._known_ends.get(configuration)
        if cube == FREE:
            if known is None:
                known = self._ends(configuration, FREE)
                self._known_ends[configuration] = known
            return known
        if known is None:
            # On the way somewhere: what it does under other valuations may never be asked.
            return self._ends(configuration, cube)
        true, false = cube
        return [
            Leaf(
                (leaf.cube[0] | true, leaf.cube[1] | false),
                leaf.configuration,
                leaf.fired,
                leaf.rounds,
            )
            for leaf in known
            if not (leaf.cube[0] & false or leaf.cube[1] & true)
        ]

    def _ends(self, configuration: Configuration, cube: Cube) -> list[Leaf]:
        ends: list[Leaf] = []
        self._follow(Leaf(cube, configuration, (), 0), ends)
        return ends

    def _follow(self, leaf: Leaf, ends: list[Leaf]) -> None:
        """Go on from a place on the way until it rests, and add every end."""
        if leaf.rounds > MAXIMUM_ROUNDS:
            raise UnsettledError(tuple(dict.fromkeys(rule.id for rule in leaf.fired[-20:])))
        for part, after, rules in self._automatic(leaf.configuration, leaf.cube):
            if rules:
                self._follow(Leaf(part, after, leaf.fired + rules, leaf.rounds + 1), ends)
            else:
                ends.append(Leaf(part, after, leaf.fired, leaf.rounds))

    def send(
        self, configuration: Configuration, cube: Cube, event: str, *, at_rest: bool = True
    ) -> Iterator[Leaf]:
        """Yield every end of an event for the valuations of a cube.

        Args:
            configuration: Where it starts.
            cube: The valuations; with `at_rest` those in which the configuration is settled.
            event: The event.
            at_rest: False for a selector, whose act changes signals as well.
        """
        for part, refusal in self.refusal_cells(event, configuration):
            both = meet(cube, part)
            if both is None:
                continue
            if refusal is not None:
                yield Leaf(both, configuration, (), 0, refusal)
                continue
            for one, after, rules in self.microstep(configuration, both, event):
                if at_rest and not rules:
                    yield Leaf(one, after, (), 0)
                    continue
                for leaf in self.settle(after, one):
                    yield Leaf(leaf.cube, leaf.configuration, rules + leaf.fired, leaf.rounds)

    def refusal_cells(
        self, event: str, configuration: Configuration
    ) -> tuple[tuple[Cube, RefusalSpec | None], ...]:
        """Return disjoint cubes that cover all valuations, and the refusal that stands in each."""
        key = (event, configuration)
        known = self._refusal_cells.get(key)
        if known is None:
            refusals = self._refusals[event]
            known = self._refusal_cells[key] = self._divide(refusals, configuration)
        return known


def _under(ways: list[Way], cube: Cube) -> list[Way]:
    """Return the ways that can be gone for valuations of a cube."""
    # Written out instead of calling `meet`: this loop decides how long an exploration takes.
    true, false = cube
    return [
        ((part[0] | true, part[1] | false), after, rules)
        for part, after, rules in ways
        if not (part[0] & false or part[1] & true)
    ]


def _apply(
    configuration: Configuration, cube: Cube, fired: tuple[tuple[int, RuleSpec], ...]
) -> Way:
    if not fired:
        return cube, configuration, ()
    after = list(configuration)
    rules = []
    for index, rule in fired:
        after[index] = rule.target
        rules.append(rule)
    return cube, tuple(after), tuple(rules)
