"""The guide's page on records says what the files hold and what the program does."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from trainer.folders import DATA_VARIABLE
from trainer.records import backup, database, packet
from trainer.records.board import STATUSES
from trainer.records.club_book import ClubBook
from trainer.records.store import FILE_NAME, Store
from trainer.resources import guide_folder

_PAGE = (guide_folder() / "club-records.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("opener", [Store.open, ClubBook.open])
def test_every_table_is_described(tmp_path: Path, opener: type[Store]) -> None:
    path = tmp_path / "one.sqlite3"
    opener(path).close()  # type: ignore[call-arg,arg-type]
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
        ).fetchall()
    for (name,) in rows:
        assert f"`{name}`" in _PAGE, name


def test_figures_are_the_programs() -> None:
    words = {14: "fourteen"}
    assert f"{words[backup.DAILY_KEPT]} are kept" in _PAGE
    assert f"up to {database.CHECK_ON_OPEN_BYTES // 1_000_000} MB" in _PAGE
    assert f"up to {database.BUSY_TIMEOUT_S:g} s" in _PAGE
    assert f"too large ({packet.LARGEST_BYTES // 1_000_000} MB)" in _PAGE
    assert FILE_NAME in _PAGE
    assert DATA_VARIABLE in _PAGE


def test_every_status_is_explained() -> None:
    rows = set(re.findall(r"^\| ([a-z ]+) \|", _PAGE, re.MULTILINE))
    assert {status.replace("_", " ").replace("s b", "s a b") for status in STATUSES} <= rows
