"""Results: a member's attempts and check outcomes, as a signed file for the lead's book."""

from __future__ import annotations

import base64
import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from trainer.records.assignment import key_from_text
from trainer.records.attempt import Attempt
from trainer.records.attempt_check import attempt_from_json
from trainer.records.check_outcome import CheckOutcome, outcome_from_json
from trainer.records.database import understood
from trainer.records.error import InvalidRecordError
from trainer.records.field_check import object_of, require_moment, require_name
from trainer.records.packet import write_packet
from trainer.records.signing import SigningKey
from trainer.records.store import Store

MOST_ATTEMPTS = 50_000


@dataclass(frozen=True, slots=True)
class Result:
    """What a member hands in."""

    member: str
    """The member's name on their own computer."""
    book_key: bytes
    """Public key of the book that it is made for."""
    assignment_id: str | None
    made_utc: str
    program_version: str
    attempts: tuple[Attempt, ...]
    """Oldest first."""
    outcomes: tuple[CheckOutcome, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the result as JSON values; `result_from_json` is its inverse."""
        return {
            "member": self.member,
            "book_key": base64.b64encode(self.book_key).decode(),
            "assignment_id": self.assignment_id,
            "made_utc": self.made_utc,
            "program_version": self.program_version,
            "attempts": [attempt.to_json() for attempt in self.attempts],
            "outcomes": [outcome.to_json() for outcome in self.outcomes],
        }


def add_outcome(store: Store, member: str, outcome: CheckOutcome) -> None:
    """Store what a check found on the member's computer; a repetition does nothing."""
    with store.database.write() as connection:
        add_outcome_in(connection, member, outcome)


def add_outcome_in(connection: sqlite3.Connection, member: str, outcome: CheckOutcome) -> None:
    """Store an outcome inside the caller's transaction."""
    row = (
        member,
        outcome.aircraft_id,
        outcome.competency_id,
        outcome.at_utc,
        json.dumps(outcome.to_json()),
    )
    connection.execute(
        "INSERT OR IGNORE INTO check_outcome "
        "(member, aircraft_id, competency_id, at_utc, outcome_json) VALUES (?, ?, ?, ?, ?)",
        row,
    )


def outcomes(store: Store, member: str) -> list[CheckOutcome]:
    """Return a member's check outcomes on this computer, oldest first."""
    rows = store.database.read(
        "SELECT outcome_json FROM check_outcome WHERE member = ? ORDER BY at_utc, id", (member,)
    )
    with understood(store.path):
        return [outcome_from_json(json.loads(row[0])) for row in rows]


def write_result(
    store: Store,
    key: SigningKey,
    member: str,
    *,
    book_key: bytes,
    assignment_id: str | None,
    made_utc: str,
    program_version: str,
) -> bytes:
    """Return the file of all a member has to hand in; what the book has already it skips.

    Answers of a check that isn't over aren't in it: they follow when it is.
    """
    result = Result(
        member,
        book_key,
        assignment_id,
        made_utc,
        program_version,
        tuple(reversed(store.shown_attempts(member, limit=MOST_ATTEMPTS))),
        tuple(outcomes(store, member)),
    )
    return write_packet("result", result.to_json(), key)


def result_from_json(data: object) -> Result:
    """Return the result of `to_json`'s form, checked as a stranger's.

    Raises:
        InvalidRecordError: If a field is missing, unknown or impossible.
    """
    fields = object_of("result", data, tuple(Result.__dataclass_fields__))
    assignment_id = fields["assignment_id"]
    for name, most in (("attempts", MOST_ATTEMPTS), ("outcomes", 10_000)):
        if not isinstance(fields[name], list) or len(fields[name]) > most:
            raise InvalidRecordError(f"{name} must be a list of at most {most}")
    return Result(
        member=require_name("member", fields["member"]),
        book_key=key_from_text("book_key", fields["book_key"]),
        assignment_id=None if assignment_id is None else require_name("id", assignment_id),
        made_utc=require_moment("made_utc", fields["made_utc"]),
        program_version=require_name("program_version", fields["program_version"]),
        attempts=tuple(attempt_from_json(item) for item in fields["attempts"]),
        outcomes=tuple(outcome_from_json(item) for item in fields["outcomes"]),
    )
