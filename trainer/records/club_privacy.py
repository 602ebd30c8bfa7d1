"""A member's data in a club book: exported whole, deleted to anonymous totals, or outdated."""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import timedelta
from typing import Any

from trainer.records.backup import backups_of
from trainer.records.board_query import member_outcomes
from trainer.records.club_attempts import attempts_of
from trainer.records.club_book import ClubBook
from trainer.records.database import translated
from trainer.records.field_check import moment_of, require_whole

_FOLD = """
INSERT INTO anonymous_total
SELECT installation_id, rule_id, sum(attempts), sum(right_answers), sum(sure_and_wrong)
FROM practice WHERE {where} GROUP BY 1, 2
ON CONFLICT DO UPDATE SET
    attempts = attempts + excluded.attempts,
    right_answers = right_answers + excluded.right_answers,
    sure_and_wrong = sure_and_wrong + excluded.sure_and_wrong
"""


def export_club_member(book: ClubBook, member_id: int) -> dict[str, Any]:
    """Return all that the book holds of a member as JSON values.

    Raises:
        UnknownEntryError: If there is no such member.
    """
    member = book.member(member_id)
    rows = book.database.read(
        "SELECT payload_json FROM assignment WHERE member_id = ? ORDER BY issued_utc", (member_id,)
    )
    briefings = book.database.read(
        "SELECT aircraft_id, competency_id, i.name, at_utc, note FROM briefing b "
        "JOIN instructor i ON i.id = b.instructor_id WHERE member_id = ? ORDER BY at_utc",
        (member_id,),
    )
    aircraft = book.database.read(
        "SELECT aircraft_id FROM member_aircraft WHERE member_id = ? ORDER BY 1", (member_id,)
    )
    names = ("aircraft_id", "competency_id", "instructor", "at_utc", "note")
    return {
        "kind": "club_member_data",
        "version": 1,
        "club": book.club_name,
        "member": member.name,
        "pseudonym": member.pseudonym,
        "joined_utc": member.joined_utc,
        "is_active": member.is_active,
        "public_key": member.public_key.hex() if member.public_key else None,
        "aircraft": [row[0] for row in aircraft],
        "assignments": [json.loads(row[0]) for row in rows],
        "briefings": [dict(zip(names, row, strict=True)) for row in briefings],
        "outcomes": [one.to_json() for one in member_outcomes(book, member_id)],
        "attempts": [one.to_json() for one in reversed(attempts_of(book, member_id))],
    }


def delete_club_member(book: ClubBook, member_id: int) -> None:
    """Delete a member with all their records, here and in the backups.

    Sums per rule without a name stay. The backups are treated first, so that after an error
    the deletion can be repeated.

    Raises:
        UnknownEntryError: If there is no such member.
        RecordsError: If the book or a backup can't be written.
    """
    name = book.member(member_id).name
    for backup in backups_of(book.path):
        with (
            translated(backup),
            closing(sqlite3.connect(backup, isolation_level=None)) as connection,
        ):
            connection.execute("PRAGMA secure_delete = ON").fetchall()
            connection.execute("PRAGMA foreign_keys = ON")
            # The number may have been another's when the backup was made, the name not.
            connection.execute("DELETE FROM member WHERE name = ?", (name,))
    with book.database.write() as connection:
        connection.execute(_FOLD.format(where="member_id = ?"), (member_id,))
        connection.execute("DELETE FROM member WHERE id = ?", (member_id,))
    book.database.forget_freed_pages()


def anonymous_totals(book: ClubBook) -> dict[tuple[str, str], tuple[int, int, int]]:
    """Return answers, right, and sure and wrong of deleted members by installation and rule."""
    rows = book.database.read("SELECT * FROM anonymous_total")
    return {(row[0], row[1]): (row[2], row[3], row[4]) for row in rows}


def retention_days(book: ClubBook) -> int:
    """Return how long records are kept [days]."""
    return int(book.database.read("SELECT retention_days FROM club")[0][0])


def set_retention_days(book: ClubBook, days: int) -> None:
    """Set how long records are kept [days]; nothing is deleted before `apply_retention`."""
    require_whole("retention_days", days, 1, 36_500)
    with book.database.write() as connection:
        connection.execute("UPDATE club SET retention_days = ?", (days,))


def retention_limit_utc(book: ClubBook, now_utc: str) -> str:
    """Return the moment before which nothing is kept."""
    limit = moment_of(now_utc) - timedelta(days=retention_days(book))
    return limit.strftime("%Y-%m-%dT%H:%M:%SZ")


def apply_retention(book: ClubBook, now_utc: str) -> int:
    """Delete answers, outcomes and briefings older than the retention time.

    Sums per rule of a member not heard of in that time become anonymous. Backups keep what
    they hold until they are rotated away.

    Returns:
        How many answers were deleted.
    """
    limit_utc = retention_limit_utc(book, now_utc)
    with book.database.write() as connection:
        old = "last_utc < ?"
        connection.execute(_FOLD.format(where=old), (limit_utc,))
        for table in ("practice", "practised"):
            connection.execute(f"DELETE FROM {table} WHERE {old}", (limit_utc,))
        for table in ("outcome", "briefing"):
            connection.execute(f"DELETE FROM {table} WHERE at_utc < ?", (limit_utc,))
        deleted = connection.execute("DELETE FROM attempt WHERE at_utc < ?", (limit_utc,)).rowcount
    book.database.forget_freed_pages()
    return deleted
