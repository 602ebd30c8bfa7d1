"""How fast the logic is: one event on the machines, and an exploration against firing them bare.

The bare way fires the `transitions` machines in every physically possible valuation of the signals
that matter for a configuration and an event, which is what an exploration without cubes has to do.
Times are of the processor, so that other work on the machine adds nothing to them.
"""

from __future__ import annotations

import time

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from trainer.charts.table import Leaf, Table

from tests.helpers.charts import STATECHARTS, generic_chart, machine_for
from trainer.charts.compare import compare
from trainer.charts.cubes import FREE, Cube, meet
from trainer.charts.explore import Explorer
from trainer.charts.guard import Configuration
from trainer.charts.installation import load_installation
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine

SAMPLE = 12
"""Settled configurations of the sample, evenly spread over all of them."""
TRIED = 150
"""Valuations fired for each pair of configuration and event; the rest counts at the same pace."""
WANTED_RATIO = 20.0
WANTED_S = 60.0

Leaves = tuple[Cube, list[Leaf]]


@pytest.fixture(scope="module")
def explorer() -> Explorer:
    path = STATECHARTS / "installations" / "ship_amber.yaml"
    explorer = Explorer(ModeMachine(load_installation(path, STATECHARTS).chart))
    explorer.run()
    return explorer


def test_one_event(benchmark: BenchmarkFixture) -> None:
    machine = machine_for(generic_chart())
    bits = machine.bits(["self_test_passed", "electrical_ok", "attitude_valid", "servo_ok"])
    ready = machine.settle(machine.initial, bits).configuration
    outcome = benchmark(machine.send, ready, bits, "heading_select")
    assert "heading_select" in outcome.configuration


def test_loading_the_generic_chart(benchmark: BenchmarkFixture) -> None:
    chart = benchmark(load_chart, STATECHARTS / "generic.yaml")
    assert chart.rules


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("ship", ["ship_amber", "ship_amber_stage_two", "ship_slate"])
def test_exhaustive_exploration(benchmark: BenchmarkFixture, ship: str) -> None:
    path = STATECHARTS / "installations" / f"{ship}.yaml"
    machine = ModeMachine(load_installation(path, STATECHARTS).chart)
    result = benchmark.pedantic(lambda: Explorer(machine).run(), rounds=1)
    benchmark.extra_info["configurations"] = len(result.settled)
    benchmark.extra_info["transitions"] = len(result.edges)
    assert result.violations == []
    assert benchmark.stats.stats.max < WANTED_S


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("other", ["ship_slate", "ship_amber_stage_two"])
def test_product_search(benchmark: BenchmarkFixture, other: str) -> None:
    folder = STATECHARTS / "installations"
    ships = [
        load_installation(folder / f"{one}.yaml", STATECHARTS) for one in ("ship_amber", other)
    ]
    told: list[tuple[int, int]] = []
    found = benchmark.pedantic(
        lambda: compare(ships[0], ships[1], lambda done, known: told.append((done, known))),
        rounds=1,
    )
    benchmark.extra_info["states"] = found.states
    benchmark.extra_info["transitions"] = found.transitions
    assert found.is_complete
    assert len(told) >= found.states // 100
    assert benchmark.stats.stats.max < WANTED_S


def _valuations(table: Table, names: list[int], cube: tuple[int, int] = FREE) -> list[int]:
    """Return every possible valuation of some signals, others as these need them."""
    found = [cube]
    for bit in names:
        found = [
            one
            for part in found
            for value in (False, True)
            if (one := table.space.with_signal(part, bit, value)) is not None
        ]
    return [one[0] for one in found]


def _common(cubes: tuple[Cube, ...]) -> Cube:
    """Return what is true and what is false in all of the cubes."""
    true, false = -1, -1
    for cube in cubes:
        true, false = true & cube[0], false & cube[1]
    return true, false


def _ends(table: Table, configuration: Configuration, rest: tuple[Cube, ...], event: str) -> Leaves:
    """Return the ways an event can go, as an exploration looks at them, and where they start."""
    if event == AUTOMATIC:
        return FREE, table.settle(configuration, FREE)
    changes = table.machine.chart.events[event].changes
    if changes:
        cube = _common(tuple(table.space.freed(one, changes) for one in rest))
        return cube, list(table.send(configuration, cube, event, at_rest=False))
    cube = _common(rest)
    found = table.send(configuration, cube, event)
    return cube, [one for one in found if any(meet(one.cube, part) for part in rest)]


def _mattering(leaves: list[Leaf], start: Cube) -> list[int]:
    """Return the bits of the signals that decide which way it goes."""
    mask = 0
    for leaf in leaves:
        mask |= leaf.cube[0] | leaf.cube[1]
    mask &= ~(start[0] | start[1])
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]


def _fire(
    machine: ModeMachine, configuration: Configuration, event: str, every: list[int]
) -> float:
    """Return the time to fire the machines in every valuation [s], from a sample of them."""
    tried = every[:: max(1, len(every) // TRIED)]
    began_s = time.process_time()
    for bits in tried:
        if event == AUTOMATIC:
            machine.settle(configuration, bits)
        else:
            machine.send(configuration, bits, event, settle_first=False)
    return (time.process_time() - began_s) * len(every) / max(1, len(tried))


def _bare_s(
    table: Table, configuration: Configuration, rest: tuple[Cube, ...]
) -> tuple[float, float]:
    """Return the time to fire the machines for all events of one configuration [s].

    First in every valuation that matters, then in just one for each way it can go, as if somebody
    had already found out which ones those are.
    """
    every_s = one_each_s = 0.0
    for event in (AUTOMATIC, *table.machine.chart.events):
        start, leaves = _ends(table, configuration, rest, event)
        every = _valuations(table, _mattering(leaves, start), start)
        every_s += _fire(table.machine, configuration, event, every)
        known = [leaf.cube[0] for leaf in leaves]
        one_each_s += _fire(table.machine, configuration, event, known)
    return every_s, one_each_s


@pytest.mark.benchmark(timer=time.process_time)
def test_exploration_against_firing_the_machines_bare(
    benchmark: BenchmarkFixture, explorer: Explorer
) -> None:
    settled = list(explorer.result.settled)
    sample = settled[:: max(1, len(settled) // SAMPLE)][:SAMPLE]
    found = [_bare_s(explorer.table, one, explorer.result.settled[one]) for one in sample]
    every_s, one_each_s = (sum(part) / len(sample) for part in zip(*found, strict=True))
    result = benchmark.pedantic(lambda: Explorer(explorer.machine).run(), rounds=1)
    explored_s = benchmark.stats.stats.mean / len(result.settled)
    benchmark.extra_info["bare_s_per_configuration"] = every_s
    benchmark.extra_info["explored_s_per_configuration"] = explored_s
    benchmark.extra_info["ratio"] = every_s / explored_s
    benchmark.extra_info["ratio_if_the_ways_were_known"] = one_each_s / explored_s
    assert every_s / explored_s >= WANTED_RATIO
