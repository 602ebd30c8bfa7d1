"""The training lead's book: one SQLite file with the roster, requirements, results and briefings.

Owns the roster. Results come in through `club_import`, the board is read by `board_query`,
deletion and retention are in `club_privacy`.
"""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from trainer.records.club_schema import CLUB_BOOK
from trainer.records.database import open_database, understood
from trainer.records.error import UnknownEntryError
from trainer.records.field_check import (
    require_moment,
    require_name,
    require_text,
    require_whole,
)
from trainer.records.records_file import RecordsFile
from trainer.records.roster import Aircraft, Instructor, Member, Requirement, pseudonym_of

DEFAULT_RETENTION_DAYS = 5 * 365


class ClubBook(RecordsFile):
    """An open club book; use it in the thread that opened it.

    Attributes:
        database: The open file, for the modules that read and import.
    """

    kind = CLUB_BOOK

    @staticmethod
    def open(path: Path, club_name: str = "The club") -> ClubBook:
        """Open the book at `path`, or begin one for `club_name`.

        Raises:
            RecordsError: If it can't be used; the message says why and what to do.
        """
        database = open_database(path, CLUB_BOOK)
        if not database.read_only_reason and not database.read("SELECT 1 FROM club"):
            with database.write() as connection:
                connection.execute(
                    "INSERT OR IGNORE INTO club VALUES (1, ?, ?)",
                    (require_name("club name", club_name), DEFAULT_RETENTION_DAYS),
                )
        return ClubBook(database)

    @property
    def club_name(self) -> str:
        """The club's name."""
        with understood(self.path):
            return str(self.database.read("SELECT name FROM club")[0][0])

    def add_member(self, name: str, joined_utc: str) -> Member:
        """Enter a member; a pseudonym is chosen for the class reports.

        Raises:
            InvalidRecordError: If the name is blank or too long.
            RecordsError: If the name is taken.
        """
        values = (require_name("name", name), require_moment("joined_utc", joined_utc))
        with self.database.write() as connection:
            (number,) = connection.execute("SELECT coalesce(max(id), 0) + 1 FROM member").fetchone()
            connection.execute(
                "INSERT INTO member (id, name, pseudonym, joined_utc) VALUES (?, ?, ?, ?)",
                (number, values[0], pseudonym_of(number), values[1]),
            )
        return self.member(number)

    def members(self) -> list[Member]:
        """Return all members in order of name."""
        rows = self.database.read(f"SELECT {_MEMBER} FROM member ORDER BY name")
        return [_to_member(row) for row in rows]

    def member(self, member_id: int) -> Member:
        """Return one member.

        Raises:
            UnknownEntryError: If there is none.
        """
        rows = self.database.read(f"SELECT {_MEMBER} FROM member WHERE id = ?", (member_id,))
        if not rows:
            raise UnknownEntryError(f"no member has the number {member_id}")
        return _to_member(rows[0])

    def member_named(self, name: str) -> Member:
        """Return the member of that name.

        Raises:
            UnknownEntryError: If there is none; the message lists the names.
        """
        found = {member.name: member for member in self.members()}
        if name not in found:
            raise UnknownEntryError(f"no member is called {name!r}; members: {', '.join(found)}")
        return found[name]

    def set_active(self, member_id: int, *, is_active: bool) -> None:
        """Take a member off the board, or put them back; their records stay."""
        self.member(member_id)
        with self.database.write() as connection:
            values = (is_active, member_id)
            connection.execute("UPDATE member SET is_active = ? WHERE id = ?", values)

    def set_public_key(self, member_id: int, public_key: bytes | None) -> Member:
        """Enrol the key that signs a member's results; None forgets it."""
        member = self.member(member_id)
        with self.database.write() as connection:
            values = (public_key, member_id)
            connection.execute("UPDATE member SET public_key = ? WHERE id = ?", values)
        return replace(member, public_key=public_key)

    def add_instructor(self, name: str) -> Instructor:
        """Enter an instructor."""
        with self.database.write() as connection:
            cursor = connection.execute(
                "INSERT INTO instructor (name) VALUES (?)", (require_name("name", name),)
            )
        return Instructor(int(cursor.lastrowid or 0), name)

    def instructors(self) -> list[Instructor]:
        """Return all instructors in order of name."""
        rows = self.database.read("SELECT id, name FROM instructor ORDER BY name")
        return [Instructor(*row) for row in rows]

    def set_aircraft(self, aircraft: Aircraft, requirements: Sequence[Requirement]) -> None:
        """Enter an aircraft, or its next stage, with all that it requires.

        Earlier stages stay, so that the board can say which rules have changed.

        Raises:
            InvalidRecordError: If a field is impossible.
        """
        values = (
            require_name("aircraft", aircraft.id),
            require_name("title", aircraft.title),
            require_name("installation", aircraft.installation_id),
            require_whole("stage", aircraft.stage, 1, 1000),
        )
        rows = [_requirement_row(aircraft, one) for one in requirements]
        with self.database.write() as connection:
            connection.execute(
                "INSERT INTO aircraft VALUES (?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
                "title = excluded.title, installation_id = excluded.installation_id, "
                "stage = excluded.stage",
                values,
            )
            connection.execute(
                "DELETE FROM requirement WHERE aircraft_id = ? AND stage = ?",
                (aircraft.id, aircraft.stage),
            )
            connection.executemany("INSERT INTO requirement VALUES (?, ?, ?, ?, ?, ?)", rows)

    def aircraft(self) -> list[Aircraft]:
        """Return all aircraft in order of title."""
        rows = self.database.read(
            "SELECT id, title, installation_id, stage FROM aircraft ORDER BY title"
        )
        return [Aircraft(*row) for row in rows]

    def one_aircraft(self, aircraft_id: str) -> Aircraft:
        """Return one aircraft.

        Raises:
            UnknownEntryError: If there is none; the message lists the aircraft.
        """
        found = {one.id: one for one in self.aircraft()}
        if aircraft_id not in found:
            known = ", ".join(found) or "none yet"
            raise UnknownEntryError(f"no aircraft {aircraft_id!r}; in the book: {known}")
        return found[aircraft_id]

    def requirements(self, aircraft_id: str) -> list[Requirement]:
        """Return what an aircraft requires at its present stage."""
        rows = self.database.read(
            "SELECT competency_id, r.title, valid_days, rules_json FROM requirement r "
            "JOIN aircraft a ON a.id = r.aircraft_id AND a.stage = r.stage "
            "WHERE a.id = ? ORDER BY r.rowid",
            (aircraft_id,),
        )
        with understood(self.path):
            return [Requirement(row[0], row[1], row[2], json.loads(row[3])) for row in rows]

    def put_on_aircraft(self, member_id: int, aircraft_id: str) -> None:
        """Say that a member is to be ready for an aircraft."""
        self.member(member_id)
        self.one_aircraft(aircraft_id)
        with self.database.write() as connection:
            connection.execute(
                "INSERT OR IGNORE INTO member_aircraft VALUES (?, ?)", (member_id, aircraft_id)
            )

    def aircraft_of(self, member_id: int) -> list[str]:
        """Return the ids of the aircraft a member is to be ready for."""
        rows = self.database.read(
            "SELECT aircraft_id FROM member_aircraft WHERE member_id = ? ORDER BY 1", (member_id,)
        )
        return [str(row[0]) for row in rows]

    def add_briefing(
        self,
        member_id: int,
        aircraft_id: str,
        competency_id: str,
        *,
        instructor_id: int,
        at_utc: str,
        note: str,
    ) -> None:
        """Record that an instructor has briefed a member on a competency."""
        values = (
            member_id,
            aircraft_id,
            require_name("competency", competency_id),
            instructor_id,
            require_moment("at_utc", at_utc),
            require_text("note", note),
        )
        with self.database.write() as connection:
            connection.execute(
                "INSERT INTO briefing (member_id, aircraft_id, competency_id, instructor_id, "
                "at_utc, note) VALUES (?, ?, ?, ?, ?, ?)",
                values,
            )


_MEMBER = "id, name, pseudonym, joined_utc, is_active, public_key"


def _to_member(row: tuple[int, str, str, str, int, bytes | None]) -> Member:
    return Member(row[0], row[1], row[2], row[3], bool(row[4]), row[5])


def _requirement_row(aircraft: Aircraft, one: Requirement) -> tuple[object, ...]:
    return (
        aircraft.id,
        aircraft.stage,
        require_name("competency", one.competency_id),
        require_name("title", one.title),
        require_whole("valid_days", one.valid_days, 1, 36_500),
        json.dumps(dict(sorted(one.rules.items()))),
    )
