"""The program is killed in the middle of a check, and goes on at the same item."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import trainer
from tests.helpers.check_window import ME, kept
from tests.helpers.small_bank import PLANS, prepare
from trainer.records.check_sitting import sittings
from trainer.records.store import FILE_NAME, Store

_VICTIM = Path(__file__).with_name("check_window_victim.py")
_LONGEST_WAIT_S = 0.15


def run_and_kill(folder: Path, chance: random.Random) -> list[list[str]]:
    """Start the program, kill it some time after its first item, return what it said."""
    process = subprocess.Popen(
        [sys.executable, str(_VICTIM), str(folder)], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(Path(trainer.__file__).parents[1])},
    )  # fmt: skip
    try:
        first = process.stdout.readline()
        assert first.startswith("asked "), first
        time.sleep(chance.uniform(0.0, _LONGEST_WAIT_S))
    finally:
        process.send_signal(signal.SIGKILL)
        rest, _ = process.communicate(timeout=60)
    lines = [first, *rest.splitlines(keepends=True)]
    return [line.split() for line in lines if line.endswith("\n")]


def kill_in_checks(folder: Path, kills: int) -> int:
    """Kill a check again and again; return how many answers were kept in all."""
    prepare(folder)
    plans = PLANS.replace("fixed_items: 6", "fixed_items: 24").replace("cut: 4", "cut: 12")
    (folder / "check_plans.yaml").write_text(plans, encoding="utf-8")
    chance = random.Random(5)
    acknowledged: list[str] = []
    for _ in range(kills):
        told = run_and_kill(folder, chance)
        with Store.open(folder / FILE_NAME) as store:
            (state,) = sittings(store)
        items = [one.item_id for one in kept(folder)]
        # It went on at the first item without an answer, the same as before it was killed.
        assert told[0] == [
            "asked",
            str(len(acknowledged) + 1),
            state.sitting.items[len(acknowledged)],
        ]
        acknowledged += [line[1] for line in told if line[0] == "kept"]
        # The last answer may be kept without having been acknowledged; never the other way.
        assert items[: len(acknowledged)] == acknowledged
        assert len(items) - len(acknowledged) in (0, 1)
        assert items == list(state.sitting.items[: len(items)])
        assert state.sitting.member == ME
        acknowledged = items
        if not state.is_open or len(items) >= len(state.sitting.items):
            break
    return len(acknowledged)


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_killed_in_a_check_it_goes_on_at_the_same_item(tmp_path: Path) -> None:
    kill_in_checks(tmp_path / "data", 2)


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_killed_ten_times_in_one_check(tmp_path: Path) -> None:
    assert kill_in_checks(tmp_path / "data", 10) > 0
