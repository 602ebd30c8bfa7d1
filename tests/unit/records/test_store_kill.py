"""No acknowledged answer is lost, and no file is broken, when the process is killed."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import trainer
from trainer.records.store import Store

_WRITER = Path(__file__).with_name("writer.py")


def _kill_one_writer(path: Path, prefix: str, template: str, wait_s: float) -> set[str]:
    """Return the ids that the writer acknowledged before it was killed."""
    process = subprocess.Popen(
        [sys.executable, str(_WRITER), str(path), prefix, template],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(trainer.__file__).parents[1])},
    )
    time.sleep(wait_s)
    process.send_signal(signal.SIGKILL)
    output, _ = process.communicate(timeout=30)
    return {line for line in output.splitlines(keepends=True) if line.endswith("\n")}


def _kill_many(path: Path, template: str, kills: int, seed: int) -> int:
    chance = random.Random(seed)
    acknowledged: set[str] = set()
    for number in range(kills):
        acknowledged |= _kill_one_writer(path, f"run{number}", template, chance.uniform(0.05, 0.5))
    with Store.open(path) as store:
        store.check()
        stored = {attempt.id for attempt in store.attempts()}
    assert {line.strip() for line in acknowledged} <= stored
    return len(acknowledged)


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_no_acknowledged_attempt_is_lost_when_killed(store_path: Path, make_attempt: Any) -> None:
    assert _kill_many(store_path, json.dumps(make_attempt(1).to_json()), kills=6, seed=8) > 0


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_no_acknowledged_attempt_is_lost_at_100_kills(store_path: Path, make_attempt: Any) -> None:
    assert _kill_many(store_path, json.dumps(make_attempt(1).to_json()), kills=100, seed=9) > 100
