"""Wrong rules under which the logic never comes to rest: automatic ones that undo each other.

Such a belief foresees nothing where it matters, so a library leaves it out. What is found is
proved by running it; a round through several regions at once isn't looked for here, and what runs
a belief elsewhere takes it as foreseeing nothing there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from trainer.assessment.wrong_rules.quick_chart import QuickChart, Row, Test
from trainer.charts.guard import Configuration
from trainer.charts.machine import AUTOMATIC, UnsettledError

_LONGEST = 4
"""States of a round that is looked for."""
_MOST_STEPS = 4000
"""Steps of the search from one row, so that a chart of many conditions takes no minutes."""


@dataclass(frozen=True, slots=True)
class _Way:
    """States gone through by rules that fire by themselves, and what must hold all along.

    Attributes:
        bits: Mask and value of the signals.
        places: The states that other regions may be in, by number of the region.
    """

    states: tuple[str, ...]
    bits: tuple[int, int]
    places: dict[int, frozenset[str]]


def endless_round(believed: QuickChart, truth: QuickChart, rows: Iterable[Row]) -> tuple[str, ...]:
    """Return the states that a region goes round through for ever; none if no round is found.

    Args:
        believed: The chart with the wrong rule.
        truth: The true chart, which comes to rest.
        rows: The rows in which they differ.
    """
    for event, region, state in sorted(rows):
        if event == AUTOMATIC:
            for way in _rounds(believed, region, state):
                here = _configuration(believed, region, way)
                if _goes_on(believed, here, way.bits[1]) and not _goes_on(truth, here, way.bits[1]):
                    return way.states
    return ()


def _rounds(chart: QuickChart, region: int, start: str) -> Iterator[_Way]:
    """Yield the ways from a state back to it along which all conditions can hold at once.

    The shortest come first.
    """
    pending, steps = deque([_Way((start,), (0, 0), {})]), 0
    while pending and steps < _MOST_STEPS:
        way = pending.popleft()
        for tests, target in chart.entries((AUTOMATIC, region, way.states[-1])):
            for test in tests:
                steps += 1
                longer = _along(way, test, region, target)
                if longer is None:
                    continue
                if target == start:
                    yield longer
                elif target not in way.states and len(way.states) < _LONGEST:
                    pending.append(longer)


def _along(way: _Way, test: Test, region: int, target: str) -> _Way | None:
    """Return a way with one step more, or None if its condition excludes an earlier one."""
    mask, value, places = test
    if (value ^ way.bits[1]) & mask & way.bits[0]:
        return None
    merged = dict(way.places)
    for number, states in places:
        if number == region:
            if way.states[-1] not in states:
                return None
            continue
        merged[number] = merged.get(number, states) & states
        if not merged[number]:
            return None
    bits = (way.bits[0] | mask, way.bits[1] | value)
    return _Way((*way.states, target), bits, merged)


def _configuration(chart: QuickChart, region: int, way: _Way) -> Configuration:
    found = []
    for number, one in enumerate(chart.chart.regions.values()):
        allowed = way.places.get(number, frozenset((one.initial,)))
        state = one.initial if one.initial in allowed else min(allowed)
        found.append(way.states[0] if number == region else state)
    return tuple(found)


def _goes_on(chart: QuickChart, here: Configuration, bits: int) -> bool:
    try:
        chart.settle(here, bits)
    except UnsettledError:
        return True
    return False
