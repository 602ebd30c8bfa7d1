"""Cubes go every way that single valuations go and no other, in made-up charts and in the ships."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tests.helpers.charts import is_possible, make_possible
from tests.helpers.definition import sends
from tests.helpers.situations import workspace
from tests.helpers.ways import End, end_at, end_under, lead, random_chart, ring
from trainer.charts.cubes import FREE, Cube, CubeSpace, meet
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, MAXIMUM_ROUNDS, Kernel, UnsettledError
from trainer.charts.spec import ChartSpec, Not
from trainer.charts.symbolic import Rests, Symbolic, Ways, joined

EVENTS = (AUTOMATIC, "press", "turn")
WIDE = 70
"""More signals than a machine word has bits."""


def _configurations(chart: ChartSpec) -> list[Configuration]:
    return list(product(*(region.states for region in chart.regions.values())))


def _valuations(kernel: Kernel, chance: random.Random) -> list[int]:
    """Return all possible valuations; of many signals only some, those that guards read free."""
    names = list(kernel.signal_bit)
    if len(names) <= 6:
        every = (
            {name for name, value in zip(names, values, strict=True) if value}
            for values in product((False, True), repeat=len(names))
        )
        return [kernel.bits(true) for true in every if is_possible(kernel.chart, true)]
    some = ({name for name in names if chance.random() < 0.5} for _ in range(25))
    return [kernel.bits(make_possible(kernel.chart, true)) for true in some]


def _led(symbolic: Symbolic, event: str, ways: Ways) -> Ways | None:
    try:
        if event == AUTOMATIC:
            return symbolic.settle(ways)
        return symbolic.send(event, ways, at_rest=False)
    except UnsettledError:
        return None


def _check(chart: ChartSpec, chance: random.Random) -> tuple[int, int]:
    """Compare a chart's cubes with single valuations; return the ends and those that never rest."""
    kernel, symbolic = Kernel(chart), Symbolic(Kernel(chart))
    valuations = _valuations(kernel, chance)
    ends = restless = 0
    for event, here in product(EVENTS, _configurations(chart)):
        said = {bits: lead(kernel, here, bits, event) for bits in valuations}
        ways = _led(symbolic, event, symbolic.start([here]))
        if ways is None:
            assert None in said.values() or len(chart.signals) > 6
            restless += 1
            _check_one_by_one(symbolic, here, event, said)
            continue
        for bits, end in said.items():
            assert end_under(symbolic, ways, bits) == end
            ends += 1
        _check_one_by_one(symbolic, here, event, said)
    return ends, restless


def _check_one_by_one(
    symbolic: Symbolic, here: Configuration, event: str, said: dict[int, End | None]
) -> None:
    """Let full cubes go at once, those that rest; each of the others never rests by itself too."""
    full = (1 << len(symbolic.kernel.signal_bit)) - 1
    for bits in [bits for bits, end in said.items() if end is None][:3]:
        assert _led(symbolic, event, symbolic.start([here], [(bits, full & ~bits)])) is None
    resting = [bits for bits, end in said.items() if end is not None]
    cubes = [(bits, full & ~bits) for bits in resting]
    if cubes:
        ways = _led(symbolic, event, symbolic.start([here] * len(cubes), cubes))
        assert ways is not None
        assert sorted(ways.origin.tolist()) == list(range(len(cubes)))
        for row, origin in enumerate(ways.origin.tolist()):
            assert ways.cube(row) == cubes[origin]
            assert end_at(symbolic, ways, row) == said[resting[origin]]


@pytest.mark.parametrize(
    ("signal_count", "charts"),
    [
        pytest.param(5, 10, id="few signals"),
        pytest.param(WIDE, 5, id="more than a word"),
        pytest.param(5, 150, id="few signals, long", marks=pytest.mark.long),
        pytest.param(WIDE, 40, id="more than a word, long", marks=pytest.mark.long),
    ],
)
def test_cubes_go_where_single_valuations_go_in_charts_made_by_chance(
    signal_count: int, charts: int
) -> None:
    ends = restless = refusals = 0
    for seed in range(charts):
        chance = random.Random(seed)
        chart = random_chart(chance, signal_count)
        found = _check(chart, chance)
        ends, restless = ends + found[0], restless + found[1]
        refusals += len(chart.refusals) > 1
    assert ends > 100 * charts
    assert restless
    assert refusals > charts / 4, "charts with several refusals"


def test_a_wide_chart_takes_integers_without_end() -> None:
    symbolic = Symbolic(Kernel(random_chart(random.Random(1), WIDE)))
    assert symbolic.word is object
    narrow = Symbolic(Kernel(random_chart(random.Random(1), 62)))
    assert narrow.word is np.int64


def test_the_comparison_with_single_valuations_can_fail() -> None:
    """The same chart with a refusal denied: cubes of the one against valuations of the other."""
    caught = 0
    for seed in range(20):
        chart = random_chart(random.Random(seed), 5)
        wrong = {name: replace(one, guard=Not(one.guard)) for name, one in chart.refusals.items()}
        kernel = Kernel(replace(chart, refusals=wrong))
        symbolic = Symbolic(Kernel(chart))
        valuations = _valuations(kernel, random.Random(seed))[:4]
        for here, bits in product(_configurations(chart), valuations):
            ways = _led(symbolic, "press", symbolic.start([here]))
            said = lead(kernel, here, bits, "press")
            caught += ways is not None and end_under(symbolic, ways, bits) != said
    assert caught > 20


def test_a_chart_may_settle_in_as_many_rounds_over_cubes_as_one_by_one() -> None:
    symbolic = Symbolic(Kernel(ring(MAXIMUM_ROUNDS + 1, closed=False)))
    ends = symbolic.settle(symbolic.start([("s0",)]))
    assert end_under(symbolic, ends, 1).rounds == MAXIMUM_ROUNDS
    longer = Symbolic(Kernel(ring(MAXIMUM_ROUNDS + 2, closed=False)))
    with pytest.raises(UnsettledError):
        longer.settle(longer.start([("s0",)]))


