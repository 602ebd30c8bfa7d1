"""Every configuration that an installation can reach, over all events and possible signals.

Signals may change to any physically possible valuation between two events, so what is reached
here includes all that a flight can reach. Breadth first, so that a path is a shortest one.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from trainer.charts.cubes import FREE, Cube, decide_guard, meet
from trainer.charts.guard import Configuration
from trainer.charts.machine import AUTOMATIC, ModeMachine
from trainer.charts.spec import All, ChartSpec, InvariantSpec, Not
from trainer.charts.table import Leaf, Table
from trainer.collecting import no_collecting

Progress = Callable[[int, int], None]
"""Called now and then with the configurations done and those known."""

_PROGRESS_EVERY = 100


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


@dataclass(slots=True)
class Exploration:
    """What an exploration found. Dictionaries are in the order of discovery.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> found = explore(ModeMachine(lamp()))
        >>> [edge.event for edge in found.path(("lit",))]
        ['press']
    """

    chart: ChartSpec
    settled: dict[Configuration, tuple[Cube, ...]] = field(default_factory=dict)
    """Each reachable configuration and the valuations in which it is at rest."""
    edges: list[Edge] = field(default_factory=list)
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


def explore(machine: ModeMachine, progress: Progress | None = None) -> Exploration:
    """Return everything reachable, and every violation of the chart's invariants.

    Raises:
        UnsettledError: Automatic rules that never come to rest.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> found = explore(ModeMachine(lamp()))
        >>> sorted(found.settled), len(found.edges), found.violations, found.dead_rules
        ([('lit',), ('none',)], 4, [], ())
    """
    return Explorer(machine).run(progress)


class Explorer:
    """One exploration; keep it to use its table afterwards.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> explorer = Explorer(ModeMachine(lamp("ignored")))
        >>> explorer.run().fired == {"lights", "fails"}
        True
    """

    def __init__(self, machine: ModeMachine) -> None:
        self.machine = machine
        self.table = Table(machine)
        self.result = Exploration(machine.chart)
        self._queue: deque[Configuration] = deque()

    def run(self, progress: Progress | None = None) -> Exploration:
        """Explore from the initial configuration."""
        self.result.parents[self.machine.initial] = None
        self._queue.append(self.machine.initial)
        with no_collecting():
            while self._queue:
                self._expand(self._queue.popleft())
                done = len(self.result.settled)
                if progress is not None and done % _PROGRESS_EVERY == 0:
                    progress(done, len(self.result.parents))
        return self.result

    def _expand(self, configuration: Configuration) -> None:
        rest = self._let_signals_act(configuration)
        if rest:
            self.result.settled[configuration] = rest
            self._send_all(configuration, rest)
            self._check(configuration, rest)

    def _let_signals_act(self, configuration: Configuration) -> tuple[Cube, ...]:
        """Settle under all valuations; return those that leave the configuration at rest."""
        rest: list[Cube] = []
        found: dict[tuple[Configuration, tuple[str, ...]], Leaf] = {}
        for leaf in self.table.settle(configuration, FREE):
            if leaf.fired:
                self._note(found, leaf)
            else:
                rest.append(leaf.cube)
        self._keep(configuration, AUTOMATIC, found)
        return tuple(rest)

    def _send_all(self, configuration: Configuration, rest: tuple[Cube, ...]) -> None:
        common = (-1, -1)
        for cube in rest:
            common = (common[0] & cube[0], common[1] & cube[1])
        for event, spec in self.machine.chart.events.items():
            found: dict[tuple[Configuration, tuple[str, ...]], Leaf] = {}
            if spec.changes:
                for cube in {self.table.space.freed(cube, spec.changes) for cube in rest}:
                    for leaf in self.table.send(configuration, cube, event, at_rest=False):
                        self._note(found, leaf)
            else:
                for leaf in self.table.send(configuration, common, event):
                    if any(meet(leaf.cube, cube) is not None for cube in rest):
                        self._note(found, leaf)
            self._keep(configuration, event, found)

    def _note(self, found: dict[tuple[Configuration, tuple[str, ...]], Leaf], leaf: Leaf) -> None:
        rules = tuple(rule.id for rule in leaf.fired)
        if leaf.refusal is not None:
            rules = (leaf.refusal.id,)
        found.setdefault((leaf.configuration, rules), leaf)
        self.result.longest_settle = max(self.result.longest_settle, leaf.rounds)

    def _keep(
        self,
        source: Configuration,
        event: str,
        found: dict[tuple[Configuration, tuple[str, ...]], Leaf],
    ) -> None:
        result = self.result
        for (target, rules), leaf in found.items():
            refusal = leaf.refusal.id if leaf.refusal is not None else ""
            edge = Edge(source, event, leaf.cube, target, () if refusal else rules, refusal)
            result.edges.append(edge)
            if refusal:
                result.refused.add(refusal)
            else:
                result.fired.update(rules)
            if target not in result.parents:
                result.parents[target] = edge
                self._queue.append(target)

    def _check(self, configuration: Configuration, rest: tuple[Cube, ...]) -> None:
        for invariant in self.machine.chart.invariants.values():
            decide = decide_guard(
                All((invariant.if_, Not(invariant.then))),
                configuration,
                self.machine.region_index,
                self.machine.signal_bit,
            )
            for cube in rest:
                broken, _ = self.table.space.split(decide, cube)
                if broken:
                    self._violate(invariant, configuration, broken[0])
                    break

    def _violate(self, invariant: InvariantSpec, configuration: Configuration, cube: Cube) -> None:
        known = {violation.invariant.id for violation in self.result.violations}
        if invariant.id in known:
            return
        signals = self.machine.signal_names(self.table.space.valuation(cube))
        path = self.result.path(configuration)
        self.result.violations.append(
            Violation(invariant, configuration, signals, path, tuple(self.machine.signal_bit))
        )
