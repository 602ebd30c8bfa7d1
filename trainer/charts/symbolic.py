"""The kernel's rows over cubes of valuations: every way that a batch of configurations can go.

A microstep takes many (configuration, cube) at once and splits each by the cells of one region
after the other, in numpy: an exploration of a shipped ship follows some millions of them, and in
plain Python each costs some microseconds. Measured against one at a time on plain integers (2 to 3
times slower) and against decision diagrams (as fast, but they tell neither rules nor paths).

Configurations and sequences of rules are numbered as they come up. Signals are bits of a machine
word; a chart with more than fits takes numpy's arrays of Python integers, which are slower.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from trainer.charts.cubes import FREE, Cube, CubeSpace, meet
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, MAXIMUM_ROUNDS, REFUSALS, Entry, Kernel, UnsettledError
from trainer.charts.spec import RefusalSpec, RuleSpec

Array = np.ndarray[Any, Any]

_WORD_BITS = 62
"""Signals that fit into a signed machine word with room to spare."""
_UNKNOWN, _NOTHING = -1, 0


@dataclass(slots=True)
class Ways:
    """Ways to go, as columns of one length: for the valuations of a cube, to a configuration."""

    origin: Array
    """Number of what it began with, by its place in the batch."""
    place: Array
    """Number of the configuration; see `Symbolic.configuration`."""
    true: Array
    false: Array
    """The cube."""
    fired: Array
    """Number of the sequence of rules; see `Symbolic.rules`; 0: none."""
    rounds: Array
    """Microsteps of settling."""
    refusal: Array
    """Number of the refusal in the chart's order, -1: not refused."""

    def __len__(self) -> int:
        return len(self.origin)

    def cube(self, row: int) -> Cube:
        """Return the cube of a row."""
        return int(self.true[row]), int(self.false[row])

    def take(self, chosen: Array) -> Ways:
        """Return the rows of a mask or of some numbers, in their order."""
        return Ways(*(column[chosen] for column in self.columns()))

    def columns(self) -> tuple[Array, ...]:
        """Return the columns in order."""
        return (
            self.origin,
            self.place,
            self.true,
            self.false,
            self.fired,
            self.rounds,
            self.refusal,
        )


def joined(parts: Sequence[Ways]) -> Ways:
    """Return several batches of ways as one."""
    columns = zip(*(part.columns() for part in parts), strict=True)
    return Ways(*(np.concatenate(column) for column in columns))


def first_of_each(*columns: Array) -> Array:
    """Return the numbers of the rows that differ from all before them, sorted by the columns.

    Of equal rows the first counts; the first column sorts first.
    """
    order, starts = grouped(*columns)
    return order[starts]


def grouped(*columns: Array) -> tuple[Array, Array]:
    """Return the rows in the order of the columns, and where among them each new one starts."""
    order = np.lexsort(columns[::-1])
    is_new = np.zeros(len(order), dtype=bool)
    is_new[:1] = True
    for column in columns:
        is_new[1:] |= column[order[1:]] != column[order[:-1]]
    return order, np.flatnonzero(is_new)


@dataclass(slots=True)
class _Cells:
    """Disjoint cubes that cover all valuations, list after list, with what happens in each."""

    start: list[int]
    count: list[int]
    true: list[int]
    false: list[int]
    entry: list[int]
    """Number of a rule or refusal, -1: none."""

    def add(self, cells: Sequence[tuple[Cube, int]]) -> int:
        """Add a list of cells and return its number."""
        self.start.append(len(self.true))
        self.count.append(len(cells))
        self.true.extend(cube[0] for cube, _ in cells)
        self.false.extend(cube[1] for cube, _ in cells)
        self.entry.extend(entry for _, entry in cells)
        return len(self.start) - 1


class _Parts(NamedTuple):
    """Cubes split into parts, as columns: which cube it was, its part, and what happens there."""

    source: Array
    true: Array
    false: Array
    entry: Array
    """Number of a rule or refusal (or of a sequence), -1: none."""

    def of(self, ways: Ways) -> Ways:
        """Return ways with their cubes split so."""
        split = ways.take(self.source)
        split.true, split.false = self.true, self.false
        return split


