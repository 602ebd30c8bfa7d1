"""Checked copies of a SQLite file in the folder `backups` beside it, and putting one back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import suppress
from datetime import date
from pathlib import Path

from trainer.records.error import CorruptStoreError, RecordsError

DAILY_KEPT = 14
"""Daily backups kept; those made before a migration are kept for ever."""


def backup_folder(path: Path) -> Path:
    """Return the folder that holds the backups of a file."""
    return path.parent / "backups"


def backups_of(path: Path) -> list[Path]:
    """Return the backups of a file, newest first."""
    found = [
        entry
        for entry in backup_folder(path).glob(f"{path.stem}.*{path.suffix}")
        if entry.stem.startswith(f"{path.stem}.") and entry.is_file()
    ]
    return sorted(found, key=lambda entry: (entry.stat().st_mtime_ns, entry.name), reverse=True)


def newest_backup(path: Path) -> Path | None:
    """Return the newest backup of a file that is itself sound, or None."""
    return next((entry for entry in backups_of(path) if is_sound(entry)), None)


def is_sound(path: Path) -> bool:
    """True if every page of a SQLite file that nobody writes to is in order."""
    try:
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
        try:
            found = connection.execute("PRAGMA quick_check(1)").fetchall()
        finally:
            connection.close()
    except sqlite3.Error:
        return False
    return found == [("ok",)]


def backup_before_migration(connection: sqlite3.Connection, path: Path, schema: int) -> Path:
    """Copy the file as it is before it is brought to `schema`."""
    name = f"{path.stem}.before-schema-{schema:04d}{path.suffix}"
    return copy_checked(connection, backup_folder(path) / name)


def daily_target(path: Path, day: str) -> Path:
    """Return where the backup of a day goes.

    Args:
        path: The file backed up.
        day: ISO date, for example 2026-03-01.
    """
    return backup_folder(path) / f"{path.stem}.{date.fromisoformat(day)}{path.suffix}"


def rotate(path: Path, kept: int = DAILY_KEPT) -> list[Path]:
    """Remove the oldest daily backups beyond `kept` and return what was removed."""
    daily = sorted(entry for entry in backups_of(path) if _is_daily(entry))
    removed = daily[: max(0, len(daily) - kept)]
    for entry in removed:
        entry.unlink()
    return removed


def copy_checked(connection: sqlite3.Connection, target: Path) -> Path:
    """Copy an open file to `target`, which appears only once it is whole and checked.

    Raises:
        CorruptStoreError: If the copy is damaged, which means that its source is.
        RecordsError: If the folder can't be made or written.
    """
    partial = target.with_name(f"{target.name}.{os.getpid()}.partial")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        _copy(connection, partial)
        if not is_sound(partial):
            raise CorruptStoreError(target, "its copy is damaged, so the file itself is")
        _make_durable(partial, target)
    except OSError as error:
        raise RecordsError(target, f"the backup can't be written ({error.strerror})") from error
    finally:
        with suppress(OSError):
            partial.unlink()
    return target


def put_back(backup: Path, path: Path) -> None:
    """Put a copy of a backup in the place of a file that is no longer there."""
    partial = path.with_name(f"{path.name}.{os.getpid()}.partial")
    shutil.copyfile(backup, partial)
    _make_durable(partial, path)


def set_aside(path: Path, why: str) -> Path:
    """Move a file and its side files out of the way and return its new place.

    Args:
        path: The file.
        why: Becomes part of the name, for example damaged.
    """
    number = 1
    while (kept := path.with_name(f"{path.name}.{why}-{number}")).exists():
        number += 1
    for ending in ("-wal", "-shm", ""):
        side = path.with_name(path.name + ending)
        if side.exists():
            side.rename(kept.with_name(kept.name + ending))
    return kept


def _copy(connection: sqlite3.Connection, target: Path) -> None:
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        connection.backup(copy)
        # A backup is one file that can be carried away, without a log beside it.
        copy.execute("PRAGMA journal_mode = DELETE").fetchall()
    finally:
        copy.close()


def _make_durable(partial: Path, target: Path) -> None:
    with partial.open("rb+") as stream:
        os.fsync(stream.fileno())
    os.replace(partial, target)


def _is_daily(entry: Path) -> bool:
    try:
        date.fromisoformat(entry.stem.rsplit(".", 1)[-1])
    except ValueError:
        return False
    return True
