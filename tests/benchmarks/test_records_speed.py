"""How fast answers are stored and books are read.

Budgets: `Store.add` under 5 ms, opening a member's file under 30 ms, on two ordinary cores with
an ordinary disk.
"""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest

from trainer.records.attempt import Attempt
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation

_STRIP = Annunciation(engagement="autopilot").to_json()


def _attempt(number: int) -> Attempt:
    return Attempt(
        f"attempt-{number}",
        f"2026-03-01T18:{number // 60 % 60:02d}:{number % 60:02d}Z",
        f"member {number % 7}",
        f"lesson_{number % 12}",
        "A lesson",
        "sister_one",
        number % 6,
        "after_key",
        "What will the strip read next?",
        _STRIP,
        _STRIP,
        _STRIP,
        (),
        True,
        "sure",
        ("lateral.select_heading", "vertical.hold_pitch"),
        3.5,
        "0.1.0",
    )


@pytest.fixture
def ten_thousand(tmp_path: Path) -> Path:
    """Return a closed store with 10,000 attempts."""
    path = tmp_path / "attempts.sqlite3"
    with Store.open(path) as store:
        from trainer.records import store as module

        with store._database.write() as connection:
            rows = (module._to_row(_attempt(number)) for number in range(10_000))
            connection.executemany(module._INSERT, rows)
    return path


def test_add_one_attempt(benchmark: Any, ten_thousand: Path) -> None:
    numbers = itertools.count(1_000_000)
    with Store.open(ten_thousand) as store:
        benchmark(lambda: store.add(_attempt(next(numbers))))


def test_open_a_store_of_ten_thousand(benchmark: Any, ten_thousand: Path) -> None:
    benchmark(lambda: Store.open(ten_thousand).close())


def test_read_the_newest_hundred(benchmark: Any, ten_thousand: Path) -> None:
    with Store.open(ten_thousand) as store:
        assert len(benchmark(lambda: store.attempts(limit=100))) == 100


def test_create_a_store(benchmark: Any, tmp_path: Path) -> None:
    numbers = itertools.count()
    benchmark(lambda: Store.open(tmp_path / f"{next(numbers)}.sqlite3").close())
