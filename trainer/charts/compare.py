"""What differs between two installations: their product walked over all events and signals.

Both ships begin alike. As long as both strips read the same, every event and every physically
possible change of signals is tried on both; where the strips, or the answer to a key, then differ,
that is a difference. What follows a difference is its consequence and not counted again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from trainer.charts.causes import Attribution
from trainer.charts.cubes import FREE, Cube
from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.joint import SECOND, Joint, join
from trainer.charts.machine import AUTOMATIC, ModeMachine
from trainer.charts.meetings import meetings
from trainer.charts.shown import Shown, shown
from trainer.charts.table import Leaf, Table
from trainer.collecting import no_collecting

Pair = tuple[Configuration, Configuration]


@dataclass(frozen=True, slots=True)
class Move:
    """One step on the way to a difference: an event, or signals alone, for some valuations."""

    event: str
    cube: Cube


@dataclass(frozen=True, slots=True)
class Side:
    """What one ship does at a difference."""

    shown: Shown
    rules: tuple[str, ...]
    refusal: str


@dataclass(frozen=True, slots=True)
class Difference:
    """Situations in which the same action or moment reads differently, seen once as an example.

    `causes` are options, limits or fitted modes, as `option:NAME`, `limit:NAME` or `fitted:EVENT`.

    Example:
        >>> dark, lit = (("lamp", "none"),), (("lamp", "lit"),)
        >>> sides = Side(dark, ("goes_off",), ""), Side(lit, (), "")
        >>> cause, cube = ("option:key_again",), (0, 0)
        >>> one = Difference(cause, "press", lit, ((), ()), cube, *sides, (), (lit,))
        >>> one.contrast, one.situations
        ((('lamp', 'none', 'lit'),), 1)
    """

    causes: tuple[str, ...]
    event: str
    before: Shown
    configurations: Pair
    cube: Cube
    first: Side
    second: Side
    path: tuple[Move, ...]
    befores: tuple[Shown, ...]
    """What both strips read before it, each once, the nearest first."""

    @property
    def situations(self) -> int:
        """How many different strips this same difference can follow."""
        return len(self.befores)

    @property
    def contrast(self) -> tuple[tuple[str, str, str], ...]:
        """(region, state in the first ship, state in the second) where they read differently.

        Empty if a key is refused in one ship only, or for another reason.
        """
        if self.first.refusal != self.second.refusal:
            return ()
        return tuple(
            (region, mine, theirs)
            for (region, mine), (_, theirs) in zip(self.first.shown, self.second.shown, strict=True)
            if mine != theirs
        )


@dataclass(frozen=True, slots=True)
class ValueDifference:
    """An option or limit that differs without changing what the strip reads: how it flies."""

    cause: str
    first: str
    second: str


@dataclass(slots=True)
class Comparison:
    """The whole of what was found, and how much was compared."""

    first: str
    second: str
    signals: tuple[str, ...]
    differences: list[Difference] = field(default_factory=list)
    values: list[ValueDifference] = field(default_factory=list)
    unseen: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Events that read the same and do something else -> the rules that only one ship fires."""
    states: int = 0
    transitions: int = 0
    is_complete: bool = False


def compare(
    first: Installation,
    second: Installation,
    progress: Callable[[int, int], None] | None = None,
) -> Comparison:
    """Return every difference between two installations.

    Raises:
        NotComparableError: They don't come from the same chart.
        UnsettledError: Automatic rules of one of them never come to rest.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> from trainer.charts.installation import OptionValue
        >>> def ship(name: str, choice: str) -> Installation:
        ...     options = {"key_again": OptionValue("key_again", choice)}
        ...     return Installation(name, name, "", "", lamp(choice), lamp(), options, {})
        >>> found = compare(ship("old", "off"), ship("new", "ignored"))
        >>> [(one.causes, one.event, one.contrast) for one in found.differences]
        [(('option:key_again',), 'press', (('lamp', 'none', 'lit'),))]
        >>> found.states, found.is_complete
        (2, True)
    """
    return _Walk(first, second, join(first, second)).run(progress)


