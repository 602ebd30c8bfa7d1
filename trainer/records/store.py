"""The member's own record: every answer they gave, in one SQLite file on their machine.

An answer is on the disk before `Store.add` returns. Who calls: `trainer.app`, `trainer.cli`,
`trainer.ui`.
"""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from trainer.folders import data_folder
from trainer.records.attempt import Attempt
from trainer.records.database import Kind, open_database, understood
from trainer.records.error import DuplicateError
from trainer.records.member_privacy import delete_from_store, export_from_store
from trainer.records.records_file import RecordsFile

FILE_NAME = "attempts.sqlite3"
ATTEMPTS = Kind("a member's attempts", 0x4D4C5441, "attempts")

_JSON_FIELDS = frozenset({"before", "predicted", "actual", "wrong_cells", "rule_ids"})
_FIELDS = tuple(field.name for field in fields(Attempt))
_COLUMNS = tuple(f"{name}_json" if name in _JSON_FIELDS else name for name in _FIELDS)
_INSERT = (
    f"INSERT INTO attempt ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))}) "
    "ON CONFLICT (id) DO NOTHING"
)
_SELECT = f"SELECT {', '.join(_COLUMNS)} FROM attempt"
_IS_SHOWN = "check_id NOT IN (SELECT id FROM check_sitting WHERE ended_utc IS NULL)"
_IS_OF_MEMBER = "(:member IS NULL OR member = :member)"


@dataclass(frozen=True, slots=True)
class AnonymousTotal:
    """What is kept of deleted members for one prompt."""

    installation_id: str
    lesson_id: str
    prompt_number: int
    attempts: int
    right_answers: int
    sure_and_wrong: int


class Store(RecordsFile):
    """An open file of attempts; use it in the thread that opened it.

    Attributes:
        database: The open file, for the modules of the exchange.

    Example:
        >>> import tempfile
        >>> from trainer.session.annunciation import Annunciation
        >>> strip = Annunciation("autopilot").to_json()
        >>> attempt = Attempt(
        ...     "1", "2026-03-01T18:05:09Z", "Bo Hill", "01-first-flight", "First", "ship_amber", 1,
        ...     "after_key", "And now?", strip, strip, strip, (), True, "sure", (), 4.0, "0.1.0",
        ... )
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     with Store.open(Path(folder) / "a.sqlite3") as store:
        ...         store.add(attempt)
        ...         print(store.members(), store.attempts(member="Bo Hill") == [attempt])
        ['Bo Hill'] True
    """

    kind = ATTEMPTS

    @staticmethod
    def open(path: Path) -> Store:
        """Open or create the file at `path`.

        Raises:
            RecordsError: If it can't be used; the message says why and what to do.
        """
        return Store(open_database(path, ATTEMPTS))

    @staticmethod
    def default() -> Store:
        """Open the file in the user's data folder, or in the one MODE_TRAINER_DATA names."""
        return Store.open(data_folder() / FILE_NAME)

    def add(self, attempt: Attempt) -> None:
        """Store an attempt; it is on the disk when this returns.

        Adding the same attempt again does nothing, so a caller may repeat after an error.

        Raises:
            DuplicateError: If the id is taken by another attempt.
            RecordsError: If it could not be stored.
        """
        with self.database.write() as connection:
            self.add_in(connection, attempt)

    def add_in(self, connection: sqlite3.Connection, attempt: Attempt) -> None:
        """Store an attempt within a transaction of `database.write`; otherwise as `add`."""
        if connection.execute(_INSERT, _to_row(attempt)).rowcount == 1:
            return
        (row,) = connection.execute(f"{_SELECT} WHERE id = ?", (attempt.id,)).fetchall()
        if _from_row(row) != attempt:
            raise DuplicateError(self.path, f"another attempt has the id {attempt.id}")

    def attempts(
        self,
        member: str | None = None,
        lesson_id: str | None = None,
        limit: int | None = None,
        check_id: str | None = None,
    ) -> list[Attempt]:
        """Return stored attempts, newest first, of one member, lesson or check if given."""
        wanted = {"member": member, "lesson_id": lesson_id, "check_id": check_id}
        given = {name: value for name, value in wanted.items() if value is not None}
        where = " AND ".join(f"{name} = ?" for name in given)
        sql = f"{_SELECT}{' WHERE ' + where if where else ''} ORDER BY sequence DESC LIMIT ?"
        rows = self.database.read(sql, [*given.values(), -1 if limit is None else limit])
        with understood(self.path):
            return [_from_row(row) for row in rows]

    def shown_attempts(self, member: str | None = None, limit: int | None = None) -> list[Attempt]:
        """Return the attempts that may be looked at or handed on, newest first.

        An answer holds what the strip really read. Those of a check that isn't over are left out:
        nobody looks at them before its debrief.
        """
        sql = f"{_SELECT} WHERE {_IS_SHOWN} AND {_IS_OF_MEMBER} ORDER BY sequence DESC LIMIT :limit"
        wanted: dict[str, object] = {"member": member, "limit": -1 if limit is None else limit}
        rows = self.database.read(sql, wanted)
        with understood(self.path):
            return [_from_row(row) for row in rows]

    def kept_back_words(self, member: str) -> str:
        """Say how many answers `shown_attempts` leaves out; empty if none."""
        sql = f"SELECT count(*) FROM attempt WHERE NOT ({_IS_SHOWN}) AND {_IS_OF_MEMBER}"
        ((found,),) = self.database.read(sql, {"member": member})
        answers = "1 answer" if found == 1 else f"{found} answers"
        verb = "is" if found == 1 else "are"
        return f"{answers} of a check that isn't over {verb} left out until it is." if found else ""

    def members(self) -> list[str]:
        """Return the names under which attempts are stored, in alphabetical order."""
        rows = self.database.read("SELECT DISTINCT member FROM attempt ORDER BY member")
        return [str(row[0]) for row in rows]

    def export_member(self, member: str) -> dict[str, Any]:
        """Return all that is stored of a member as JSON values, oldest first.

        A check that isn't over is left out, as in `shown_attempts`.
        """
        return export_from_store(self.database, member, reversed(self.shown_attempts(member)))

    def delete_member(self, member: str) -> int:
        """Delete all that is stored of a member, here and in the backups.

        Counts per prompt without a name stay (`anonymous_totals`).

        Returns:
            How many attempts were deleted from the file.
        """
        return delete_from_store(self.database, member)

    def anonymous_totals(self) -> list[AnonymousTotal]:
        """Return what is kept of deleted members."""
        names = ", ".join(field.name for field in fields(AnonymousTotal))
        rows = self.database.read(f"SELECT {names} FROM anonymous_total")
        return [AnonymousTotal(*row) for row in rows]


def _to_row(attempt: Attempt) -> list[object]:
    data = attempt.to_json()
    return [
        json.dumps(data[name], separators=(",", ":")) if name in _JSON_FIELDS else data[name]
        for name in _FIELDS
    ]


def _from_row(row: tuple[Any, ...]) -> Attempt:
    values = {
        name: json.loads(value) if name in _JSON_FIELDS else value
        for name, value in zip(_FIELDS, row, strict=True)
    }
    values["wrong_cells"] = tuple(values["wrong_cells"])
    values["rule_ids"] = tuple(values["rule_ids"])
    values["is_right"] = bool(values["is_right"])
    return Attempt(**values)