class Symbolic:
    """A kernel for bulk work on cubes; for one thread, since it numbers what it meets.

    Attributes:
        kernel: The kernel.
        space: The cubes over its signals.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> symbolic = Symbolic(Kernel(lamp()))
        >>> ways = symbolic.send("press", symbolic.start([("none",)]))
        >>> [symbolic.configuration(place) for place in ways.place], ways.refusal.tolist()
        ([('none',), ('lit',)], [0, -1])
    """

    def __init__(self, kernel: Kernel) -> None:
        self.kernel = kernel
        self.space = CubeSpace(kernel.chart, kernel.signal_bit)
        self.word: Any = np.int64 if len(kernel.signal_bit) <= _WORD_BITS else object
        self.refusals: tuple[RefusalSpec, ...] = tuple(kernel.chart.refusals.values())
        self._rules: tuple[RuleSpec, ...] = tuple(kernel.chart.rules.values())
        self._rule_number = {rule.id: n for n, rule in enumerate(self._rules)}
        self._refusal_number = {refusal.id: n for n, refusal in enumerate(self.refusals)}
        self._codes: list[int] = []
        self._places: dict[int, int] = {}
        self._sequences: list[tuple[int, ...]] = [()]
        self._sequence_number: dict[tuple[int, ...], int] = {(): 0}
        self._changes: list[tuple[int, int]] = [(0, 0)]
        self._cells = _Cells([], [], [], [], [])
        self._cells.add([(FREE, -1)])
        self._as_arrays: tuple[int, tuple[Array, ...]] = (-1, ())
        self._cells_at: dict[tuple[str, int], Array] = {}
        self._known_cells: dict[tuple[str, int, int], int] = {}
        self._read = self._states_read()
        self._rows = {(event, region) for event, region, _ in kernel.all_rows}

    def _states_read(self) -> dict[tuple[str, int], int]:
        """Bits of the states that decide which tests of an event are left in a region."""
        read: dict[tuple[str, int], int] = {}
        kernel = self.kernel
        for row in kernel.all_rows:
            event, region, _ = row
            bits = 0 if region == REFUSALS else sum(kernel.state_bits[region].values())
            for entry in kernel.entries(row):
                for test in entry.tests:
                    bits |= test.barred
            read[event, region] = read.get((event, region), 0) | bits
        return read

    def place(self, configuration: Configuration) -> int:
        """Return the number of a configuration."""
        return self._place_of(self.kernel.pack(configuration))

    def _place_of(self, code: int) -> int:
        known = self._places.get(code)
        if known is None:
            known = self._places[code] = len(self._codes)
            self._codes.append(code)
        return known

    def configuration(self, place: int) -> Configuration:
        """Return the configuration of a number."""
        return self.kernel.unpack(self._codes[place])

    def rules(self, sequence: int) -> tuple[RuleSpec, ...]:
        """Return the rules of a sequence in firing order."""
        return tuple(self._rules[number] for number in self._sequences[sequence])

    def start(
        self, configurations: Iterable[Configuration], cubes: Sequence[Cube] | None = None
    ) -> Ways:
        """Return a batch that begins in some configurations, each under its cube or all free."""
        places = [self.place(configuration) for configuration in configurations]
        return self.start_at(np.array(places, dtype=np.int64), cubes)

    def start_at(self, places: Array, cubes: Sequence[Cube] | None = None) -> Ways:
        """Return a batch that begins in configurations by their numbers; see `start`."""
        count = len(places)
        true, false = zip(*cubes, strict=True) if cubes else ((0,) * count, (0,) * count)
        return Ways(
            np.arange(count),
            places,
            np.array(true, dtype=self.word),
            np.array(false, dtype=self.word),
            np.zeros(count, dtype=np.int64),
            np.zeros(count, dtype=np.int64),
            np.full(count, -1),
        )

    def settle(self, ways: Ways) -> Ways:
        """Return every settled end.

        Raises:
            UnsettledError: Automatic rules that never come to rest.
        """
        ends: list[Ways] = [ways.take(np.zeros(0, dtype=np.int64))]
        while len(ways):
            before = ways.fired
            ways, origins = self._microstep(AUTOMATIC, ways)
            moved = ways.fired != before[origins]
            ends.append(ways.take(~moved))
            ways = ways.take(moved)
            ways.rounds += 1
            if len(ways) and ways.rounds.max() > MAXIMUM_ROUNDS:
                rules = self.rules(int(ways.fired[ways.rounds.argmax()]))
                raise UnsettledError(tuple(dict.fromkeys(rule.id for rule in rules[-20:])))
        return joined(ends)

    def send(
        self,
        event: str,
        ways: Ways,
        *,
        at_rest: bool = True,
        wanted: Callable[[Ways], Array] | None = None,
    ) -> Ways:
        """Return every end of an event.

        Args:
            event: The event.
            ways: Where it begins; with `at_rest` those valuations in which it is settled.
            at_rest: False for a selector, whose act changes signals as well.
            wanted: Which ways are followed, as a mask; None: all.
        """
        refused, asked = self._refused(event, ways)
        before = asked.fired
        moved_ways, origins = self._microstep(event, asked)
        parts = [refused]
        if at_rest:
            moved = moved_ways.fired != before[origins]
            parts.append(moved_ways.take(~moved))
            moved_ways = moved_ways.take(moved)
        else:
            parts = [self.settle(refused)]
        if wanted is not None:
            moved_ways = moved_ways.take(wanted(moved_ways))
        ends = joined([*parts, self.settle(moved_ways)])
        ends = ends if wanted is None else ends.take(wanted(ends))
        return ends.take(np.argsort(ends.origin, kind="stable"))

    def _refused(self, event: str, ways: Ways) -> tuple[Ways, Ways]:
        """Return the ways in which an event is refused, and those in which it isn't."""
        if (event, REFUSALS) not in self._rows:
            return ways.take(np.zeros(0, dtype=np.int64)), ways
        cells = self._split(self._lists(event, REFUSALS, ways.place), ways.true, ways.false)
        split = cells.of(ways)
        split.refusal = cells.entry
        return split.take(cells.entry >= 0), split.take(cells.entry < 0)

    def _microstep(self, event: str, ways: Ways) -> tuple[Ways, Array]:
        """Return every way of one microstep, and the number of the way that each came from."""
        came_from, true, false = np.arange(len(ways)), ways.true, ways.false
        combined = np.zeros(len(ways), dtype=np.int64)
        for region in range(len(self.kernel.state_bits)):
            if (event, region) not in self._rows:
                continue
            lists = self._lists(event, region, ways.place)
            if not lists.any():
                continue
            cells = self._split(lists[came_from], true, false)
            came_from, combined = came_from[cells.source], combined[cells.source]
            true, false = cells.true, cells.false
            fires = cells.entry >= 0
            combined[fires] = self._numbered(combined[fires], cells.entry[fires], self._longer)
        ways = _Parts(came_from, true, false, combined).of(ways)
        fires = combined > 0
        if fires.any():
            ways.place[fires] = self._numbered(ways.place[fires], combined[fires], self._moved)
            ways.fired[fires] = self._numbered(ways.fired[fires], combined[fires], self._appended)
        return ways, came_from

    def _split(self, lists: Array, mine: Array, not_mine: Array) -> _Parts:
        """Return cubes split by the cells of their lists."""
        start, count, cell_true, cell_false, cell_entry = self._arrays()
        counts = count[lists]
        source = np.repeat(np.arange(len(lists)), counts)
        first = np.cumsum(counts) - counts
        cell = np.arange(len(source)) + np.repeat(start[lists] - first, counts)
        apart = (mine[source] & cell_false[cell]) | (not_mine[source] & cell_true[cell])
        meets = np.flatnonzero(apart == 0)
        source, cell = source[meets], cell[meets]
        return _Parts(
            source,
            mine[source] | cell_true[cell],
            not_mine[source] | cell_false[cell],
            cell_entry[cell],
        )

    def _lists(self, event: str, region: int, places: Array) -> Array:
        """Return the number of the list of cells for each place."""
        known = self._cells_at.get((event, region))
        if known is None or len(known) < len(self._codes):
            longer = np.full(2 * len(self._codes) + 64, _UNKNOWN)
            if known is not None:
                longer[: len(known)] = known
            known = self._cells_at[event, region] = longer
        lists: Array = known[places]
        missing = lists == _UNKNOWN
        if missing.any():
            for place in np.unique(places[missing]).tolist():
                known[place] = self._cells_of(event, region, self._codes[place])
            lists = known[places]
        return lists

    def _cells_of(self, event: str, region: int, code: int) -> int:
        key = (event, region, code & self._read[event, region])
        known = self._known_cells.get(key)
        if known is None:
            known = self._known_cells[key] = self._divided(event, region, code)
        return known

    def _divided(self, event: str, region: int, code: int) -> int:
        state = "" if region == REFUSALS else self.kernel.unpack(code)[region]
        entries = self.kernel.entries((event, region, state))
        guards = [
            tuple(test for test in entry.tests if not code & test.barred) for entry in entries
        ]
        cells = self.space.divided(guards)
        numbers = [self._number(entry) for entry in entries]
        if all(number < 0 for _, number in cells):
            return _NOTHING
        return self._cells.add(
            [(cube, -1 if number < 0 else numbers[number]) for cube, number in cells]
        )

    def _number(self, entry: Entry) -> int:
        if isinstance(entry.rule, RefusalSpec):
            return self._refusal_number[entry.rule.id]
        return self._rule_number[entry.rule.id]

    def _arrays(self) -> tuple[Array, ...]:
        count, arrays = self._as_arrays
        cells = self._cells
        if count != len(cells.start):
            arrays = (
                np.array(cells.start),
                np.array(cells.count),
                np.array(cells.true, dtype=self.word),
                np.array(cells.false, dtype=self.word),
                np.array(cells.entry),
            )
            self._as_arrays = (len(cells.start), arrays)
        return arrays

    def _numbered(self, left: Array, right: Array, number: Callable[[int, int], int]) -> Array:
        """Return the number of each pair; asked for once for pairs that are alike."""
        if not len(left):
            return left
        pairs, inverse = np.unique(left << 32 | right, return_inverse=True)
        numbers = [number(pair >> 32, pair & 0xFFFFFFFF) for pair in pairs.tolist()]
        return np.array(numbers, dtype=np.int64)[inverse]

    def _sequence(self, rules: tuple[int, ...]) -> int:
        known = self._sequence_number.get(rules)
        if known is None:
            known = self._sequence_number[rules] = len(self._sequences)
            self._sequences.append(rules)
            self._changes.append(self._change(rules))
        return known

    def _change(self, rules: tuple[int, ...]) -> tuple[int, int]:
        """Return the bits of all states of the regions that rules move, and of those entered."""
        left = entered = 0
        for rule in (self._rules[number] for number in rules):
            bits = self.kernel.state_bits[self.kernel.region_index[rule.region]]
            left, entered = left | sum(bits.values()), entered | bits[rule.target]
        return left, entered

    def _longer(self, sequence: int, rule: int) -> int:
        return self._sequence((*self._sequences[sequence], rule))

    def _appended(self, sequence: int, more: int) -> int:
        return self._sequence(self._sequences[sequence] + self._sequences[more])

    def _moved(self, place: int, sequence: int) -> int:
        """Return the place after one microstep that fired a sequence, a rule for each region."""
        left, entered = self._changes[sequence]
        return self._place_of(self._codes[place] & ~left | entered)


