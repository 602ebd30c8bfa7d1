"""How fast the logic is: one event, many at once, an exploration against firing machines bare.

The bare way fires the `transitions` machines in every physically possible valuation of the signals
that matter for a configuration and an event, which is what an exploration without cubes has to do.
Times are of the processor, so that other work on the machine adds little to them; what is asserted
leaves room for a machine that is three times slower.
"""

from __future__ import annotations

import gc
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.helpers.charts import STATECHARTS, generic_chart, machine_for, microstep
from tests.helpers.definition import Send, sends, sent
from trainer.charts.compare import compare
from trainer.charts.cubes import FREE, Cube
from trainer.charts.explore import Explorer
from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation, load_installation
from trainer.charts.kernel import AUTOMATIC, Kernel
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.symbolic import Array, Symbolic, Ways

SAMPLE = 12
"""Settled configurations of the sample, evenly spread over all of them."""
TRIED = 150
"""Valuations fired for each pair of configuration and event; the rest counts at the same pace."""
SENDS = 30_000
LEAST_BATCH = 1_000
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
            "bare_trigger_against_send": bare_us / each_us,
            "live_against_kernel": live_us / each_us,
        }
    )  # fmt: skip
    print(f"\n{ship}: {benchmark.extra_info}")  # noqa: T201
    assert each_us < MOST_SLOWER * GOAL_SEND_US
    assert live_us > each_us


def _full(places: Array, bits: Array, full: int) -> Ways:
    """Return a batch of single valuations: no signal of their cubes is free."""
    nothing = np.zeros(len(places), dtype=np.int64)
    numbers = np.arange(len(places))
    return Ways(numbers, places, bits, full & ~bits, nothing, nothing.copy(), nothing - 1)


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
        often = -(-LEAST_BATCH // len(begun))
        batches.append((event, np.array(begun * often, dtype=np.int64)))
    count = sum(len(begun) for _, begun in batches)

    def run() -> list[Ways]:
        ends = []
        for event, begun in batches:
            ways = _full(begun[:, 0], begun[:, 1], full)
            is_key = not machine.chart.events[event].changes
            ways = symbolic.settle(ways) if is_key else ways
            ends.append(symbolic.send(event, ways, at_rest=is_key))
        return ends

    run()
    ends = benchmark.pedantic(run, rounds=5)
    each_us = 1e6 * benchmark.stats.stats.min / count
    benchmark.extra_info.update({"us_each": each_us, "sends": count})
    print(f"\n{ship}: {benchmark.extra_info}")  # noqa: T201
    assert sum(map(len, ends)) == count
    assert each_us < MOST_SLOWER * GOAL_BULK_US


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("ship", GOAL_EXPLORED_S)
def test_exhaustive_exploration(benchmark: BenchmarkFixture, ship: str) -> None:
    kernel = Kernel(_ship(ship).chart)
    result = benchmark.pedantic(lambda: Explorer(kernel).run(), rounds=1)
    benchmark.extra_info["configurations"] = len(result.settled)
    benchmark.extra_info["transitions"] = len(result.edges)
    benchmark.extra_info["goal_s"] = GOAL_EXPLORED_S[ship]
    print(f"\n{ship}: {benchmark.stats.stats.max:.1f} s, {benchmark.extra_info}")  # noqa: T201
    assert result.violations == []
    assert benchmark.stats.stats.max < MOST_EXPLORED_S[ship]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
@pytest.mark.parametrize("ship", SHIPS)
def test_memory_of_an_exploration(benchmark: BenchmarkFixture, ship: str) -> None:
    """In a process of its own, since one tells only the most that it ever held."""
    command = [sys.executable, "-m", "tests.benchmarks.exploring_memory", ship]

    def explored() -> str:
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout

    configurations, edges, peak_mb = map(int, benchmark.pedantic(explored, rounds=1).split())
    benchmark.extra_info["peak_mb"] = peak_mb
    print(f"\n{ship}: {peak_mb} MB")  # noqa: T201
    assert min(configurations, edges) > 1_000
    assert peak_mb < MOST_MEMORY_MB[ship]


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("other", ["ship_slate", "ship_amber_stage_two"])
def test_product_search(benchmark: BenchmarkFixture, other: str) -> None:
    ships = [_ship("ship_amber"), _ship(other)]
    said: list[tuple[int, int]] = []
    found = benchmark.pedantic(
        lambda: compare(ships[0], ships[1], lambda done, known: said.append((done, known))),
        rounds=1,
    )
    benchmark.extra_info["states"] = found.states
    benchmark.extra_info["transitions"] = found.transitions
    print(f"\n{other}: {benchmark.stats.stats.max:.1f} s, {benchmark.extra_info}")  # noqa: T201
    assert found.is_complete
    assert len(said) >= found.states // 250
    assert benchmark.stats.stats.max < MOST_COMPARED_S


# ---------------------------------------------------------------- against firing machines bare


@pytest.fixture(scope="module")
def explorer() -> Explorer:
    explorer = Explorer(Kernel(_ship("ship_amber").chart))
    explorer.run()
    return explorer


def _valuations(explorer: Explorer, names: list[int], cube: Cube) -> list[int]:
    """Return every possible valuation of some signals, others as these need them."""
    found = [cube]
    for bit in names:
        found = [
            one
            for part in found
            for value in (False, True)
            if (one := explorer.symbolic.space.with_signal(part, bit, value)) is not None
        ]
    return [one[0] for one in found]


def _common(cubes: tuple[Cube, ...]) -> Cube:
    """Return what is true and what is false in all of the cubes."""
    true, false = -1, -1
    for cube in cubes:
        true, false = true & cube[0], false & cube[1]
    return true, false


def _cubes(explorer: Explorer, here: Configuration, event: str) -> tuple[Cube, list[Cube]]:
    """Return where an event starts and the cubes of the ways it can go, as it is explored."""
    symbolic, rest = explorer.symbolic, explorer.result.settled[here]
    if event == AUTOMATIC:
        ways, start = symbolic.settle(symbolic.start([here])), FREE
        return start, [ways.cube(row) for row in range(len(ways))]
    changes = explorer.kernel.chart.events[event].changes
    starts = [symbolic.space.freed(one, changes) for one in rest] if changes else list(rest)
    start = _common(tuple(starts))
    began = symbolic.start([here] * len(starts), starts)
    ways = symbolic.send(event, began, at_rest=not changes)
    return start, list(dict.fromkeys(ways.cube(row) for row in range(len(ways))))


def _mattering(cubes: list[Cube], start: Cube) -> list[int]:
    """Return the bits of the signals that decide which way it goes."""
    mask = 0
    for true, false in cubes:
        mask |= true | false
    mask &= ~(start[0] | start[1])
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]


