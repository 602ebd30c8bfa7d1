"""Numbered schema changes: read from SQL files, each applied with its record in one transaction.

A schema only ever grows: a later number may add tables, columns and indexes, and never takes a
column away, so that an older program can still read a newer file.
"""

from __future__ import annotations

import hashlib
import sqlite3
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

_LEDGER = """
CREATE TABLE IF NOT EXISTS schema_migration (
    number INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    sha256 TEXT NOT NULL
)
"""


@dataclass(frozen=True, slots=True)
class Migration:
    """One step from schema `number - 1` to `number`."""

    number: int
    name: str
    sql: str

    @property
    def sha256(self) -> str:
        """Hash of the SQL text, recorded in the file that it was applied to."""
        return hashlib.sha256(self.sql.encode()).hexdigest()


@lru_cache(maxsize=4)
def migrations_of(folder: str) -> tuple[Migration, ...]:
    """Return the migrations in a folder beside this module, in order of number.

    Args:
        folder: Name below `trainer/records/migrations`; files are named NNNN_name.sql.
    """
    found = []
    for entry in resources.files("trainer.records").joinpath("migrations", folder).iterdir():
        if entry.name.endswith(".sql"):
            number, name = entry.name.removesuffix(".sql").split("_", 1)
            found.append(Migration(int(number), name, entry.read_text(encoding="utf-8")))
    return tuple(sorted(found, key=lambda migration: migration.number))


def apply_migration(
    connection: sqlite3.Connection, migration: Migration, application_id: int
) -> None:
    """Apply one migration, its record and the new schema number in one transaction.

    Does nothing if another program has applied it since. If anything fails, or the process is
    killed, the file is as before.

    Args:
        connection: In autocommit mode.
        migration: What to apply.
        application_id: Mark of the kind of file, written with the first migration.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        (present,) = connection.execute("PRAGMA user_version").fetchone()
        if present < migration.number:
            for statement in statements(migration.sql):
                connection.execute(statement)
            connection.execute(_LEDGER)
            connection.execute(
                "INSERT INTO schema_migration VALUES (?, ?, ?)",
                (migration.number, migration.name, migration.sha256),
            )
            connection.execute(f"PRAGMA application_id = {application_id:d}")
            connection.execute(f"PRAGMA user_version = {migration.number:d}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def statements(sql: str) -> list[str]:
    """Return the single statements of an SQL text.

    Example:
        >>> statements("SELECT 1; SELECT ';';")
        ['SELECT 1;', "SELECT ';';"]
    """
    found: list[str] = []
    pending = ""
    for piece in sql.split(";")[:-1]:
        pending += piece + ";"
        if sqlite3.complete_statement(pending):
            found.append(pending.strip())
            pending = ""
    return found
