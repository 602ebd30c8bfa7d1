"""Guards as data: evaluate, expand, and decide whether two can hold at once."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from math import prod
from typing import NamedTuple

from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, Signal

Configuration = tuple[str, ...]
"""One state id for each region, in the chart's region order."""

Literals = tuple[tuple[tuple[str, bool], ...], tuple[tuple[str, frozenset[str]], ...]]
"""A conjunction: signals with the value they must have, regions with the states they may be in."""


def evaluate(guard: Guard, states: Mapping[str, str], true: Container[str]) -> bool:
    """Return whether a guard holds, by its definition.

    For explanations and the like; what moves the logic reads the kernel's tests.

    Args:
        guard: The guard.
        states: The state of each region.
        true: The signals that are true.

    Example:
        >>> evaluate(Not(Signal("powered")), {"lamp": "lit"}, {"powered"})
        False
    """
    match guard:
        case Signal(name):
            return name in true
        case In(region, accepted):
            return states[region] in accepted
        case Not(part):
            return not evaluate(part, states, true)
        case All(parts):
            return all(evaluate(part, states, true) for part in parts)
        case Any(parts):
            return any(evaluate(part, states, true) for part in parts)


def evaluate_at(guard: Guard, chart: ChartSpec, configuration: Configuration, bits: int) -> bool:
    """Return whether a guard holds at a moment, by its definition.

    Args:
        guard: A guard over the states and signals of the chart.
        chart: The chart.
        configuration: A state for each of its regions.
        bits: A bit for each of its signals.
    """
    states = dict(zip(chart.regions, configuration, strict=True))
    true = {name for bit, name in enumerate(chart.signals) if bits >> bit & 1}
    return evaluate(guard, states, true)


def signals_in(guard: Guard) -> frozenset[str]:
    """Return the names of the signals that the guard reads."""
    match guard:
        case Signal(name):
            return frozenset({name})
        case In():
            return frozenset()
        case Not(part):
            return signals_in(part)
        case All(parts) | Any(parts):
            return frozenset().union(*(signals_in(part) for part in parts))


def regions_in(guard: Guard) -> frozenset[str]:
    """Return the names of the regions that the guard reads."""
    match guard:
        case Signal():
            return frozenset()
        case In(region, _):
            return frozenset({region})
        case Not(part):
            return regions_in(part)
        case All(parts) | Any(parts):
            return frozenset().union(*(regions_in(part) for part in parts))


class Size(NamedTuple):
    """How large a guard is once it is written out."""

    parts: int
    """Signals and states named, and the lists in which they stand."""
    ways: int
    """Conjunctions of which one must hold, at most; see `conjunctions`."""
    ways_not: int
    """The same for its denial."""


def size_of(guard: Guard) -> Size:
    """Return the size of a guard without writing it out.

    Example:
        >>> size_of(All((Any((Signal("a"), Signal("b"))), Any((Signal("c"), Signal("d"))))))
        Size(parts=7, ways=4, ways_not=2)
    """
    match guard:
        case Signal() | In():
            return Size(1, 1, 1)
        case Not(part):
            inner = size_of(part)
            return Size(inner.parts, inner.ways_not, inner.ways)
        case All(parts) | Any(parts):
            sizes = [size_of(part) for part in parts]
            total = 1 + sum(one.parts for one in sizes)
            if isinstance(guard, All):
                return Size(
                    total, prod(one.ways for one in sizes), sum(one.ways_not for one in sizes)
                )
            return Size(total, sum(one.ways for one in sizes), prod(one.ways_not for one in sizes))


def conjunctions(
    guard: Guard, region_states: Mapping[str, frozenset[str]], *, negate: bool = False
) -> list[Literals]:
    """Return the guard as a list of conjunctions, one of which must hold (disjunctive form)."""
    match guard:
        case Signal(name):
            return [(((name, not negate),), ())]
        case In(region, states):
            allowed = region_states[region] - states if negate else states
            return [((), ((region, allowed),))] if allowed else []
        case Not(part):
            return conjunctions(part, region_states, negate=not negate)
        case All(parts) | Any(parts):
            expanded = [conjunctions(part, region_states, negate=negate) for part in parts]
            if isinstance(guard, All) != negate:
                return _product(expanded)
            return [one for group in expanded for one in group]


def _product(groups: list[list[Literals]]) -> list[Literals]:
    result: list[Literals] = [((), ())]
    for group in groups:
        result = [
            merged
            for left in result
            for right in group
            if (merged := _merge(left, right)) is not None
        ]
    return result


def _merge(left: Literals, right: Literals) -> Literals | None:
    signals = dict(left[0])
    for name, value in right[0]:
        if signals.setdefault(name, value) != value:
            return None
    regions = dict(left[1])
    for region, states in right[1]:
        both = regions.get(region, states) & states
        if not both:
            return None
        regions[region] = both
    return tuple(signals.items()), tuple(regions.items())


def can_hold_together(
    guards: Iterable[Guard],
    region_states: Mapping[str, frozenset[str]],
    implies: Mapping[str, frozenset[str]],
    excludes: Mapping[str, frozenset[str]],
) -> bool:
    """Return True if some configuration and some possible signals satisfy all the guards.

    `implies` and `excludes` are the physical constraints between signals, closed under
    implication.
    """
    for signals, _regions in conjunctions(All(tuple(guards)), region_states):
        true = {name for name, value in signals if value}
        true |= {other for name in true for other in implies.get(name, frozenset())}
        false = {name for name, value in signals if not value}
        clash = any(excludes.get(name, frozenset()) & true for name in true)
        if not (true & false) and not clash:
            return True
    return False