def _fire(machine: ModeMachine, here: Configuration, event: str, every: list[int]) -> float:
    """Return the time to fire the machines in every valuation [s], from a sample of them."""
    tried = every[:: max(1, len(every) // TRIED)]
    began_s = time.process_time()
    for bits in tried:
        sent(machine, (here, bits, event))
    return (time.process_time() - began_s) * len(every) / max(1, len(tried))


def _bare_s(explorer: Explorer, machine: ModeMachine, here: Configuration) -> tuple[float, float]:
    """Return the time to fire the machines for all events of one configuration [s].

    First in every valuation that matters, then in just one for each way it can go, as if somebody
    had already found out which ones those are.
    """
    every_s = one_each_s = 0.0
    for event in (AUTOMATIC, *machine.chart.events):
        start, cubes = _cubes(explorer, here, event)
        every = _valuations(explorer, _mattering(cubes, start), start)
        every_s += _fire(machine, here, event, every)
        one_each_s += _fire(machine, here, event, [cube[0] for cube in cubes])
    return every_s, one_each_s


@pytest.mark.benchmark(timer=time.process_time)
def test_exploration_against_firing_the_machines_bare(
    benchmark: BenchmarkFixture, explorer: Explorer
) -> None:
    settled, machine = list(explorer.result.settled), ModeMachine(explorer.kernel.chart)
    sample = settled[:: max(1, len(settled) // SAMPLE)][:SAMPLE]
    found = [_bare_s(explorer, machine, one) for one in sample]
    every_s, one_each_s = (sum(part) / len(sample) for part in zip(*found, strict=True))
    result = benchmark.pedantic(lambda: Explorer(explorer.kernel).run(), rounds=1)
    explored_s = benchmark.stats.stats.mean / len(result.settled)
    benchmark.extra_info["bare_s_per_configuration"] = every_s
    benchmark.extra_info["explored_s_per_configuration"] = explored_s
    benchmark.extra_info["ratio"] = every_s / explored_s
    benchmark.extra_info["ratio_if_the_ways_were_known"] = one_each_s / explored_s
    print(f"\n{benchmark.extra_info}")  # noqa: T201
    assert every_s / explored_s >= WANTED_RATIO
