"""How fast the logic is: one event, many at once, an exploration against firing machines bare.

The bare way fires the `transitions` machines in every physically possible valuation of the signals
that matter for a configuration and an event, which is what an exploration without cubes has to do.
Times are of the processor, so that other work on the machine adds little to them; what is asserted
leaves room for a machine that is three times slower.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.helpers.charts import STATECHARTS, generic_chart, machine_for, microstep
from tests.helpers.definition import Send, sends
from trainer.charts.installation import Installation, load_installation
from trainer.charts.kernel import AUTOMATIC, Kernel
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.symbolic import Symbolic, Ways

SAMPLE = 12
"""Settled configurations of the sample, evenly spread over all of them."""
TRIED = 150
"""Valuations fired for each pair of configuration and event; the rest counts at the same pace."""
SENDS = 30_000
WANTED_RATIO = 20.0
MOST_SLOWER = 3.0
"""How much slower a loaded machine may be than the one for which the goals are."""
GOAL_SEND_US = 20.0
GOAL_BULK_US = 3.0
GOAL_EXPLORED_S = {"ship_amber": 3.0, "ship_amber_stage_two": 3.0, "ship_slate": 8.0}
MOST_EXPLORED_S = {"ship_amber": 10.0, "ship_amber_stage_two": 10.0, "ship_slate": 25.0}
MOST_MEMORY_MB = {"ship_amber": 300.0, "ship_slate": 500.0}
MOST_COMPARED_S = 25.0
SHIPS = ["ship_amber", "ship_slate"]


@cache
def _ship(name: str) -> Installation:
    return load_installation(STATECHARTS / "installations" / f"{name}.yaml", STATECHARTS)


@cache
def _walk(ship: str) -> tuple[ModeMachine, tuple[Send, ...]]:
    """Return a ship's machine, and sends as a random walk meets them, selectors and keys."""
    machine = ModeMachine(_ship(ship).chart)
    every = sends(machine, SENDS * 6 // 5 + 1, 1)
    return machine, tuple(send for send in every if send[2] != AUTOMATIC)[:SENDS]


def _each_us(run: Callable[[], object], count: int) -> float:
    """Return the shortest time of three for each of what a run does [us]."""
    times_s = []
    gc.collect()
    for _ in range(3):
        began_s = time.process_time()
        run()
        times_s.append(time.process_time() - began_s)
    return 1e6 * min(times_s) / count


def test_loading_the_generic_chart(benchmark: BenchmarkFixture) -> None:
    chart = benchmark(load_chart, STATECHARTS / "generic.yaml")
    assert chart.rules


def test_one_event(benchmark: BenchmarkFixture) -> None:
    machine = machine_for(generic_chart())
    bits = machine.bits(["self_test_passed", "electrical_ok", "attitude_valid", "servo_ok"])
    ready = machine.settle(machine.initial, bits).configuration
    outcome = benchmark(machine.send, ready, bits, "heading_select")
    assert "heading_select" in outcome.configuration


class _Bare:
    """The smallest model that the library fires: what one of its triggers costs by itself."""

    def __init__(self, state: str) -> None:
        self.state = state
        self.rule = None


def _bare_trigger_us(machine: ModeMachine) -> float:
    """Return the time of one trigger of the library, a rule without a guard that fires [us]."""
    rules = machine.chart.rules.values()
    rule = next(rule for rule in rules if rule.events and not machine.kernel.guards[rule.id][0][0])
    event = machine.machines[machine.region_index[rule.region]].events[rule.events[0]]
    bits = machine.kernel.guards[rule.id][0].value

    def run() -> None:
        for _ in range(5_000):
            event.trigger(_Bare(rule.sources[0]), code=0, bits=bits)

    return _each_us(run, 5_000)


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("ship", SHIPS)
def test_one_send_of_a_warm_kernel(benchmark: BenchmarkFixture, ship: str) -> None:
    machine, walk = _walk(ship)
    kernel = machine.kernel
    selectors = {event.id for event in machine.chart.events.values() if event.changes}

    def run(runner: Kernel | ModeMachine, some: tuple[Send, ...]) -> None:
        send = runner.send
        for here, bits, event in some:
            send(here, bits, event, settle_first=event not in selectors)

    assert len(walk) == SENDS
    run(kernel, walk)
    benchmark.pedantic(lambda: run(kernel, walk), rounds=3)
    each_us = 1e6 * benchmark.stats.stats.min / SENDS
    few = walk[:: SENDS // 3_000]
    live_us = _each_us(lambda: run(machine, few), len(few))
    fired_us = _each_us(lambda: [microstep(machine, *send) for send in few[::4]], len(few[::4]))
    bare_us = _bare_trigger_us(machine)
    benchmark.extra_info.update(
        {
            "us_each": each_us, "us_live_session": live_us, "us_bare_trigger": bare_us,
            "us_bare_microstep_of_all_regions": fired_us,
            "bare_trigger_against_send": bare_us / each_us, "live_against_kernel": live_us / each_us,
        }
    )  # fmt: skip
    print(f"\n{ship}: {benchmark.extra_info}")  # noqa: T201
    assert each_us < MOST_SLOWER * GOAL_SEND_US
    assert live_us > each_us


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("ship", SHIPS)
def test_sends_in_bulk(benchmark: BenchmarkFixture, ship: str) -> None:
    machine, walk = _walk(ship)
    symbolic = Symbolic(machine.kernel)
    full = (1 << len(machine.signal_bit)) - 1
    by_event: dict[str, list[tuple[int, int]]] = {}
    for here, bits, event in walk:
        by_event.setdefault(event, []).append((symbolic.place(here), bits))
    batches = []
    for event, begun in by_event.items():
        begun = begun * -(-1_000 // len(begun))
        batches.append((event, np.array(begun, dtype=np.int64)))
    count = sum(len(begun) for _, begun in batches)

    def run() -> list[Ways]:
        ends = []
        for event, begun in batches:
            ways = symbolic.start_full(begun[:, 0], begun[:, 1])
            if not machine.chart.events[event].changes:
                ways = symbolic.settle(ways)
            ends.append(symbolic.send(event, ways, at_rest=False))
        return ends

    run()
    ends = benchmark.pedantic(run, rounds=3)
    each_us = 1e6 * benchmark.stats.stats.min / count
    benchmark.extra_info.update({"us_each": each_us, "sends": count})
    print(f"\n{ship}: {benchmark.extra_info}")  # noqa: T201
    assert sum(map(len, ends)) == count
    assert full
    assert each_us < MOST_SLOWER * GOAL_BULK_US
