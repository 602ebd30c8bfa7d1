"""A member's data in their own file: all of it exported, or deleted down to anonymous totals."""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from typing import Any

from trainer.records.attempt import Attempt
from trainer.records.backup import backups_of
from trainer.records.database import Database, translated

_KEEP_TOTALS = """
INSERT INTO anonymous_total
SELECT installation_id, lesson_id, prompt_number, count(*), sum(is_right),
       sum(confidence = 'sure' AND NOT is_right)
FROM attempt WHERE member = ? GROUP BY 1, 2, 3
ON CONFLICT DO UPDATE SET
    attempts = attempts + excluded.attempts,
    right_answers = right_answers + excluded.right_answers,
    sure_and_wrong = sure_and_wrong + excluded.sure_and_wrong
"""
_TABLES = ("attempt", "check_outcome", "assignment", "check_sitting")


def export_from_store(
    database: Database, member: str, attempts: Iterable[Attempt]
) -> dict[str, Any]:
    """Return all that is stored of a member as JSON values; see `Store.export_member`."""
    outcomes = database.read(
        "SELECT outcome_json FROM check_outcome WHERE member = ? ORDER BY id", (member,)
    )
    assignments = database.read(
        "SELECT received_utc, payload_json FROM assignment WHERE member = ? ORDER BY received_utc",
        (member,),
    )
    sittings = database.read(
        "SELECT begun_utc, ended_utc, decision, sitting_json FROM check_sitting WHERE member = ? "
        "AND ended_utc IS NOT NULL ORDER BY begun_utc",
        (member,),
    )
    return {
        "kind": "member_data",
        "version": 1,
        "member": member,
        "attempts": [attempt.to_json() for attempt in attempts],
        "outcomes": [json.loads(row[0]) for row in outcomes],
        "assignments": [
            {"received_utc": row[0], "assignment": json.loads(row[1])} for row in assignments
        ],
        "checks": [
            {
                "begun_utc": row[0],
                "ended_utc": row[1],
                "decision": row[2],
                "sitting": json.loads(row[3]),
            }
            for row in sittings
        ],
    }


def delete_from_store(database: Database, member: str) -> int:
    """Delete a member's data; see `Store.delete_member`.

    The backups are treated first: if one of them can't be written, the error comes while the
    file still holds everything, and the deletion can be repeated.
    """
    for backup in backups_of(database.path):
        with (
            translated(backup),
            closing(sqlite3.connect(backup, isolation_level=None)) as connection,
        ):
            connection.execute("PRAGMA secure_delete = ON").fetchall()
            _delete(connection, member)
    with database.write() as connection:
        connection.execute(_KEEP_TOTALS, (member,))
        deleted = _delete(connection, member)
    database.forget_freed_pages()
    return deleted


def _delete(connection: sqlite3.Connection, member: str) -> int:
    """Delete from those tables that the file's schema has; return the number of attempts."""
    found = {row[0] for row in connection.execute("SELECT name FROM sqlite_master").fetchall()}
    counts = {
        table: connection.execute(f"DELETE FROM {table} WHERE member = ?", (member,)).rowcount
        for table in _TABLES
        if table in found
    }
    return counts.get("attempt", 0)
