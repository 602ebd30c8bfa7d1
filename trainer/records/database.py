"""One SQLite file of ours, opened safely: checked, migrated, durable, its errors in plain words.

Owns the connection, the transactions and the translation of SQLite's errors. Knows nothing of
what the tables mean: `store` and `club_book` do.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.records.backup import backup_before_migration, copy_checked, newest_backup
from trainer.records.error import (
    BusyError,
    ChangedSchemaError,
    CorruptStoreError,
    DiskFullError,
    DuplicateError,
    ForeignFileError,
    InvalidRecordError,
    NotWritableError,
    ReadOnlyError,
    RecordsError,
)
from trainer.records.migration import Migration, apply_migration, migrations_of

CHECK_ON_OPEN_BYTES = 8_000_000
"""Files up to this size are checked page by page when opened; larger ones with each backup."""
BUSY_TIMEOUT_S = 5.0


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: what it is called, marked with and made of."""

    title: str
    application_id: int
    """Stored in the file's header, so that no kind is taken for another."""
    folder: str
    """Where its migrations are, below `trainer/records/migrations`."""

    @property
    def migrations(self) -> tuple[Migration, ...]:
        """All known migrations, in order."""
        return migrations_of(self.folder)

    @property
    def schema(self) -> int:
        """The newest schema this program knows."""
        return self.migrations[-1].number


class Database:
    """An open file.

    Attributes:
        path: Where it is.
        kind: What it is.
        read_only_reason: Why nothing can be stored, in words for the user; empty if it can.
    """

    def __init__(
        self, path: Path, kind: Kind, connection: sqlite3.Connection, read_only_reason: str = ""
    ) -> None:
        self.path = path
        self.kind = kind
        self.read_only_reason = read_only_reason
        self._connection = connection

    def read(
        self, sql: str, values: Sequence[object] | dict[str, object] = ()
    ) -> list[tuple[Any, ...]]:
        """Return all rows of a query."""
        with translated(self.path):
            return self._connection.execute(sql, values).fetchall()

    @contextmanager
    def write(self) -> Iterator[sqlite3.Connection]:
        """Run a block as one transaction, durable when the block ends without an error.

        Raises:
            ReadOnlyError: If the file is open for reading only.
            ChangedSchemaError: If a newer program has changed the schema meanwhile.
            RecordsError: If SQLite reports an error; then nothing of the block is stored.
        """
        if self.read_only_reason:
            raise ReadOnlyError(self.path, f"nothing can be stored: {self.read_only_reason}")
        with translated(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                self._require_same_schema()
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
                raise

    def back_up(self, target: Path) -> Path:
        """Write a checked copy of the whole file to `target` and return it."""
        with translated(self.path):
            return copy_checked(self._connection, target)

    def check(self) -> None:
        """Check every page of the file.

        Raises:
            CorruptStoreError: If damage is found.
        """
        with translated(self.path):
            _require_sound(self._connection, self.path)

    def forget_freed_pages(self) -> None:
        """Empty the write-ahead log, so that deleted content is nowhere in the file's company."""
        with translated(self.path):
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def close(self) -> None:
        """Close the file; a second call does nothing."""
        self._connection.close()

    def _require_same_schema(self) -> None:
        (present,) = self._connection.execute("PRAGMA user_version").fetchone()
        if present != self.kind.schema:
            raise ChangedSchemaError(
                self.path,
                f"another program has changed it to schema {present} (this one knows "
                f"{self.kind.schema}); nothing was stored: restart with the newer program",
            )


def open_database(path: Path, kind: Kind) -> Database:
    """Open or create a file, check it, and bring it to the newest schema.

    A file of a newer schema, or one that can't be written, is opened for reading only with the
    reason in `Database.read_only_reason`.

    Raises:
        CorruptStoreError: If the file is damaged; nothing is changed.
        ForeignFileError: If it is a file of another kind.
        NotWritableError: If it can't be created, or is of an older schema and can't be written.
        RecordsError: Other trouble of the disk.
    """
    path = Path(os.path.abspath(path))
    if path.exists() and not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        return _open_to_read(path, kind, f"no permission to write {path} or its folder")
    _make_folder(path)
    if (not path.exists() or path.stat().st_size == 0) and (backup := newest_backup(path)):
        state = "empty" if path.exists() else "missing"
        raise CorruptStoreError(path, f"it is {state}, but there are backups", backup)
    with translated(path):
        connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
        try:
            if _schema_of(connection, path, kind) > kind.schema:
                connection.close()
                return _open_to_read(path, kind)
            _prepare(connection, path, kind)
        except BaseException:
            connection.close()
            raise
    return Database(path, kind, connection)


def _prepare(connection: sqlite3.Connection, path: Path, kind: Kind) -> None:
    """Check, set up and migrate a file that can be written."""
    if path.stat().st_size <= CHECK_ON_OPEN_BYTES:
        _require_sound(connection, path)
    connection.execute("PRAGMA journal_mode = WAL").fetchall()
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON").fetchall()
    present = _schema_of(connection, path, kind)
    if 0 < present < kind.schema:
        backup_before_migration(connection, path, kind.schema)
    for migration in kind.migrations:
        if migration.number > present:
            apply_migration(connection, migration, kind.application_id)


def _schema_of(connection: sqlite3.Connection, path: Path, kind: Kind) -> int:
    """Return the schema number in the file, 0 for a new one; refuse another kind of file."""
    (schema,) = connection.execute("PRAGMA user_version").fetchone()
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application_id != kind.application_id and (tables or schema or application_id):
        raise ForeignFileError(
            path, f"a database of another kind (mark {application_id})", kind.title
        )
    return int(schema)


def _open_to_read(path: Path, kind: Kind, reason: str = "") -> Database:
    """Open for reading only; the reason is worked out for a newer schema."""
    with translated(path):
        connection = _connect_to_read(path)
        try:
            schema = _schema_of(connection, path, kind)
            if schema < kind.schema:
                raise NotWritableError(
                    path, f"{reason}; it is of schema {schema} and must first become {kind.schema}"
                )
            if path.stat().st_size <= CHECK_ON_OPEN_BYTES:
                _require_sound(connection, path)
        except BaseException:
            connection.close()
            raise
    if schema > kind.schema:
        reason = (
            f"a newer program wrote it (schema {schema}; this program knows up to "
            f"{kind.schema}): it can be read here; install the newer program to add to it"
        )
    return Database(path, kind, connection, reason)


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Connect without writing anything, even where the folder forbids SQLite's side files."""
    connection = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True, isolation_level=None)
    try:
        connection.execute("PRAGMA user_version").fetchone()
    except sqlite3.OperationalError:
        connection.close()
        log = path.with_name(path.name + "-wal")
        if log.exists() and log.stat().st_size > 0:
            raise
        # 'immutable' is safe only while nobody can write, which the missing permission says.
        connection = sqlite3.connect(
            f"{path.as_uri()}?mode=ro&immutable=1", uri=True, isolation_level=None
        )
    return connection


