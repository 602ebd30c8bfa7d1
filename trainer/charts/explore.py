"""Every configuration that an installation can reach, over all events and possible signals.

Signals may change to any physically possible valuation between two events, so what is reached
here includes all that a flight can reach. Breadth first, so that a path is a shortest one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import overload

import numpy as np

from trainer.charts.cubes import Cube
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, Tests
from trainer.charts.spec import All, ChartSpec, InvariantSpec, Not
from trainer.charts.symbolic import Array, Rests, Symbolic, Ways, first_of_each, joined

Progress = Callable[[int, int], None]
"""Called now and then with the configurations done and those known."""

_AT_ONCE = 250
"""Configurations that are looked at together: enough for arrays, few enough for memory."""


@dataclass(frozen=True, slots=True)
class Edge:
    """One way from a settled configuration: an event (or signals alone) and where it leads."""

    source: Configuration
    event: str
    """`automatic` if the signals alone did it."""
    cube: Cube
    """Valuations for which it goes this way (one of possibly several cubes)."""
    target: Configuration
    rules: tuple[str, ...]
    refusal: str
    """Id of the refusal, or an empty text."""


@dataclass(frozen=True, slots=True)
class Violation:
    """An invariant that doesn't hold somewhere, with the shortest way there."""

    invariant: InvariantSpec
    configuration: Configuration
    signals: tuple[str, ...]
    """Signals that are true where it fails."""
    path: tuple[Edge, ...]
    all_signals: tuple[str, ...]
    """Every signal of the chart, in the order of the cubes' bits."""


class Edges(Sequence[Edge]):
    """Edges kept as columns: half a million of them as objects would take a gigabyte.

    Args:
        symbolic: What numbers their configurations and rules.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> edges = explore(Kernel(lamp())).edges
        >>> edges[0].refusal, edges[-1].event, len(edges) == len(list(edges))
        ('dead', 'press', True)
    """

    def __init__(self, symbolic: Symbolic) -> None:
        self._symbolic = symbolic
        self._events = (AUTOMATIC, *symbolic.kernel.chart.events)
        self._parts: list[tuple[Array, ...]] = []
        self._starts: list[int] = []
        self._count = 0

    def add(self, source: Array, event: Array, ways: Ways) -> None:
        """Add edges.

        Args:
            source: Number of the configuration that each begins in.
            event: Number of its event, 0 for `automatic`.
            ways: Where each leads.
        """
        small = (source, event, ways.place, ways.fired, ways.refusal)
        columns = (*(column.astype(np.int32) for column in small), ways.true, ways.false)
        self._starts.append(self._count)
        self._parts.append(columns)
        self._count += len(ways)

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, index: int) -> Edge: ...
    @overload
    def __getitem__(self, index: slice) -> list[Edge]: ...
    def __getitem__(self, index: int | slice) -> Edge | list[Edge]:
        if isinstance(index, slice):
            return [self[number] for number in range(*index.indices(self._count))]
        number = range(self._count)[index]
        part = bisect_right(self._starts, number) - 1
        row = number - self._starts[part]
        return self._edge([int(column[row]) for column in self._parts[part]])

    def __iter__(self) -> Iterator[Edge]:
        for columns in self._parts:
            for row in zip(*(column.tolist() for column in columns), strict=True):
                yield self._edge(row)

    def _edge(self, row: Sequence[int]) -> Edge:
        source, event, target, fired, refusal, true, false = row
        symbolic = self._symbolic
        return Edge(
            source=symbolic.configuration(source),
            event=self._events[event],
            cube=(true, false),
            target=symbolic.configuration(target),
            rules=() if refusal >= 0 else tuple(rule.id for rule in symbolic.rules(fired)),
            refusal=symbolic.refusals[refusal].id if refusal >= 0 else "",
        )


@dataclass(slots=True)
class Exploration:
    """What an exploration found. Dictionaries are in the order of discovery.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> found = explore(Kernel(lamp()))
        >>> [edge.event for edge in found.path(("lit",))]
        ['press']
    """

    chart: ChartSpec
    edges: Edges
    settled: dict[Configuration, tuple[Cube, ...]] = field(default_factory=dict)
    """Each reachable configuration and the valuations in which it is at rest."""
    parents: dict[Configuration, Edge | None] = field(default_factory=dict)
    longest_settle: int = 0
    fired: set[str] = field(default_factory=set)
    refused: set[str] = field(default_factory=set)
    violations: list[Violation] = field(default_factory=list)

    @property
    def unreachable_states(self) -> tuple[tuple[str, str], ...]:
        """(region, state) pairs that no reachable configuration holds."""
        seen: set[tuple[str, str]] = set()
        for configuration in self.settled:
            seen.update(zip(self.chart.regions, configuration, strict=True))
        return tuple(
            (region.id, state)
            for region in self.chart.regions.values()
            for state in region.states
            if (region.id, state) not in seen
        )

    @property
    def dead_rules(self) -> tuple[str, ...]:
        """Ids of the rules and refusals that never act."""
        rules = [rule for rule in self.chart.rules if rule not in self.fired]
        return (*rules, *(one for one in self.chart.refusals if one not in self.refused))

    def path(self, configuration: Configuration) -> tuple[Edge, ...]:
        """Return a shortest sequence of edges from the initial configuration."""
        steps: list[Edge] = []
        edge = self.parents[configuration]
        while edge is not None:
            steps.append(edge)
            edge = self.parents[edge.source]
        return tuple(reversed(steps))


