"""Everything that can go wrong with a stored record, each with its remedy in the message."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import TrainerError


class RecordsError(TrainerError):
    """Base of all errors of stored records.

    Attributes:
        path: The file concerned.
    """

    def __init__(self, path: Path, message: str) -> None:
        self.path = path
        super().__init__(f"{path}: {message}")


class NotWritableError(RecordsError):
    """The folder or the file can't be written."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(
            path,
            f"can't be written ({why}); give yourself write permission on the folder "
            f"{path.parent}, or choose another folder with MODE_TRAINER_DATA",
        )


class DiskFullError(RecordsError):
    """No space left: what was asked has not been stored, what was stored before is whole."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            path,
            "the disk is full, so this was not stored; everything stored before is whole: "
            "free some space and do it again",
        )


class CorruptStoreError(RecordsError):
    """The file is damaged.

    Attributes:
        detail: What was found.
        newest_backup: The backup that `recover` would start from, if there is one.
    """

    def __init__(self, path: Path, detail: str, newest_backup: Path | None = None) -> None:
        self.detail = detail
        self.newest_backup = newest_backup
        source = (
            f"the newest backup is {newest_backup.name}"
            if newest_backup
            else "there is no backup, so only what is still readable would come back"
        )
        super().__init__(
            path,
            f"the file is damaged ({detail}); nothing has been changed or deleted: recover it "
            f"(the damaged file is kept beside it); {source}",
        )


class ForeignFileError(RecordsError):
    """A SQLite file of another kind, or of another program."""

    def __init__(self, path: Path, found: str, accepted: str) -> None:
        super().__init__(path, f"found {found}; accepted: {accepted}")


class ReadOnlyError(RecordsError):
    """Something was to be stored in a file that is open for reading only."""


class BusyError(RecordsError):
    """Another program holds the file."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            path,
            "another program is writing to it and did not finish in time; nothing was stored: "
            "do it again, or close the other program",
        )


class ChangedSchemaError(RecordsError):
    """Another, newer program has moved the file to a newer schema while it was open here."""


class DuplicateError(RecordsError):
    """A record with this identity but another content is stored already."""


class InvalidRecordError(TrainerError):
    """A record read from outside that lacks something or holds something impossible."""


class UnknownEntryError(TrainerError):
    """A name or number that the book doesn't hold."""


class PacketError(TrainerError):
    """An exchange file that is refused; nothing of it has been taken."""