class _Walk:
    """One walk of the product."""

    def __init__(self, first: Installation, second: Installation, joint: Joint) -> None:
        self._installations = (first, second)
        self._joint = joint
        self._tables = (Table(joint.first), Table(joint.second))
        self._result = Comparison(first.id, second.id, tuple(joint.first.signal_bit))
        self._parents: dict[Pair, tuple[Pair, Move] | None] = {}
        self._queue: deque[Pair] = deque()
        self._found: dict[tuple[object, ...], Difference] = {}
        self._befores: dict[tuple[object, ...], dict[Shown, None]] = {}
        self._shown_cache: tuple[dict[Configuration, Shown], dict[Configuration, Shown]] = ({}, {})
        self._attribution = Attribution(first, second, joint)
        self._known_causes: dict[tuple[object, ...], tuple[str, ...]] = {}
        both = set(first.chart.events) & set(second.chart.events)
        self._events = [event for event in first.chart.events if event in both]
        self._changes = {
            event: _with_versions(first.chart.events[event].changes, joint.split)
            for event in self._events
        }

    def run(self, progress: Callable[[int, int], None] | None) -> Comparison:
        result = self._result
        start = (self._joint.first.initial, self._joint.second.initial)
        self._parents[start] = None
        self._queue.append(start)
        with no_collecting():
            while self._queue:
                self._expand(self._queue.popleft())
                result.states += 1
                if progress is not None and result.states % 100 == 0:
                    progress(result.states, len(self._parents))
        result.differences = [
            replace(one, befores=tuple(self._befores[key])) for key, one in self._found.items()
        ]
        result.values = self._value_differences()
        result.is_complete = True
        return result

    def _expand(self, pair: Pair) -> None:
        leaves = [
            list(table.settle(configuration, FREE))
            for table, configuration in zip(self._tables, pair, strict=True)
        ]
        self._match(pair, AUTOMATIC, leaves[0], leaves[1])
        resting = [[leaf for leaf in side if not leaf.fired] for side in leaves]
        at_rest = [cube for cube, _, _ in meetings(resting[0], resting[1])]
        for event in self._events:
            changes = self._changes[event]
            space = self._tables[0].space
            cubes = {space.freed(cube, changes) for cube in at_rest} if changes else at_rest
            for cube in cubes:
                self._match(
                    pair,
                    event,
                    *(
                        list(table.send(configuration, cube, event, at_rest=not changes))
                        for table, configuration in zip(self._tables, pair, strict=True)
                    ),
                )

    def _match(self, pair: Pair, event: str, mine: list[Leaf], theirs: list[Leaf]) -> None:
        """Meet every end of the one ship with every end of the other under common signals."""
        for cube, one, other in meetings(mine, theirs):
            if event == AUTOMATIC and not one.fired and not other.fired:
                continue
            self._result.transitions += 1
            refusals = (_refusal(one), _refusal(other))
            if refusals[0] == refusals[1] and (
                self._shown(0, one.configuration) == self._shown(1, other.configuration)
            ):
                self._note_unseen(event, one, other)
                self._reach(pair, (one.configuration, other.configuration), event, cube)
            else:
                self._differ(pair, event, cube, (self._side(0, one), self._side(1, other)))

    def _note_unseen(self, event: str, one: Leaf, other: Leaf) -> None:
        """Note an event whose rules do other things to the references, unseen on the strip."""
        mine, theirs = ({r.id for r in leaf.fired if r.effects} for leaf in (one, other))
        if mine != theirs and event not in self._result.unseen:
            self._result.unseen[event] = tuple(sorted(mine ^ theirs))

    def _reach(self, pair: Pair, target: Pair, event: str, cube: Cube) -> None:
        if target not in self._parents:
            self._parents[target] = (pair, Move(event, cube))
            self._queue.append(target)

    def _side(self, which: int, leaf: Leaf) -> Side:
        rules = tuple(rule.id for rule in leaf.fired)
        return Side(self._shown(which, leaf.configuration), rules, _refusal(leaf))

    def _shown(self, which: int, configuration: Configuration) -> Shown:
        cache = self._shown_cache[which]
        if configuration not in cache:
            machine: ModeMachine = self._tables[which].machine
            generic = self._installations[which].generic
            cache[configuration] = shown(machine.chart, generic, configuration)
        return cache[configuration]

    def _differ(self, pair: Pair, event: str, cube: Cube, sides: tuple[Side, Side]) -> None:
        before = self._shown(0, pair[0])
        causes = self._causes(pair, event, cube, sides)
        made = Difference(causes, event, before, pair, cube, sides[0], sides[1], (), ())
        key = (causes, event, made.contrast, sides[0].refusal, sides[1].refusal)
        if key not in self._found:
            self._found[key] = replace(made, path=self._path(pair))
        self._befores.setdefault(key, {})[before] = None

    def _causes(
        self, pair: Pair, event: str, cube: Cube, sides: tuple[Side, Side]
    ) -> tuple[str, ...]:
        """Return the settings behind a difference; the same parting is looked into once."""
        bits = self._agreeing(cube)
        one, other = (frozenset(side.rules) for side in sides)
        apart = self._joint.disagreeing(bits)
        key = (event, one - other, other - one, sides[0].refusal, sides[1].refusal, apart)
        known = self._known_causes.get(key)
        if known is None:
            is_refused = sides[0].refusal != sides[1].refusal
            wanted = (None if is_refused else sides[0].shown, sides[0].refusal)
            known = self._attribution.causes(event, pair[1], bits, wanted)
            self._known_causes[key] = known
        return known

    def _agreeing(self, cube: Cube) -> int:
        """Return a valuation in which both versions of a signal agree where the cube lets them."""
        space = self._tables[0].space
        for name in self._joint.split:
            pair = [space.signal_bit[one] for one in (name, name + SECOND)]
            for bit, other in (pair, pair[::-1]):
                value = bool(cube[0] >> bit & 1)
                if value or cube[1] >> bit & 1:
                    cube = space.with_signal(cube, other, value) or cube
        return space.valuation(cube)

    def _path(self, pair: Pair) -> tuple[Move, ...]:
        moves: list[Move] = []
        step = self._parents[pair]
        while step is not None:
            moves.append(step[1])
            step = self._parents[step[0]]
        return tuple(reversed(moves))

    def _value_differences(self) -> list[ValueDifference]:
        first, second = self._installations
        found = [
            ValueDifference(f"option:{name}", value.choice, second.options[name].choice)
            for name, value in first.options.items()
            if value.choice != second.options[name].choice
        ]
        found += [
            ValueDifference(
                f"limit:{name}",
                f"{value.value:g} {value.unit}",
                f"{second.limits[name].value:g} {value.unit}",
            )
            for name, value in first.limits.items()
            if value.value != second.limits[name].value
        ]
        mine, theirs = set(first.chart.events), set(second.chart.events)
        found += [
            ValueDifference(
                f"fitted:{event}",
                "fitted" if event in mine else "not fitted",
                "fitted" if event in theirs else "not fitted",
            )
            for event in sorted(mine ^ theirs)
        ]
        return found


def _refusal(leaf: Leaf) -> str:
    return leaf.refusal.id if leaf.refusal is not None else ""


def _with_versions(names: tuple[str, ...], split: tuple[str, ...]) -> tuple[str, ...]:
    return (*names, *(name + SECOND for name in names if name in split))
