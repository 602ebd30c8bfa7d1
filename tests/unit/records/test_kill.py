"""Killed at any moment: no acknowledged record is lost, and no file is ever broken."""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.killing import told_until_killed
from trainer.records.club_attempts import attempts_of
from trainer.records.club_book import ClubBook
from trainer.records.club_import import import_results
from trainer.records.store import Store

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")

NOW = "2026-03-10T12:00:00Z"
_VICTIM = Path(__file__).with_name("victim.py")
_SAMPLE = Path(__file__).with_name("samples") / "attempts-1.sqlite3"


def _kill_after(wait_s: float, *arguments: str | Path) -> list[str]:
    return told_until_killed(_VICTIM, *arguments, wait_s=wait_s)


def _kill_while_adding(path: Path, template: str, kills: int) -> None:
    chance = random.Random(8)
    acknowledged: set[str] = set()
    for number in range(kills):
        said = _kill_after(chance.uniform(0, 0.05), "add", path, f"run{number}", template)
        acknowledged |= set(said) - {"begun"}
    with Store.open(path) as store:
        store.check()
        assert acknowledged <= {attempt.id for attempt in store.attempts()}
    assert len(acknowledged) > kills


def _kill_while_importing(club: Any, make_attempt: Any, kills: int) -> None:
    folder = club.folder / "results"
    folder.mkdir()
    chance = random.Random(9)
    expected = {attempt.id for attempt in club.store.attempts()}
    for round_number in range(kills):
        for number in range(3):
            name = f"{round_number:04d}-{number}"
            club.store.add(make_attempt(1, id=name))
            expected.add(name)
            (folder / name).write_bytes(club.result())
        key = club.key.public_key.hex()
        said = _kill_after(chance.uniform(0, 0.04), "import", club.book.path, key, folder)
        for name in set(said) - {"begun", "finished"}:
            _require_taken(club, name)
            (folder / name).unlink()
    import_results(club.book, sorted(folder.iterdir()), club.key.public_key, NOW)
    _require_whole(club.book.path, club.member.id, expected)


def _require_taken(club: Any, name: str) -> None:
    rows = club.book.database.read("SELECT count(*) FROM attempt WHERE id = ?", (name,))
    assert rows == [(1,)], name


def _require_whole(path: Path, member_id: int, expected: set[str]) -> None:
    with ClubBook.open(path) as book:
        book.database.check()
        assert book.database.read("PRAGMA foreign_key_check") == []
        assert {attempt.id for attempt in attempts_of(book, member_id)} == expected
        sums = book.database.read("SELECT sum(attempts) FROM practice")
        assert sums == [(len(expected),)]


def _kill_while_migrating(folder: Path, old: Path, kills: int) -> int:
    chance = random.Random(10)
    with closing(sqlite3.connect(old)) as connection:
        (wanted,) = connection.execute("SELECT count(*) FROM attempt").fetchone()
    unfinished = 0
    for number in range(kills):
        place = folder / str(number)
        place.mkdir()
        said = _kill_after(chance.uniform(0, 0.05), "migrate", place / "a.sqlite3", old)
        last = [word for word in said if word.startswith("at ")][-1].removeprefix("at ")
        unfinished += f"open {last}" not in said
        with Store.open(place / last) as store:
            store.check()
            assert len(store.attempts()) == wanted
            assert store.anonymous_totals() == []
        shutil.rmtree(place)
    return unfinished


def test_killed_while_adding(store_path: Path, make_attempt: Any) -> None:
    _kill_while_adding(store_path, json.dumps(make_attempt(1).to_json()), 3)


def test_killed_while_importing(club: Any, make_attempt: Any) -> None:
    _kill_while_importing(club, make_attempt, 2)


def test_killed_while_migrating(tmp_path: Path) -> None:
    _kill_while_migrating(tmp_path, _SAMPLE, 3)


@pytest.mark.long
def test_killed_100_times_while_adding(store_path: Path, make_attempt: Any) -> None:
    _kill_while_adding(store_path, json.dumps(make_attempt(1).to_json()), 100)


@pytest.mark.long
def test_killed_100_times_while_importing(club: Any, make_attempt: Any) -> None:
    _kill_while_importing(club, make_attempt, 100)


@pytest.mark.long
def test_killed_100_times_while_migrating(tmp_path: Path) -> None:
    assert _kill_while_migrating(tmp_path, _SAMPLE, 100) >= 50
