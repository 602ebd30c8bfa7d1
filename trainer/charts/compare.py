"""What differs between two installations: their product walked over all events and signals.

Both ships begin alike. As long as both strips read the same, every event and every physically
possible change of signals is tried on both; where the strips, or the answer to a key, then differ,
that is a difference. What follows a difference is its consequence and not counted again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from trainer.charts.causes import Attribution, Parting
from trainer.charts.cubes import Cube
from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.joint import SECOND, Joint, join
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.shown import Shown, shown
from trainer.charts.symbolic import (
    Array,
    Meetings,
    Rests,
    Symbolic,
    Ways,
    all_meetings,
    first_of_each,
    grouped,
    met_by,
)

_AT_ONCE = 500
"""Pairs that are looked at together: enough for arrays, few enough for memory."""

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
    """One walk of the product: a batch of pairs at a time, nearest first."""

    def __init__(self, first: Installation, second: Installation, joint: Joint) -> None:
        self._installations = (first, second)
        self._joint = joint
        self._sides = (Symbolic(joint.first), Symbolic(joint.second))
        self._result = Comparison(first.id, second.id, tuple(joint.first.signal_bit))
        self._parents: dict[Pair, tuple[Pair, Move] | None] = {}
        self._waiting: list[Pair] = []
        self._differing: list[Difference] = []
        self._partings: list[Parting] = []
        self._readings = _Readings(self._sides, first, second)
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
        self._waiting.append(start)
        while self._waiting:
            pairs = self._waiting[:_AT_ONCE]
            del self._waiting[:_AT_ONCE]
            self._expand(pairs)
            result.states += len(pairs)
            if progress is not None:
                progress(result.states, len(self._parents))
        result.differences = self._attributed()
        result.values = self._value_differences()
        result.is_complete = True
        return result

    def _expand(self, pairs: list[Pair]) -> None:
        first, second = zip(*pairs, strict=True)
        places = np.array([self._sides[1].place(each) for each in second])
        starts = self._sides[0].start(first)
        settled = met_by(places, self._sides[0].settle(starts), self._sides[1].settle)
        is_quiet = (settled.mine.fired == 0) & (settled.theirs.fired == 0)
        rests = Rests(settled.take(is_quiet).theirs, len(pairs))
        parts = [settled.take(~is_quiet)]
        numbers = [np.zeros(len(parts[0].mine), dtype=np.int64)]
        for number, event in enumerate(self._events, 1):
            parts.append(self._sent(event, starts, places, rests))
            numbers.append(np.full(len(parts[-1].mine), number))
        self._sort_out(pairs, np.concatenate(numbers), all_meetings(parts), rests)

    def _sent(self, event: str, starts: Ways, places: Array, rests: Rests) -> Meetings:
        """Return what an event leads to in both ships wherever both are at rest."""
        mine, theirs = self._sides
        changes = self._changes[event]
        if changes:
            origins, cubes = rests.freed(mine.space, changes)
            began = mine.start_at(starts.place[origins], cubes)
            ways = mine.send(event, began, at_rest=False)
            ways.origin = origins[ways.origin]
            return met_by(places, ways, partial(theirs.send, event, at_rest=False))
        common = rests.common()
        common.place = starts.place[common.origin]
        ways = mine.send(event, common, wanted=rests.met)

        def met(other: Ways) -> Array:
            return rests.met(replace(other, origin=ways.origin[other.origin]))

        return met_by(places, ways, partial(theirs.send, event, wanted=met))

    def _sort_out(self, pairs: list[Pair], events: Array, meetings: Meetings, rests: Rests) -> None:
        """Go on from where both read the same; where they don't, that is a difference."""
        mine, theirs = meetings.mine, meetings.theirs
        ends = (mine.place, mine.fired, mine.refusal, theirs.place, theirs.fired, theirs.refusal)
        order, starts = grouped(mine.origin, events, *ends)
        self._result.transitions += len(starts)
        is_same = self._readings.of(0, mine) == self._readings.of(1, theirs)
        first, stops = order[starts], np.append(starts[1:], len(order))
        self._go_on(pairs, events, meetings, first[is_same[first]])
        names = (AUTOMATIC, *self._events)
        for group in np.flatnonzero(~is_same[first]).tolist():
            row = int(first[group])
            event, origin = names[int(events[row])], int(mine.origin[row])
            cubes = [theirs.cube(each) for each in order[starts[group] : stops[group]].tolist()]
            if event != AUTOMATIC and not self._changes[event]:
                cubes = rests.cut(origin, cubes)
            sides = (self._side(0, mine, row), self._side(1, theirs, row))
            self._differ(pairs[origin], event, cubes, sides)

    def _go_on(self, pairs: list[Pair], events: Array, meetings: Meetings, rows: Array) -> None:
        """Go on from ends that read the same, and note the unseen in them."""
        mine, theirs = meetings.mine.take(rows), meetings.theirs.take(rows)
        numbers, names = events[rows], (AUTOMATIC, *self._events)
        for row in np.sort(first_of_each(numbers, mine.fired, theirs.fired)).tolist():
            event = names[int(numbers[row])]
            self._note_unseen(event, int(mine.fired[row]), int(theirs.fired[row]))
        for row in np.sort(first_of_each(mine.place, theirs.place)).tolist():
            target = (
                self._sides[0].configuration(int(mine.place[row])),
                self._sides[1].configuration(int(theirs.place[row])),
            )
            if target not in self._parents:
                move = Move(names[int(numbers[row])], theirs.cube(row))
                self._parents[target] = (pairs[int(mine.origin[row])], move)
                self._waiting.append(target)

    def _note_unseen(self, event: str, mine: int, theirs: int) -> None:
        """Note an event whose rules do other things to the references, unseen on the strip."""
        if event not in self._result.unseen:
            first, second = (
                {rule.id for rule in side.rules(number) if rule.effects}
                for side, number in zip(self._sides, (mine, theirs), strict=True)
            )
            if first != second:
                self._result.unseen[event] = tuple(sorted(first ^ second))

    def _side(self, which: int, ways: Ways, row: int) -> Side:
        side, number = self._sides[which], int(ways.refusal[row])
        return Side(
            self._readings.shown(which, int(ways.place[row])),
            tuple(rule.id for rule in side.rules(int(ways.fired[row]))),
            side.refusals[number].id if number >= 0 else "",
        )

    def _differ(self, pair: Pair, event: str, cubes: list[Cube], sides: tuple[Side, Side]) -> None:
        """Note an ending that differs; its causes are looked for when all are known.

        Its example is where the ships' own versions of a signal part least: what happens while
        both measure alike isn't put down to what they measure.
        """
        is_refused = sides[0].refusal != sides[1].refusal
        wanted = (None if is_refused else sides[0].shown, sides[0].refusal)
        cube = self._least_apart(cubes)
        self._partings.append(Parting(event, pair[1], cube[0], wanted))
        before = self._readings.shown(0, self._sides[0].place(pair[0]))
        self._differing.append(Difference((), event, before, pair, cube, *sides, (), ()))

    def _least_apart(self, cubes: Iterable[Cube]) -> Cube:
        nearest: tuple[int, Cube] | None = None
        for whole in cubes:
            cube = self._alike(whole)
            apart = len(self._joint.disagreeing(cube[0]))
            if nearest is None or apart < nearest[0]:
                nearest = apart, cube
            if not apart:
                break
        assert nearest is not None, "an ending has a cube"
        return nearest[1]

    def _alike(self, cube: Cube) -> Cube:
        """Return the part of a cube in which both versions of a signal agree, where there is."""
        space = self._sides[0].space
        for name in self._joint.split:
            pair = [space.signal_bit[version] for version in (name, name + SECOND)]
            for bit, other in (pair, pair[::-1]):
                value = bool(cube[0] >> bit & 1)
                if value or cube[1] >> bit & 1:
                    cube = space.with_signal(cube, other, value) or cube
        return cube

    def _attributed(self) -> list[Difference]:
        """Return the differences, each once, with their causes and every strip before them."""
        attribution = Attribution(*self._installations, self._joint)
        nearest: dict[tuple[object, ...], Difference] = {}
        befores: dict[tuple[object, ...], dict[Shown, None]] = {}
        causes = attribution.causes(self._partings)
        for difference, settings in zip(self._differing, causes, strict=True):
            refusals = (difference.first.refusal, difference.second.refusal)
            key = (settings, difference.event, difference.contrast, *refusals)
            if key not in nearest:
                path = self._path(difference.configurations)
                nearest[key] = replace(difference, causes=settings, path=path)
            befores.setdefault(key, {})[difference.before] = None
        return [replace(d, befores=tuple(befores[key])) for key, d in nearest.items()]

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


