"""Sets of signal valuations as cubes: some signals true, some false, the rest free.

A cube stands for all valuations that agree with it, so an exploration needs no list of all 2^n
valuations. Physical constraints (one signal implies or excludes another) are applied literal by
literal, so that a cube that can't exist is never looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from trainer.charts.conflicts import signal_constraints
from trainer.charts.guard import Configuration
from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, Signal

Cube = tuple[int, int]
"""Bits of the signals that are true, bits of those that are false."""

FREE: Cube = (0, 0)

Verdict = bool | int
"""True or False if decided; otherwise 2 + the bit number of a signal that decides further."""


class CubeSpace:
    """The cubes over a chart's signals, with its physical constraints."""

    def __init__(self, chart: ChartSpec, signal_bit: Mapping[str, int]) -> None:
        implies, excludes = signal_constraints(chart)
        count = len(signal_bit)
        self.signal_bit = dict(signal_bit)
        self._if_true: list[Cube] = [FREE] * count
        self._if_false: list[Cube] = [FREE] * count
        for name, bit in signal_bit.items():
            true = {name, *implies[name]}
            false = {other for one in true for other in excludes[one]}
            false |= {one for one in implies if implies[one] & false}
            self._if_true[bit] = (self._mask(true), self._mask(false))
            needing = {name} | {one for one in implies if name in implies[one]}
            self._if_false[bit] = (0, self._mask(needing))

    def _mask(self, names: set[str]) -> int:
        value = 0
        for name in names:
            value |= 1 << self.signal_bit[name]
        return value

    def with_signal(self, cube: Cube, bit: int, value: bool) -> Cube | None:
        """Return the cube with one signal decided, or None if that can't be."""
        true, false = self._if_true[bit] if value else self._if_false[bit]
        return meet(cube, (true, false))

    def valuation(self, cube: Cube) -> int:
        """Return the bits of one valuation in the cube: its free signals false."""
        return cube[0]

    def freed(self, cube: Cube, names: Iterable[str]) -> Cube:
        """Return the cube with some signals free again."""
        kept = ~self._mask(set(names))
        return self._closed((cube[0] & kept, cube[1] & kept))

    def _closed(self, cube: Cube) -> Cube:
        """Return the cube with everything that its decided signals imply."""
        for bit in range(len(self._if_true)):
            if cube[0] >> bit & 1:
                cube = (cube[0] | self._if_true[bit][0], cube[1] | self._if_true[bit][1])
            elif cube[1] >> bit & 1:
                cube = (cube[0], cube[1] | self._if_false[bit][1])
        return cube

    def split(
        self, decide: Callable[[Cube], Verdict], cube: Cube = FREE
    ) -> tuple[list[Cube], list[Cube]]:
        """Return the cubes on which a three-valued function is true, and those where false."""
        true: list[Cube] = []
        false: list[Cube] = []
        stack = [cube]
        while stack:
            one = stack.pop()
            verdict = decide(one)
            if verdict is True:
                true.append(one)
            elif verdict is False:
                false.append(one)
            else:
                bit = verdict - 2
                for value in (False, True):
                    part = self.with_signal(one, bit, value)
                    if part is not None:
                        stack.append(part)
        return true, false


def meet(left: Cube, right: Cube) -> Cube | None:
    """Return the cube common to both, or None if there is none."""
    true, false = left[0] | right[0], left[1] | right[1]
    return None if true & false else (true, false)


def decide_guard(
    guard: Guard,
    configuration: Configuration,
    region_index: Mapping[str, int],
    signal_bit: Mapping[str, int],
) -> Callable[[Cube], Verdict]:
    """Return a three-valued function of cubes for a guard in a configuration."""

    def evaluate(part: Guard, cube: Cube) -> Verdict:
        match part:
            case Signal(name):
                return _decide_signal(signal_bit[name], cube)
            case In(region, states):
                return configuration[region_index[region]] in states
            case Not(inner):
                verdict = evaluate(inner, cube)
                return (not verdict) if isinstance(verdict, bool) else verdict
            case All(parts):
                return _join([evaluate(one, cube) for one in parts], decisive=False)
            case Any(parts):
                return _join([evaluate(one, cube) for one in parts], decisive=True)

    return lambda cube: evaluate(guard, cube)


def _decide_signal(bit: int, cube: Cube) -> Verdict:
    if cube[0] >> bit & 1:
        return True
    return False if cube[1] >> bit & 1 else bit + 2


def _join(verdicts: list[Verdict], *, decisive: bool) -> Verdict:
    """Return the decisive verdict if any part gives it, else an open one, else the other."""
    open_verdict: Verdict = not decisive
    for verdict in verdicts:
        if verdict is decisive:
            return decisive
        if not isinstance(verdict, bool):
            open_verdict = verdict
    return open_verdict
