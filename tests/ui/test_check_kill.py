"""The program is killed in the middle of a check, and goes on at the same item."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest

from tests.helpers.check_window import ME, kept
from tests.helpers.killing import told_until_killed
from tests.helpers.small_bank import PLANS, prepare
from trainer.records.check_sitting import sittings
from trainer.records.store import FILE_NAME, Store

_VICTIM = Path(__file__).with_name("check_window_victim.py")
_LONGEST_WAIT_S = 0.15


def run_and_kill(folder: Path, chance: random.Random) -> list[list[str]]:
    """Start the program, kill it some time after its first item, return what it said."""
    wait_s = chance.uniform(0.0, _LONGEST_WAIT_S)
    return [line.split() for line in told_until_killed(_VICTIM, folder, wait_s=wait_s)]


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
