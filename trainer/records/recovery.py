"""Bringing back a damaged file: newest sound backup, then whatever is still readable.

Nothing is deleted: the damaged file is kept beside the recovered one.
"""

# Names of tables and columns come from our own schema, never from the damaged file's content.
# ruff: noqa: S608

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from trainer.records.backup import is_sound, newest_backup, put_back, set_aside
from trainer.records.database import Database, Kind, open_database
from trainer.records.error import ForeignFileError, RecordsError


@dataclass(frozen=True, slots=True)
class Recovery:
    """What a recovery did."""

    damaged_kept_at: Path | None
    """None if there was no file any more."""
    restored_from: Path | None
    """The backup put back; None if there was none."""
    salvaged: int
    """Rows younger than the backup that were still readable in the damaged file."""


def recover_database(path: Path, kind: Kind) -> Recovery:
    """Replace a damaged file by its newest sound backup plus what can be read of it.

    Raises:
        RecordsError: If the folder can't be written; then the damaged file is where it was.
    """
    backup = newest_backup(path)
    built = path.with_name(f"{path.stem}-recovering{path.suffix}")
    scratch = path.with_name(path.name + ".salvage")
    try:
        _remove(built)
        if backup:
            put_back(backup, built)
        salvaged = _build(path, kind, built, scratch)
        kept = set_aside(path, "damaged") if path.exists() else None
        built.replace(path)
    except OSError as error:
        raise RecordsError(path, f"can't be recovered here ({error.strerror})") from error
    finally:
        for file in (built, scratch):
            with suppress(OSError):
                _remove(file)
    return Recovery(kept, backup, salvaged)


def _build(path: Path, kind: Kind, built: Path, scratch: Path) -> int:
    """Complete the recovered file away from its place, so that a kill leaves all as it was."""
    database = open_database(built, kind)
    try:
        if not path.exists():
            return 0
        _copy_at_full_length(path, scratch)
        return _salvage(scratch, database)
    finally:
        database.close()


def _remove(file: Path) -> None:
    for ending in ("-wal", "-shm", ""):
        file.with_name(file.name + ending).unlink(missing_ok=True)


def restore_database(path: Path, kind: Kind, backup: Path) -> Path | None:
    """Put a chosen backup in the place of a file that nobody has open.

    Args:
        path: The file.
        kind: What it is.
        backup: One of `backups_of(path)`, or any file of the kind.

    Returns:
        Where the file that was there is kept, if there was one; nothing is deleted.

    Raises:
        RecordsError: If the backup is damaged, of another kind or of a newer schema, or the
            folder can't be written; then the file is where it was.
    """
    _require_usable(backup, kind)
    try:
        kept = set_aside(path, "replaced") if path.exists() else None
        put_back(backup, path)
    except OSError as error:
        raise RecordsError(path, f"can't be restored here ({error.strerror})") from error
    open_database(path, kind).close()
    return kept


def _require_usable(backup: Path, kind: Kind) -> None:
    if not is_sound(backup):
        raise RecordsError(backup, "this backup is damaged or missing: choose another")
    connection = sqlite3.connect(f"{backup.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        (mark,) = connection.execute("PRAGMA application_id").fetchone()
        (schema,) = connection.execute("PRAGMA user_version").fetchone()
    finally:
        connection.close()
    if mark != kind.application_id:
        raise ForeignFileError(backup, f"a file of another kind (mark {mark})", kind.title)
    if schema > kind.schema:
        raise RecordsError(backup, f"schema {schema} is newer than this program's {kind.schema}")


def _copy_at_full_length(damaged: Path, scratch: Path) -> None:
    """Copy a damaged file and its log, padded to the length that its header states.

    SQLite reads nothing at all from a file shorter than it should be; padded with zeros, the
    pages that are there can be read.
    """
    shutil.copyfile(damaged, scratch)
    log = damaged.with_name(damaged.name + "-wal")
    if log.exists():
        shutil.copyfile(log, scratch.with_name(scratch.name + "-wal"))
    with scratch.open("rb+") as stream:
        header = stream.read(100)
        # Source: [SQLITE-FORMAT] the database header: page size at 16, size in pages at 28.
        stated = int.from_bytes(header[16:18], "big") * int.from_bytes(header[28:32], "big")
        present = stream.seek(0, 2)
        if present < stated <= present * 2 + 10_000_000:
            stream.truncate(stated)


def _salvage(damaged: Path, database: Database) -> int:
    """Copy rows that are readable in the damaged file and missing in the recovered one."""
    tables = database.read(
        "SELECT name, sql FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' "
        "AND name <> 'schema_migration' ORDER BY rowid"
    )
    salvaged = 0
    for name, sql in tables:
        # A file of an older schema has fewer columns; what it lacks gets its default.
        known = {row[1] for row in database.read(f"PRAGMA table_info({name})")}
        columns = [column for column in _readable_columns(damaged, name) if column in known]
        if not columns:
            continue
        names, marks = ", ".join(columns), ", ".join("?" * len(columns))
        insert = f"INSERT OR IGNORE INTO {name} ({names}) VALUES ({marks})"
        with database.write() as connection:
            for row in _readable_rows(damaged, name, columns, has_rowid="WITHOUT ROWID" not in sql):
                try:
                    salvaged += connection.execute(insert, row).rowcount
                except sqlite3.IntegrityError:
                    continue
    return salvaged


def _readable_columns(damaged: Path, table: str) -> list[str]:
    """Return the columns of a table in a damaged file; none if even those can't be read."""
    connection = sqlite3.connect(f"{damaged.as_uri()}?mode=ro", uri=True)
    try:
        return [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    except sqlite3.Error:
        return []
    finally:
        connection.close()


def _readable_rows(
    damaged: Path, table: str, columns: list[str], *, has_rowid: bool
) -> Iterator[tuple[object, ...]]:
    """Yield rows from both ends of a table until damage stops the reading."""
    names = ", ".join(columns)
    for direction in ("ASC", "DESC") if has_rowid else ("ASC",):
        order = f" ORDER BY rowid {direction}" if has_rowid else ""
        connection = sqlite3.connect(f"{damaged.as_uri()}?mode=ro", uri=True)
        try:
            cursor = connection.execute(f"SELECT {names} FROM {table}{order}")
            while (row := cursor.fetchone()) is not None:
                yield row
            return
        except sqlite3.Error:
            continue
        finally:
            connection.close()
