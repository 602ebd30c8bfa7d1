"""Sets of signal valuations as cubes: some signals true, some false, the rest free.

A cube stands for all valuations that agree with it, so an exploration needs no list of all 2^n
valuations. Physical constraints (one signal implies or excludes another) are applied literal by
literal, so that a cube that can't exist is never looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from trainer.charts.conflicts import signal_constraints
from trainer.charts.kernel import Test, Tests
from trainer.charts.spec import ChartSpec

Cube = tuple[int, int]
"""Bits of the signals that are true, bits of those that are false."""

FREE: Cube = (0, 0)


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

    def of_test(self, test: Test, cube: Cube = FREE) -> Cube | None:
        """Return the part of a cube in which a test's signals are as it asks, if there is any."""
        part: Cube | None = cube
        for bit in _bits(test.mask):
            part = self.with_signal(part, bit, bool(test.value >> bit & 1)) if part else None
        return part

    def without(self, cube: Cube, test: Test) -> list[Cube]:
        """Return the rest of a cube, in disjoint parts: a test's signals aren't as it asks."""
        parts: list[Cube] = []
        left: Cube | None = cube
        for bit in _bits(test.mask):
            if left is None:
                break
            wanted = bool(test.value >> bit & 1)
            other = self.with_signal(left, bit, not wanted)
            if other is not None:
                parts.append(other)
            left = self.with_signal(left, bit, wanted)
        return parts

    def divided(self, tests: Iterable[Tests]) -> list[tuple[Cube, int]]:
        """Return disjoint cubes over all valuations, each with the number of the first that holds.

        Args:
            tests: Guards in order, as tests; what they ask of the states is taken as so.

        Returns:
            Cubes with a guard's number, or -1 where none holds.
        """
        cells: list[tuple[Cube, int]] = []
        rest: list[Cube] = [FREE]
        for number, guard in enumerate(tests):
            for test in guard:
                left: list[Cube] = []
                for cube in rest:
                    part = self.of_test(test, cube)
                    if part is None:
                        left.append(cube)
                    else:
                        cells.append((part, number))
                        left.extend(self.without(cube, test))
                rest = left
        return [*cells, *((cube, -1) for cube in rest)]


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def meet(left: Cube, right: Cube) -> Cube | None:
    """Return the cube common to both, or None if there is none."""
    true, false = left[0] | right[0], left[1] | right[1]
    return None if true & false else (true, false)