@dataclass(frozen=True, slots=True)
class Meetings:
    """Ends of two ships under common signals, row by row; the second's cube is the common one."""

    mine: Ways
    theirs: Ways

    def take(self, chosen: Array) -> Meetings:
        """Return the rows of a mask or of some numbers."""
        return Meetings(self.mine.take(chosen), self.theirs.take(chosen))


def all_meetings(parts: Sequence[Meetings]) -> Meetings:
    """Return several batches of meetings as one."""
    return Meetings(joined([p.mine for p in parts]), joined([p.theirs for p in parts]))


def met_by(places: Array, mine: Ways, lead: Callable[[Ways], Ways]) -> Meetings:
    """Let a second ship, over the same signals, go on under the cube of each end of the first.

    Args:
        places: The second ship's configuration for each origin of the first's ends.
        mine: The first ship's ends.
        lead: Where the second ship is led.
    """
    nothing = np.zeros(len(mine), dtype=np.int64)
    began = Ways(
        origin=np.arange(len(mine)),
        place=places[mine.origin],
        true=mine.true,
        false=mine.false,
        fired=nothing,
        rounds=nothing.copy(),
        refusal=nothing - 1,
    )
    theirs = lead(began)
    mine = mine.take(theirs.origin)
    return Meetings(mine, replace(theirs, origin=mine.origin))


