"""Wrong rules under which the logic never comes to rest: automatic ones that undo each other.

Such a belief foresees nothing where it matters, so a library leaves it out. What is found is
proved by running it; a round through several regions at once isn't looked for here, and what runs
a belief elsewhere takes it as foreseeing nothing there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, Row, Test, UnsettledError

_LONGEST = 4
"""States of a round that is looked for."""
_MOST_STEPS = 4000
"""Steps of the search from one row, so that a chart of many conditions takes no minutes."""


@dataclass(frozen=True, slots=True)
class _Way:
    """States gone through by rules that fire by themselves, and what must hold all along.

    Attributes:
        bits: Mask and value of the signals.
        barred: Bits of the states that other regions must not be in.
    """

    states: tuple[str, ...]
    bits: tuple[int, int]
    barred: int


def endless_round(believed: Kernel, truth: Kernel, rows: Iterable[Row]) -> tuple[str, ...]:
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


def _rounds(kernel: Kernel, region: int, start: str) -> Iterator[_Way]:
    """Yield the ways from a state back to it along which all conditions can hold at once.

    The shortest come first.
    """
    pending, steps = deque([_Way((start,), (0, 0), 0)]), 0
    while pending and steps < _MOST_STEPS:
        way = pending.popleft()
        for tests, target, _ in kernel.entries((AUTOMATIC, region, way.states[-1])):
            for test in tests:
                steps += 1
                longer = _along(way, test, target, kernel, region)
                if longer is None:
                    continue
                if target == start:
                    yield longer
                elif target not in way.states and len(way.states) < _LONGEST:
                    pending.append(longer)


def _along(way: _Way, test: Test, target: str, kernel: Kernel, region: int) -> _Way | None:
    """Return a way with one step more, or None if its condition excludes an earlier one."""
    own = kernel.state_bits[region]
    is_apart = (test.value ^ way.bits[1]) & test.mask & way.bits[0]
    if is_apart or test.barred & own[way.states[-1]]:
        return None
    barred = way.barred | test.barred & ~sum(own.values())
    if any(not sum(states.values()) & ~barred for states in kernel.state_bits):
        return None
    bits = (way.bits[0] | test.mask, way.bits[1] | test.value)
    return _Way((*way.states, target), bits, barred)


def _configuration(kernel: Kernel, region: int, way: _Way) -> Configuration:
    states = []
    for number, bits in enumerate(kernel.state_bits):
        initial = kernel.initial[number]
        allowed = [state for state, bit in bits.items() if not way.barred & bit]
        state = initial if initial in allowed else min(allowed)
        states.append(way.states[0] if number == region else state)
    return tuple(states)


def _goes_on(kernel: Kernel, here: Configuration, bits: int) -> bool:
    try:
        kernel.settle(here, bits)
    except UnsettledError:
        return True
    return False
