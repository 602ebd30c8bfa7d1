"""What a member's file of answers and a club book have in common: opening, backups, recovery."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar, Self

from trainer.records.backup import backups_of, daily_target, rotate
from trainer.records.database import Database, Kind
from trainer.records.recovery import Recovery, recover_database, restore_database


class RecordsFile:
    """An open file of records; use it in the thread that opened it.

    Attributes:
        kind: Which kind of file it is, with its migrations.
        database: The open file, for the modules that read and write more of it.
    """

    kind: ClassVar[Kind]

    def __init__(self, database: Database) -> None:
        self.database = database

    @classmethod
    def recover(cls, path: Path) -> Recovery:
        """Bring back a damaged file from its newest backup; nothing is deleted."""
        return recover_database(path, cls.kind)

    @classmethod
    def restore(cls, path: Path, backup: Path) -> Path | None:
        """Put a chosen backup in the file's place; return where the replaced one is kept."""
        return restore_database(path, cls.kind, backup)

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self.database.path

    @property
    def read_only_reason(self) -> str:
        """Why nothing can be stored, for the user to read; empty if all is well."""
        return self.database.read_only_reason

    def back_up(self, day: str) -> Path | None:
        """Make the day's backup unless it exists, check it, and drop the oldest ones.

        Args:
            day: Today's ISO date, from the caller's clock.

        Returns:
            The new backup; None if the day has one already.
        """
        target = daily_target(self.path, day)
        if target.exists():
            return None
        made = self.database.back_up(target)
        rotate(self.path)
        return made

    def backups(self) -> list[Path]:
        """Return the backups, newest first."""
        return backups_of(self.path)

    def check(self) -> None:
        """Check the whole file, which opening does only for small ones.

        Raises:
            CorruptStoreError: If damage is found.
        """
        self.database.check()

    def close(self) -> None:
        """Close the file; a second call does nothing."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
