"""Making an item bank: its own share of it, held against steps of flight in the same run.

Seconds say little on a shared machine, so the goal is a ratio: a whole bank may cost as much as so
many steps of a session. A member whose aircraft the program brings makes none.
"""

from __future__ import annotations

import time
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

from tests.helpers.situations import intercept
from trainer.app import Workspace

SHIP = "ship_amber"
_STEPS = 20_000
_MOST_STEPS = 2_500_000
"""What a bank may cost, in steps of flight; 310,000 are flown for it."""


def _step_s() -> float:
    """Return the CPU time of a step of a flight with modes [s]."""
    session = intercept()
    session.press("approach")
    begin_s = time.process_time()
    for _ in range(_STEPS):
        session.step()
    return (time.process_time() - begin_s) / _STEPS


def test_a_bank_costs_as_much_as_so_many_steps_of_flight(
    benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    workspace = Workspace(user=tmp_path)
    workspace.library(SHIP)
    parts: list[float] = []

    def make() -> int:
        return len(workspace.made_bank(SHIP, parts.append).items)

    before_s, begin_s = _step_s(), time.process_time()
    assert benchmark.pedantic(make, rounds=1) > 3000
    bank_s = time.process_time() - begin_s
    steps = bank_s / ((before_s + _step_s()) / 2.0)
    benchmark.extra_info.update(cpu_s=round(bank_s, 1), steps=round(steps))
    assert parts == sorted(parts)
    assert steps < _MOST_STEPS


def test_a_member_waits_for_no_bank_of_an_aircraft_that_the_program_brings(
    benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    """Goal: a second, with reading the rules and the items; nothing is flown."""

    def open_check() -> int:
        library, bank = Workspace(user=tmp_path).kept_bank(SHIP)
        assert library.beliefs
        return len(bank.items)

    assert benchmark.pedantic(open_check, rounds=3) > 3000
    assert benchmark.stats["min"] < 3.0
