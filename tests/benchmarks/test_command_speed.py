"""How long a command takes as a process of its own, beside a Python that does nothing.

The goals of a quiet machine of two cores stand with the figures; what is asserted has room for
a noisy one: the most seconds, and the most times what a Python takes that does nothing. Measured is
the processor's own time, since what else the machine does isn't the command's.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

resource = pytest.importorskip("resource", reason="tells the time of other processes")

ROOT = Path(__file__).parents[2]
ROUNDS = 7


def children_s() -> float:
    """Return the processor time of all processes that were begun here and have ended [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return float(used.ru_utime + used.ru_stime)


def run(words: list[str], folder: Path) -> None:
    environment = os.environ | {"MODE_TRAINER_DATA": str(folder)}
    subprocess.run(
        [sys.executable, *words], check=True, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL
    )


def process_s(words: list[str], folder: Path) -> float:
    """Return the processor time of one Python process [s]."""
    before_s = children_s()
    run(words, folder)
    return children_s() - before_s


@pytest.mark.benchmark(timer=children_s)
@pytest.mark.parametrize(
    ("words", "goal_s", "most"),
    [
        (("--version",), 0.15, (0.4, 20)),
        (("--help",), 0.15, (0.4, 15)),
        (("run", "01-first-flight"), 0.35, (1.0, 50)),
        (("key", "01-first-flight"), 0.5, (1.5, 80)),
    ],
    ids=["version", "help", "run", "key"],
)
def test_a_command_as_a_process(
    benchmark: BenchmarkFixture,
    tmp_path: Path,
    words: tuple[str, ...],
    goal_s: float,
    most: tuple[float, float],
) -> None:
    command = ["-m", "trainer", *words]
    run(command, tmp_path)  # the first one also writes what makes the others fast
    nothing_s = min(process_s(["-c", "pass"], tmp_path) for _ in range(ROUNDS))
    benchmark.pedantic(run, args=(command, tmp_path), rounds=ROUNDS)
    best_s = benchmark.stats.stats.min
    times_nothing = best_s / nothing_s
    benchmark.extra_info.update(goal_s=goal_s, nothing_s=nothing_s, times_nothing=times_nothing)
    assert best_s <= most[0]
    assert times_nothing <= most[1]


@pytest.mark.benchmark(timer=children_s)
def test_a_second_start_is_faster_than_the_first(
    benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    """What the parser said is kept: without that a chart is parsed at each start."""
    command = ["-m", "trainer", "run", "01-first-flight"]
    run(command, tmp_path / "modules are compiled")
    first_s = min(process_s(command, tmp_path / f"first {number}") for number in range(5))
    benchmark.pedantic(run, args=(command, tmp_path / "first 0"), rounds=ROUNDS)
    later_s = benchmark.stats.stats.min
    benchmark.extra_info.update(first_s=first_s, later_of_first=later_s / first_s)
    assert later_s < 0.8 * first_s