# ---------------------------------------------------------------- the ships


def _by_event(
    ship: str, count: int, seed: int
) -> Iterator[tuple[str, list[tuple[Configuration, int]]]]:
    groups: dict[str, list[tuple[Configuration, int]]] = {}
    machine = workspace().logic(ship).machine
    for here, bits, event in sends(machine, count, seed):
        groups.setdefault(event, []).append((here, bits))
    yield from groups.items()


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
@pytest.mark.parametrize("count", [2_000, pytest.param(60_000, marks=pytest.mark.long)])
def test_single_valuations_in_bulk_are_what_the_kernel_sends(ship: str, count: int) -> None:
    kernel = workspace().logic(ship).machine.kernel
    symbolic = Symbolic(Kernel(kernel.chart))
    full = (1 << len(kernel.signal_bit)) - 1
    for event, begun in _by_event(ship, count, 7):
        cubes = [(bits, full & ~bits) for _, bits in begun]
        ways = _led(symbolic, event, symbolic.start([here for here, _ in begun], cubes))
        assert ways is not None
        assert sorted(ways.origin.tolist()) == list(range(len(begun)))
        for row, origin in enumerate(ways.origin.tolist()):
            assert end_at(symbolic, ways, row) == lead(kernel, *begun[origin], event)


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
@pytest.mark.parametrize("count", [100, pytest.param(2_000, marks=pytest.mark.long)])
def test_the_free_cube_goes_every_way_of_single_valuations(ship: str, count: int) -> None:
    kernel = workspace().logic(ship).machine.kernel
    symbolic = Symbolic(Kernel(kernel.chart))
    for event, begun in _by_event(ship, count, 8):
        for here, bits in begun:
            ways = _led(symbolic, event, symbolic.start([here]))
            assert ways is not None
            assert end_under(symbolic, ways, bits) == lead(kernel, here, bits, event)


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_ends_that_are_wanted_alone_are_those_among_all(ship: str) -> None:
    symbolic = Symbolic(workspace().logic(ship).machine.kernel)
    place = symbolic.place(symbolic.kernel.initial)
    starts = symbolic.start_at(np.array([place]))
    ends = symbolic.settle(starts)
    rests = Rests(ends.take(ends.fired == 0), 1)
    for event in symbolic.kernel.chart.events:
        every = symbolic.send(event, starts)
        wanted = symbolic.send(event, starts, wanted=rests.met)
        assert _rows(wanted) == _rows(every.take(rests.met(every)))
        assert 0 < len(wanted) <= len(every)


def _rows(ways: Ways) -> list[tuple[int, ...]]:
    return sorted(zip(*(column.tolist() for column in ways.columns()), strict=True))


# ---------------------------------------------------------------- cubes


def _members(kernel: Kernel, cube: Cube) -> set[int]:
    valuations = _valuations(kernel, random.Random(0))
    return {bits for bits in valuations if not cube[0] & ~bits and not cube[1] & bits}


@pytest.mark.parametrize("seed", range(8))
def test_a_cube_divided_by_a_guard_is_what_each_valuation_says(seed: int) -> None:
    chance = random.Random(seed)
    chart = random_chart(chance, 5)
    kernel = Kernel(chart)
    space = CubeSpace(chart, kernel.signal_bit)
    guards = [tuple(t for t in kernel.guards[name]) for name in kernel.guards]
    cells = space.divided(guards)
    for bits in _valuations(kernel, chance):
        holding = [n for cube, n in cells if bits in _members(kernel, cube)]
        first = [
            n for n, tests in enumerate(guards) if any(bits & t.mask == t.value for t in tests)
        ]
        assert holding == [first[0] if first else -1]
    for test in (test for guard in guards for test in guard):
        inside, outside = space.of_test(test), space.without(FREE, test)
        parts = [*([inside] if inside is not None else []), *outside]
        counted = [bits for part in parts for bits in _members(kernel, part)]
        assert sorted(counted) == sorted(_members(kernel, FREE))


def test_signals_that_are_free_again_take_what_hung_on_them_with_them() -> None:
    kernel = workspace().logic("ship_amber").machine.kernel
    space = CubeSpace(kernel.chart, kernel.signal_bit)
    for name, bit in kernel.signal_bit.items():
        for value in (False, True):
            cube = space.with_signal(FREE, bit, value)
            assert cube is not None
            freed = space.freed(cube, [name])
            assert meet(freed, cube) == cube, "it holds all that it held"
            others = (cube[0] & ~(1 << bit), cube[1] & ~(1 << bit))
            forced = {
                wanted
                for wanted in (False, True)
                if (one := space.with_signal(FREE, bit, wanted)) and meet(one, others) is None
            }
            is_decided = bool((freed[0] | freed[1]) >> bit & 1)
            assert is_decided == bool(forced), "decided only where what stays decides it"
            kept = {n for n, b in kernel.signal_bit.items() if (others[0] | others[1]) >> b & 1}
            assert space.freed(cube, [name, *kept]) == FREE


def test_ways_that_are_joined_keep_their_rows() -> None:
    symbolic = Symbolic(Kernel(random_chart(random.Random(3), 5)))
    one = symbolic.start(_configurations(symbolic.kernel.chart)[:3])
    other = symbolic.start(_configurations(symbolic.kernel.chart)[3:5], [(1, 2), (2, 1)])
    both = joined([one, other])
    assert len(both) == 5
    assert both.place.tolist() == [*one.place, *other.place]
    assert both.cube(4) == (2, 1)
