from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.folders import data_folder
from trainer.records.error import DuplicateError
from trainer.records.store import Store


def test_attempts_come_back_whole_and_newest_first(store_path: Path, make_attempt: Any) -> None:
    attempts = [make_attempt(number) for number in range(1, 6)]
    with Store.open(store_path) as store:
        for attempt in attempts:
            store.add(attempt)
        assert store.attempts() == attempts[::-1]
        assert store.attempts(limit=2) == attempts[:-3:-1]
    with Store.open(store_path) as store:
        assert store.attempts() == attempts[::-1]


def test_attempts_are_filtered_by_member_and_lesson(store_path: Path, make_attempt: Any) -> None:
    with Store.open(store_path) as store:
        store.add(make_attempt(1, member="Ash"))
        store.add(make_attempt(2, member="Bo", lesson_id="go_around"))
        store.add(make_attempt(3, member="Ash", lesson_id="go_around"))
        assert [found.id for found in store.attempts(member="Ash")] == ["attempt-3", "attempt-1"]
        assert [found.id for found in store.attempts(lesson_id="go_around", member="Bo")] == [
            "attempt-2"
        ]
        assert store.members() == ["Ash", "Bo"]


def test_add_is_seen_by_another_connection_before_it_returns(
    store_path: Path, make_attempt: Any
) -> None:
    with Store.open(store_path) as store, Store.open(store_path) as other:
        store.add(make_attempt(1))
        assert len(other.attempts()) == 1
        other.add(make_attempt(2))
        assert len(store.attempts()) == 2


def test_add_may_be_repeated_but_not_changed(store_path: Path, make_attempt: Any) -> None:
    with Store.open(store_path) as store:
        store.add(make_attempt(1))
        store.add(make_attempt(1))
        with pytest.raises(DuplicateError, match="attempt-1"):
            store.add(make_attempt(1, taken_s=9.0))
        assert store.attempts() == [make_attempt(1)]


def test_file_is_durable_and_of_our_kind(filled_path: Path) -> None:
    with closing(sqlite3.connect(filled_path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA application_id").fetchone() == (0x4D4C5441,)
    with Store.open(filled_path) as store:
        # 2 is FULL in SQLite's own documentation of the pragma.
        assert store.database.read("PRAGMA synchronous") == [(2,)]


def test_default_obeys_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_attempt: Any
) -> None:
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path / "elsewhere"))
    with Store.default() as store:
        store.add(make_attempt(1))
    assert (tmp_path / "elsewhere" / "attempts.sqlite3").is_file()
    monkeypatch.delenv("MODE_TRAINER_DATA")
    assert data_folder().name == "mode-logic-trainer"


def test_export_member_holds_everything_as_json(filled_path: Path, make_attempt: Any) -> None:
    with Store.open(filled_path) as store:
        store.add(make_attempt(99, member="Other"))
        exported = json.loads(json.dumps(store.export_member("Robin Vale")))
    assert len(exported["attempts"]) == 40
    assert exported["attempts"][0] == json.loads(json.dumps(make_attempt(1).to_json()))


def test_delete_member_leaves_totals_and_no_trace(filled_path: Path, make_attempt: Any) -> None:
    name = "Robin Vale"
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
        store.add(make_attempt(99, member="Other"))
        before = store.attempts(name)
        assert store.delete_member(name) == 40
        assert [attempt.member for attempt in store.attempts()] == ["Other"]
        totals = store.anonymous_totals()
    assert sum(total.attempts for total in totals) == 40
    assert sum(total.right_answers for total in totals) == sum(one.is_right for one in before)
    assert sum(total.sure_and_wrong for total in totals) == sum(
        one.is_sure_and_wrong for one in before
    )
    for file in filled_path.parent.rglob("*"):
        assert file.is_dir() or name.encode() not in file.read_bytes(), file


def test_deleting_twice_adds_to_the_totals(store_path: Path, make_attempt: Any) -> None:
    with Store.open(store_path) as store:
        for number in (1, 2):
            store.add(make_attempt(number, prompt_number=1))
            store.delete_member("Robin Vale")
        assert [total.attempts for total in store.anonymous_totals()] == [2]


def test_back_up_once_a_day_and_keep_the_newest(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        assert store.back_up("2026-03-01") is not None
        assert store.back_up("2026-03-01") is None
        for day in range(2, 21):
            store.back_up(f"2026-03-{day:02d}")
        names = sorted(backup.name for backup in store.backups())
    assert names == [f"attempts.2026-03-{day:02d}.sqlite3" for day in range(7, 21)]


_TEXT = st.text(min_size=1, max_size=40).filter(
    lambda text: text.strip() and "\x00" not in text and text.isprintable()
)


@given(member=_TEXT, taken_s=st.floats(0, 1e6), rules=st.lists(_TEXT, max_size=4))
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None
)
def test_any_text_and_number_survives_storing(
    tmp_path: Path, make_attempt: Any, member: str, taken_s: float, rules: list[str]
) -> None:
    attempt = make_attempt(
        1, member=member, question=member, taken_s=taken_s, rule_ids=tuple(rules)
    )
    with Store.open(tmp_path / "one.sqlite3") as store:
        store.add(attempt)
        assert store.attempts(member=member) == [attempt]
        store.delete_member(member)