class Rests:
    """The valuations in which the configurations of a batch are at rest.

    Args:
        ways: Ends in which nothing fired; their origin is the configuration's number.
        count: How many configurations there are.
    """

    def __init__(self, ways: Ways, count: int) -> None:
        self._ways = ways.take(np.argsort(ways.origin, kind="stable"))
        self._counts = np.bincount(self._ways.origin, minlength=count)
        self._starts = np.cumsum(self._counts) - self._counts

    def cubes(self, origin: int) -> tuple[Cube, ...]:
        """Return the cubes of one configuration."""
        here = slice(self._starts[origin], self._starts[origin] + self._counts[origin])
        true, false = self._ways.true[here].tolist(), self._ways.false[here].tolist()
        return tuple(zip(true, false, strict=True))

    def cut(self, origin: int, cubes: Iterable[Cube]) -> list[Cube]:
        """Return the parts of some cubes in which a configuration is at rest."""
        at_rest = self.cubes(origin)
        parts = (meet(cube, rest) for cube in cubes for rest in at_rest)
        return [part for part in parts if part is not None]

    def common(self) -> Ways:
        """Return for each configuration that rests anywhere what all of its cubes share."""
        at_rest = self._counts > 0
        first = self._ways.take(self._starts[at_rest])
        if len(first):
            first.true = np.bitwise_and.reduceat(self._ways.true, self._starts[at_rest])
            first.false = np.bitwise_and.reduceat(self._ways.false, self._starts[at_rest])
        return first

    def met(self, ways: Ways) -> Array:
        """Return which ways go for some valuation in which their origin is at rest."""
        counts = self._counts[ways.origin]
        mine = np.repeat(np.arange(len(ways)), counts)
        first = np.cumsum(counts) - counts
        rest = np.arange(len(mine)) + np.repeat(self._starts[ways.origin] - first, counts)
        apart = (ways.true[mine] & self._ways.false[rest]) | (
            ways.false[mine] & self._ways.true[rest]
        )
        return np.bincount(mine[apart == 0], minlength=len(ways)) > 0

    def freed(self, space: CubeSpace, names: Iterable[str]) -> tuple[Array, list[Cube]]:
        """Return each configuration's cubes with some signals free again, each once."""
        names = tuple(names)
        rows = zip(
            self._ways.origin.tolist(), self._ways.true.tolist(), self._ways.false.tolist(),
            strict=True,
        )  # fmt: skip
        freed = dict.fromkeys(
            (origin, space.freed((true, false), names)) for origin, true, false in rows
        )
        return np.array([origin for origin, _ in freed], dtype=np.int64), [c for _, c in freed]
