from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from trainer.records.backup import backups_of
from trainer.records.club_attempts import attempts_of
from trainer.records.club_book import ClubBook
from trainer.records.club_import import apply_result, preview_result
from trainer.records.club_privacy import (
    anonymous_totals,
    apply_retention,
    delete_club_member,
    export_club_member,
    retention_days,
    set_retention_days,
)
from trainer.records.error import (
    CorruptStoreError,
    DiskFullError,
    DuplicateError,
    ForeignFileError,
    InvalidRecordError,
    PacketError,
    RecordsError,
    UnknownEntryError,
)
from trainer.records.result import add_outcome
from trainer.records.roster import Aircraft, Requirement, pseudonym_of
from trainer.records.store import Store

NOW = "2026-03-10T12:00:00Z"


def test_roster_comes_back_after_reopening(tmp_path: Path) -> None:
    path = tmp_path / "club.sqlite3"
    with ClubBook.open(path, "Meadow Flying Club") as book:
        member = book.add_member("Robin Vale", NOW)
        instructor = book.add_instructor("Kim Lark")
        aircraft = Aircraft("one", "First", "sister_one", 1)
        requirement = Requirement("lateral", "Lateral", 180, {"r": "h"})
        book.set_aircraft(aircraft, [requirement])
    with ClubBook.open(path, "Another name") as book:
        assert book.club_name == "Meadow Flying Club"
        assert book.members() == [member]
        assert book.instructors() == [instructor]
        assert book.aircraft() == [aircraft]
        assert book.requirements("one") == [requirement]


def test_next_stage_replaces_the_requirements_but_keeps_the_earlier_ones(club: Any) -> None:
    book = club.book
    book.set_aircraft(Aircraft("sister_one", "First", "sister_one_b", 2), [])
    assert book.requirements("sister_one") == []
    rows = book.database.read("SELECT stage, count(*) FROM requirement GROUP BY stage")
    assert rows == [(1, 2)]


@pytest.mark.parametrize(
    ("call", "error", "word"),
    [
        (
            lambda book: book.add_member("Robin Vale", NOW),
            DuplicateError,
            "the name is taken: another member has it already",
        ),
        (lambda book: book.add_member("  ", NOW), InvalidRecordError, "the name is empty"),
        (lambda book: book.add_member("A\nB", NOW), InvalidRecordError, "one line"),
        (lambda book: book.add_member("A", "today"), InvalidRecordError, "joined_utc"),
        (lambda book: book.member(99), UnknownEntryError, "number 99"),
        (lambda book: book.member_named("Bo"), UnknownEntryError, "members: Robin Vale"),
        (lambda book: book.one_aircraft("x"), UnknownEntryError, "in the book: sister_one"),
        (lambda book: book.put_on_aircraft(99, "sister_one"), UnknownEntryError, "99"),
        (
            lambda book: book.set_aircraft(Aircraft("a", "A", "a", 0), []),
            InvalidRecordError,
            "from 1 to 1000",
        ),
        (
            lambda book: book.add_briefing(
                1, "sister_one", "lateral", instructor_id=9, at_utc=NOW, note="x"
            ),
            RecordsError,
            "FOREIGN KEY",
        ),
    ],
)
def test_wrong_entry_is_refused_and_nothing_changes(
    club: Any, call: Any, error: type[Exception], word: str
) -> None:
    before = list(club.book.database._connection.iterdump())
    with pytest.raises(error, match=word):
        call(club.book)
    assert list(club.book.database._connection.iterdump()) == before


def test_pseudonyms_don_t_repeat() -> None:
    assert len({pseudonym_of(number) for number in range(1, 1001)}) == 1000


def test_book_and_store_are_not_taken_for_each_other(club: Any) -> None:
    with pytest.raises(ForeignFileError, match="a club book"):
        ClubBook.open(club.store.path)
    with pytest.raises(ForeignFileError, match="a member's attempts"):
        Store.open(club.book.path)


def test_export_holds_all_of_a_member(club: Any, make_outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome())
    club.take()
    instructor = club.book.add_instructor("Kim Lark")
    club.book.add_briefing(
        1, "sister_one", "lateral", instructor_id=instructor.id, at_utc=NOW, note="Spoke."
    )
    data = json.loads(json.dumps(export_club_member(club.book, club.member.id)))
    assert data["attempts"] == club.store.export_member("Robin Vale")["attempts"]
    assert data["outcomes"] == [json.loads(json.dumps(make_outcome().to_json()))]
    assert data["briefings"][0]["note"] == "Spoke."
    assert data["aircraft"] == ["sister_one"]


