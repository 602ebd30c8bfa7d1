"""How fast the logic is: one event on the machines, and an exploration against firing them bare.

The bare way fires the `transitions` machines in every physically possible valuation of the signals
that matter for a configuration and an event, which is what an exploration without cubes has to do.
"""

from __future__ import annotations

import time
from itertools import islice

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.helpers.charts import STATECHARTS, generic_chart, machine_for
from trainer.charts.cubes import FREE
from trainer.charts.explore import Explorer
from trainer.charts.guard import Configuration
from trainer.charts.installation import load_installation
from trainer.charts.loader import load_chart
from trainer.charts.machine import AUTOMATIC, ModeMachine
from trainer.charts.table import Table

SAMPLE = 12
"""Settled configurations of the sample, evenly spread over all of them."""
TRIED = 150
"""Valuations fired for each pair of configuration and event; the rest counts at the same pace."""
WANTED_RATIO = 20.0
WANTED_S = 60.0


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


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_exhaustive_exploration(benchmark: BenchmarkFixture, ship: str) -> None:
    path = STATECHARTS / "installations" / f"{ship}.yaml"
    machine = ModeMachine(load_installation(path, STATECHARTS).chart)
    result = benchmark.pedantic(lambda: Explorer(machine).run(), rounds=1)
    benchmark.extra_info["configurations"] = len(result.settled)
    benchmark.extra_info["transitions"] = len(result.edges)
    assert result.violations == []
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


def _mattering(table: Table, configuration: Configuration, event: str) -> list[int]:
    """Return the bits of the signals that decide what the event does there."""
    leaves = (
        table.settle(configuration, FREE)
        if event == AUTOMATIC
        else table.send(configuration, FREE, event, at_rest=False)
    )
    mask = 0
    for leaf in leaves:
        mask |= leaf.cube[0] | leaf.cube[1]
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]


def _bare_s(table: Table, configuration: Configuration) -> float:
    """Return the time to fire the bare machines for all events of one configuration [s]."""
    machine = table.machine
    total_s = 0.0
    for event in (AUTOMATIC, *machine.chart.events):
        every = _valuations(table, _mattering(table, configuration, event))
        step = max(1, len(every) // TRIED)
        tried = list(islice(every, 0, None, step))
        began_s = time.perf_counter()
        for bits in tried:
            if event == AUTOMATIC:
                machine.settle(configuration, bits)
            else:
                machine.send(configuration, bits, event, settle_first=False)
        total_s += (time.perf_counter() - began_s) * len(every) / len(tried)
    return total_s


def test_exploration_against_firing_the_machines_bare(
    benchmark: BenchmarkFixture, explorer: Explorer
) -> None:
    settled = list(explorer.result.settled)
    sample = settled[:: max(1, len(settled) // SAMPLE)][:SAMPLE]
    bare_s = sum(_bare_s(explorer.table, one) for one in sample) / len(sample)
    result = benchmark.pedantic(lambda: Explorer(explorer.machine).run(), rounds=1)
    explored_s = benchmark.stats.stats.mean / len(result.settled)
    ratio = bare_s / explored_s
    benchmark.extra_info["bare_s_per_configuration"] = bare_s
    benchmark.extra_info["explored_s_per_configuration"] = explored_s
    benchmark.extra_info["ratio"] = ratio
    assert ratio >= WANTED_RATIO
