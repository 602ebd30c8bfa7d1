"""Deleting a member's attempts from a file and from its backups, keeping anonymous totals."""

from __future__ import annotations

import sqlite3
from contextlib import closing

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
_DELETE = "DELETE FROM attempt WHERE member = ?"


def delete_from_store(database: Database, member: str) -> int:
    """Delete a member's attempts; see `Store.delete_member`.

    The backups are treated first: if one of them can't be written, the error comes while the
    file still holds everything, and the deletion can be repeated.
    """
    for backup in backups_of(database.path):
        with (
            translated(backup),
            closing(sqlite3.connect(backup, isolation_level=None)) as connection,
        ):
            connection.execute("PRAGMA secure_delete = ON").fetchall()
            connection.execute(_DELETE, (member,))
    with database.write() as connection:
        connection.execute(_KEEP_TOTALS, (member,))
        deleted = connection.execute(_DELETE, (member,)).rowcount
    database.forget_freed_pages()
    return deleted
