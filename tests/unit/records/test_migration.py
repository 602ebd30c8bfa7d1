from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from trainer.records.backup import backups_of
from trainer.records.board_query import read_board
from trainer.records.club_book import ClubBook
from trainer.records.club_schema import CLUB_BOOK
from trainer.records.error import CorruptStoreError
from trainer.records.migration import Migration, apply_migration, migrations_of, statements
from trainer.records.store import ATTEMPTS, Store


def test_migrations_are_numbered_from_one_without_gaps() -> None:
    numbers = [migration.number for migration in ATTEMPTS.migrations]
    assert numbers == list(range(1, len(numbers) + 1))


def test_applied_migrations_are_recorded_in_the_file(filled_path: Path) -> None:
    with closing(sqlite3.connect(filled_path)) as connection:
        rows = connection.execute("SELECT * FROM schema_migration").fetchall()
    assert rows == [(one.number, one.name, one.sha256) for one in migrations_of("attempts")]


def test_old_file_is_backed_up_before_it_is_migrated(store_path: Path) -> None:
    store_path.parent.mkdir()
    connection = sqlite3.connect(store_path, isolation_level=None)
    apply_migration(connection, ATTEMPTS.migrations[0], ATTEMPTS.application_id)
    connection.close()
    Store.open(store_path).close()
    (backup,) = backups_of(store_path)
    assert "before-schema" in backup.name
    with closing(sqlite3.connect(backup)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)


@pytest.fixture
def memory() -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        yield connection


def test_failing_migration_leaves_the_file_as_it_was(memory: sqlite3.Connection) -> None:
    broken = Migration(1, "broken", "CREATE TABLE one (a); CREATE TABLE one (a);")
    with pytest.raises(sqlite3.OperationalError):
        apply_migration(memory, broken, 5)
    assert memory.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    assert memory.execute("PRAGMA user_version").fetchone() == (0,)


def test_migration_applied_by_another_is_not_applied_again(memory: sqlite3.Connection) -> None:
    migration = Migration(1, "one", "CREATE TABLE one (a);")
    apply_migration(memory, migration, 5)
    apply_migration(memory, migration, 5)
    assert memory.execute("SELECT count(*) FROM schema_migration").fetchone() == (1,)


def test_statements_split_outside_text_and_comments() -> None:
    sql = "-- a; b\nINSERT INTO t VALUES ('x;y');\nCREATE TRIGGER g AFTER INSERT ON t BEGIN\n"
    sql += "DELETE FROM t; END;"
    assert len(statements(sql)) == 2


_SAMPLES = Path(__file__).with_name("samples")


def _copy_of(sample: Path, folder: Path) -> Path:
    return Path(shutil.copyfile(sample, folder / sample.name))


@pytest.mark.parametrize("schema", range(1, ATTEMPTS.schema + 1))
def test_kept_store_of_every_schema_opens_with_all_its_attempts(
    tmp_path: Path, schema: int, make_attempt: Any
) -> None:
    path = _copy_of(_SAMPLES / f"attempts-{schema}.sqlite3", tmp_path)
    with Store.open(path) as store:
        assert store.attempts() == [make_attempt(number) for number in range(12, 0, -1)]
        store.add(make_attempt(13))
        assert store.anonymous_totals() == []
        assert len(store.export_member("Robin Vale")["attempts"]) == 13
        store.check()
    assert len(backups_of(path)) == (schema < ATTEMPTS.schema)


@pytest.mark.parametrize("schema", range(1, CLUB_BOOK.schema + 1))
def test_kept_club_book_of_every_schema_opens_with_all_in_it(tmp_path: Path, schema: int) -> None:
    path = _copy_of(_SAMPLES / f"club-{schema}.sqlite3", tmp_path)
    with ClubBook.open(path) as book:
        assert book.club_name == "Meadow Flying Club"
        assert [one.name for one in book.members()] == ["Bo Hill", "Robin Vale"]
        board = read_board(book, "sister_one", "2026-03-10T12:00:00Z")
        assert board.cell(1, "lateral").status == "ready"
        book.add_briefing(
            1, "sister_one", "lateral", instructor_id=1, at_utc="2026-03-03T00:00:00Z", note="x"
        )
        book.database.check()
    assert len(backups_of(path)) == (schema < CLUB_BOOK.schema)


def test_every_schema_has_a_kept_sample() -> None:
    kept = {path.name for path in _SAMPLES.glob("*.sqlite3")}
    assert kept >= {f"{kind.folder}-{n}.sqlite3" for kind in (ATTEMPTS, CLUB_BOOK)
                    for n in range(1, kind.schema + 1)}  # fmt: skip


def test_kept_samples_were_made_by_todays_migrations() -> None:
    """A published migration is never edited: the samples hold the hash of what made them."""
    for kind in (ATTEMPTS, CLUB_BOOK):
        for sample in _SAMPLES.glob(f"{kind.folder}-*.sqlite3"):
            connection = sqlite3.connect(f"{sample.as_uri()}?mode=ro&immutable=1", uri=True)
            for number, _, sha256 in connection.execute("SELECT * FROM schema_migration"):
                assert kind.migrations[number - 1].sha256 == sha256
            connection.close()


@pytest.mark.parametrize("schema", range(1, ATTEMPTS.schema + 1))
def test_damaged_store_of_every_schema_gives_up_what_is_readable(
    tmp_path: Path, schema: int, make_attempt: Any
) -> None:
    path = _copy_of(_SAMPLES / f"attempts-{schema}.sqlite3", tmp_path)
    with closing(sqlite3.connect(path)) as connection:
        (root,) = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'attempt_by_lesson'"
        ).fetchone()
    with path.open("rb+") as stream:
        stream.seek((root - 1) * 4096)
        stream.write(b"\xaa" * 4096)
    with pytest.raises(CorruptStoreError):
        Store.open(path)
    assert Store.recover(path).salvaged >= 12
    with Store.open(path) as store:
        assert store.attempts() == [make_attempt(number) for number in range(12, 0, -1)]
