from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from trainer.records.backup import backups_of
from trainer.records.migration import Migration, apply_migration, migrations_of, statements
from trainer.records.store import ATTEMPTS, Store


def test_migrations_are_numbered_from_one_without_gaps() -> None:
    numbers = [migration.number for migration in ATTEMPTS.migrations]
    assert numbers == list(range(1, len(numbers) + 1))


def test_applied_migrations_are_recorded_in_the_file(filled_path: Path) -> None:
    rows = sqlite3.connect(filled_path).execute("SELECT * FROM schema_migration").fetchall()
    assert rows == [(one.number, one.name, one.sha256) for one in migrations_of("attempts")]


def test_old_file_is_backed_up_before_it_is_migrated(store_path: Path) -> None:
    store_path.parent.mkdir()
    connection = sqlite3.connect(store_path, isolation_level=None)
    apply_migration(connection, ATTEMPTS.migrations[0], ATTEMPTS.application_id)
    connection.close()
    Store.open(store_path).close()
    (backup,) = backups_of(store_path)
    assert "before-schema" in backup.name
    schema = sqlite3.connect(backup).execute("PRAGMA user_version").fetchone()
    assert schema == (1,)


def test_failing_migration_leaves_the_file_as_it_was() -> None:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    broken = Migration(1, "broken", "CREATE TABLE one (a); CREATE TABLE one (a);")
    with pytest.raises(sqlite3.OperationalError):
        apply_migration(connection, broken, 5)
    assert connection.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    assert connection.execute("PRAGMA user_version").fetchone() == (0,)


def test_migration_applied_by_another_program_is_not_applied_again() -> None:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    migration = Migration(1, "one", "CREATE TABLE one (a);")
    apply_migration(connection, migration, 5)
    apply_migration(connection, migration, 5)
    assert connection.execute("SELECT count(*) FROM schema_migration").fetchone() == (1,)


def test_statements_split_outside_text_and_comments() -> None:
    sql = "-- a; b\nINSERT INTO t VALUES ('x;y');\nCREATE TRIGGER g AFTER INSERT ON t BEGIN\n"
    sql += "DELETE FROM t; END;"
    assert len(statements(sql)) == 2