def explore(kernel: Kernel, progress: Progress | None = None) -> Exploration:
    """Return everything reachable, and every violation of the chart's invariants.

    Raises:
        UnsettledError: Automatic rules that never come to rest.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> found = explore(Kernel(lamp()))
        >>> sorted(found.settled), len(found.edges), found.violations, found.dead_rules
        ([('lit',), ('none',)], 4, [], ())
    """
    return Explorer(kernel).run(progress)


class Explorer:
    """One exploration; keep it to use its cubes afterwards.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> explorer = Explorer(Kernel(lamp("ignored")))
        >>> explorer.run().fired == {"lights", "fails"}
        True
    """

    def __init__(self, kernel: Kernel) -> None:
        self.kernel = kernel
        self.symbolic = Symbolic(kernel)
        self.result = Exploration(kernel.chart, Edges(self.symbolic))
        self._waiting: list[int] = []
        self._events = tuple(kernel.chart.events.values())
        self._broken: list[tuple[InvariantSpec, Tests]] = [
            (invariant, kernel.tests(All((invariant.if_, Not(invariant.then)))))
            for invariant in kernel.chart.invariants.values()
        ]

    def run(self, progress: Progress | None = None) -> Exploration:
        """Explore from the initial configuration."""
        parents = self.result.parents
        parents[self.kernel.initial] = None
        self._waiting.append(self.symbolic.place(self.kernel.initial))
        while self._waiting:
            batch = np.array(self._waiting[:_AT_ONCE])
            del self._waiting[:_AT_ONCE]
            self._expand(batch)
            if progress is not None and self._waiting:
                progress(len(parents) - len(self._waiting), len(parents))
        return self.result

    def _expand(self, places: Array) -> None:
        """Let the signals act on some configurations, then every event where they rest."""
        began = [self.symbolic.configuration(place) for place in places.tolist()]
        ends = self.symbolic.settle(self.symbolic.start_at(places))
        moved = ends.fired > 0
        rests = Rests(ends.take(~moved), len(places))
        parts = [(0, ends.take(moved))]
        for number, event in enumerate(self._events, 1):
            if event.changes:
                parts.append((number, self._turned(event.id, event.changes, rests, places)))
            else:
                start = rests.common()
                parts.append((number, self.symbolic.send(event.id, start, wanted=rests.met)))
        self._keep(places, parts)
        for origin, configuration in enumerate(began):
            cubes = rests.cubes(origin)
            if cubes:
                self.result.settled[configuration] = cubes
        self._check(rests, places)

    def _turned(self, event: str, changes: tuple[str, ...], rests: Rests, places: Array) -> Ways:
        """Return the ends of a selector's event: the signals that it changes are free again."""
        origins, cubes = rests.freed(self.symbolic.space, changes)
        began = self.symbolic.start_at(places[origins], cubes)
        ways = self.symbolic.send(event, began, at_rest=False)
        ways.origin = origins[ways.origin]
        return ways

    def _keep(self, places: Array, parts: list[tuple[int, Ways]]) -> None:
        """Keep one edge for each event, target and rules, in the order of the configurations."""
        ways = joined([part for _, part in parts])
        events = np.concatenate([np.full(len(part), number) for number, part in parts])
        first = first_of_each(ways.origin, events, ways.place, ways.fired, ways.refusal)
        first = first[np.lexsort((first, events[first], ways.origin[first]))]
        kept, events, result = ways.take(first), events[first], self.result
        result.longest_settle = max([result.longest_settle, *ways.rounds.tolist()])
        result.edges.add(places[kept.origin], events, kept)
        for number in np.unique(kept.refusal[kept.refusal >= 0]).tolist():
            result.refused.add(self.symbolic.refusals[number].id)
        for number in np.unique(kept.fired[kept.refusal < 0]).tolist():
            result.fired.update(rule.id for rule in self.symbolic.rules(number))
        self._discover(kept)

    def _discover(self, kept: Ways) -> None:
        base = len(self.result.edges) - len(kept)
        targets, first = np.unique(kept.place, return_index=True)
        for number in np.argsort(first).tolist():
            target = self.symbolic.configuration(int(targets[number]))
            if target not in self.result.parents:
                self.result.parents[target] = self.result.edges[base + int(first[number])]
                self._waiting.append(int(targets[number]))

    def _check(self, rests: Rests, places: Array) -> None:
        known = {violation.invariant.id for violation in self.result.violations}
        for invariant, tests in self._broken:
            if invariant.id not in known:
                self._look_for(invariant, tests, rests, places)

    def _look_for(
        self, invariant: InvariantSpec, tests: Tests, rests: Rests, places: Array
    ) -> None:
        for origin, place in enumerate(places.tolist()):
            configuration = self.symbolic.configuration(place)
            code = self.kernel.pack(configuration)
            for test in tests:
                if code & test.barred:
                    continue
                for cube in rests.cubes(origin):
                    broken = self.symbolic.space.of_test(test, cube)
                    if broken is not None:
                        self._violate(invariant, configuration, broken)
                        return

    def _violate(self, invariant: InvariantSpec, configuration: Configuration, cube: Cube) -> None:
        signals = tuple(
            name
            for name, bit in self.kernel.signal_bit.items()
            if self.symbolic.space.valuation(cube) >> bit & 1
        )
        path = self.result.path(configuration)
        names = tuple(self.kernel.signal_bit)
        self.result.violations.append(Violation(invariant, configuration, signals, path, names))