class _Readings:
    """What each ship's strip reads in a configuration, numbered so that arrays can be compared."""

    def __init__(
        self, sides: tuple[Symbolic, Symbolic], first: Installation, second: Installation
    ) -> None:
        self._sides = sides
        self._generic = (first.generic, second.generic)
        self._known: tuple[dict[int, Shown], dict[int, Shown]] = ({}, {})
        self._numbers: dict[tuple[Shown, str], int] = {}

    def shown(self, which: int, place: int) -> Shown:
        """Return what a ship's strip shows in a configuration."""
        known = self._known[which]
        if place not in known:
            side = self._sides[which]
            known[place] = shown(side.kernel.chart, self._generic[which], side.configuration(place))
        return known[place]

    def of(self, which: int, ways: Ways) -> Array:
        """Return a number for what is read at each end, the answer to a refused key with it."""
        pairs, inverse = np.unique(ways.place << 32 | ways.refusal + 1, return_inverse=True)
        refusals = self._sides[which].refusals
        numbers = []
        for pair in pairs.tolist():
            refusal = (pair & 0xFFFFFFFF) - 1
            read = (self.shown(which, pair >> 32), refusals[refusal].id if refusal >= 0 else "")
            numbers.append(self._numbers.setdefault(read, len(self._numbers)))
        return np.array(numbers, dtype=np.int64)[inverse]


def _with_versions(names: tuple[str, ...], split: tuple[str, ...]) -> tuple[str, ...]:
    return (*names, *(name + SECOND for name in names if name in split))