def _require_sound(connection: sqlite3.Connection, path: Path) -> None:
    found = connection.execute("PRAGMA integrity_check(3)").fetchall()
    if found != [("ok",)]:
        detail = "; ".join(str(row[0]) for row in found)[:300].replace("\n", " ")
        raise CorruptStoreError(path, detail, newest_backup(path))


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotWritableError(path, error.strerror or str(error)) from error


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn SQLite's errors within the block into ours, which say what to do."""
    try:
        yield
    except sqlite3.Error as error:
        raise _worded(path, error) from error
    except UnicodeDecodeError as error:
        raise CorruptStoreError(path, f"text that isn't UTF-8 ({error.reason})") from error


@contextmanager
def understood(path: Path) -> Iterator[None]:
    """Turn what a block stumbles over in a file's rows into a CorruptStoreError.

    The file is sound by SQLite's check, yet a row holds what this program never writes.
    """
    try:
        yield
    except (ValueError, TypeError, LookupError, AttributeError, InvalidRecordError) as error:
        what = f"a row that can't be understood ({type(error).__name__}: {str(error)[:200]})"
        raise CorruptStoreError(path, what, newest_backup(path)) from error


_TAKEN = re.compile(r"UNIQUE constraint failed: (\w+)\.(\w+)", re.ASCII)


def _refused(path: Path, error: str) -> RecordsError:
    """Say what SQLite refused: for the commonest, what is there already."""
    taken = _TAKEN.fullmatch(error)
    if taken is None:
        return RecordsError(path, f"nothing was stored: it doesn't fit what is there ({error})")
    table, column = (name.replace("_", " ") for name in taken.groups())
    return DuplicateError(
        path, f"the {column} is taken: another {table} has it already; nothing was stored"
    )


def _worded(path: Path, error: sqlite3.Error) -> Exception:
    code = getattr(error, "sqlite_errorcode", 0)
    match code & 0xFF:
        case sqlite3.SQLITE_FULL:
            return DiskFullError(path)
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM:
            return NotWritableError(path, str(error))
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return BusyError(path)
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB:
            return CorruptStoreError(path, str(error), newest_backup(path))
        case sqlite3.SQLITE_IOERR:
            return RecordsError(
                path,
                f"the disk refused to read or write ({error}); nothing of this was stored: "
                "check the disk and its free space, then do it again",
            )
        case sqlite3.SQLITE_CONSTRAINT:
            return _refused(path, str(error))
    if isinstance(error, sqlite3.OperationalError):
        what = f"its tables aren't as this program makes them ({error})"
        return CorruptStoreError(path, what, newest_backup(path))
    return error