def test_deletion_leaves_totals_and_no_trace_of_the_member(club: Any, make_outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome())
    club.take()
    club.book.add_member("Bo Hill", NOW)
    club.book.back_up("2026-03-10")
    delete_club_member(club.book, club.member.id)
    assert [one.name for one in club.book.members()] == ["Bo Hill"]
    attempts = club.store.attempts()
    assert anonymous_totals(club.book) == {
        ("sister_one", "lateral.select_heading"): (
            len(attempts),
            sum(one.is_right for one in attempts),
            sum(one.is_sure_and_wrong for one in attempts),
        )
    }
    assert club.book.database.read("PRAGMA foreign_key_check") == []
    for table in (
        "attempt",
        "outcome",
        "practice",
        "practised",
        "result",
        "board_seen",
        "member_aircraft",
    ):
        assert club.book.database.read(f"SELECT count(*) FROM {table}") == [(0,)]
    files = [path for path in club.book.path.parent.rglob("*") if path.is_file()]
    assert len(files) >= 2
    for path in files:
        assert b"Robin Vale" not in path.read_bytes(), path


def test_retention_deletes_what_is_old_and_does_not_take_it_again(
    club: Any, make_attempt: Any, make_outcome: Any
) -> None:
    club.store.add(make_attempt(20, at_utc="2026-03-09T00:00:00Z"))
    add_outcome(club.store, "Robin Vale", make_outcome())
    club.take()
    assert retention_days(club.book) == 5 * 365
    assert apply_retention(club.book, NOW) == 0
    set_retention_days(club.book, 5)
    assert apply_retention(club.book, NOW) == 10
    assert [one.id for one in attempts_of(club.book, club.member.id)] == ["attempt-20"]
    preview = club.take(club.result(made_utc="2026-03-10T12:30:00Z"))
    assert (preview.attempts, preview.outcomes) == ((), ())
    assert "11 in the book already or past retention" in preview.changes[0]


def test_retention_makes_sums_of_long_silence_anonymous(club: Any) -> None:
    club.take()
    set_retention_days(club.book, 5)
    apply_retention(club.book, NOW)
    assert club.book.database.read("SELECT count(*) FROM practice") == [(0,)]
    assert [total[0] for total in anonymous_totals(club.book).values()] == [10]


def test_retention_time_must_be_possible(club: Any) -> None:
    with pytest.raises(InvalidRecordError, match="retention_days"):
        set_retention_days(club.book, 0)


def test_damaged_book_is_recovered_from_its_backup_with_what_came_after(
    club: Any, make_attempt: Any
) -> None:
    club.take()
    assert club.book.back_up("2026-03-10") is not None
    assert club.book.back_up("2026-03-10") is None
    club.store.add(make_attempt(11))
    club.take(club.result(made_utc="2026-03-10T13:00:00Z"))
    club.book.set_active(club.member.id, is_active=True)
    ((root,),) = club.book.database.read(
        "SELECT rootpage FROM sqlite_master WHERE name = 'outcome_by_cell'"
    )
    club.book.close()
    with club.book.path.open("rb+") as stream:
        stream.seek((root - 1) * 4096)
        stream.write(b"\xaa" * 4096)
    with pytest.raises(CorruptStoreError):
        ClubBook.open(club.book.path)
    recovery = ClubBook.recover(club.book.path)
    assert recovery.restored_from == backups_of(club.book.path)[0]
    with ClubBook.open(club.book.path) as book:
        assert len(attempts_of(book, club.member.id)) == 11
        book.database.check()


def test_attempts_of_one_installation_only(club: Any, make_attempt: Any) -> None:
    club.store.add(make_attempt(11, installation_id="sister_two"))
    club.take()
    (found,) = attempts_of(club.book, club.member.id, installation_id="sister_two")
    assert found.id == "attempt-11"
    assert len(attempts_of(club.book, club.member.id, limit=3)) == 3
    assert attempts_of(club.book, club.member.id, installation_id="none") == []


def test_disk_full_during_an_import_takes_nothing_of_the_file(club: Any, make_attempt: Any) -> None:
    for number in range(20, 400):
        club.store.add(make_attempt(number, question=f"Question {number} " + "x" * 500))
    preview = preview_result(club.book, club.result(), club.key.public_key, NOW)
    ((pages,),) = club.book.database.read("PRAGMA page_count")
    club.book.database.read(f"PRAGMA max_page_count = {pages + 5}")
    before = list(club.book.database._connection.iterdump())
    with pytest.raises(DiskFullError, match="free some space"):
        apply_result(club.book, preview, NOW)
    assert list(club.book.database._connection.iterdump()) == before
    club.book.database.read("PRAGMA max_page_count = 1000000")
    apply_result(club.book, preview, NOW)
    assert len(attempts_of(club.book, club.member.id)) == 390
    club.book.database.check()


def test_two_programs_work_on_one_book(club: Any) -> None:
    with ClubBook.open(club.book.path) as other:
        other.add_member("Bo Hill", NOW)
        assert len(club.book.members()) == 2
        preview = preview_result(other, club.result(), club.key.public_key, NOW)
        club.take()
        with pytest.raises(PacketError, match="preview it again"):
            apply_result(other, preview, NOW)
        assert len(attempts_of(other, club.member.id)) == 10
