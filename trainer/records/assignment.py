"""Assignments: what the lead gives a member to do, as a signed file."""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from trainer.charts.carried import Carried, OwnAircraft
from trainer.records.bank_shelf import LARGEST_BYTES, BankShelf, CarriedBank
from trainer.records.card import trusted_books
from trainer.records.check_outcome import rules_from_json
from trainer.records.club_book import ClubBook
from trainer.records.database import understood
from trainer.records.error import InvalidRecordError, PacketError, UnknownEntryError
from trainer.records.field_check import (
    moment_of,
    object_of,
    require_moment,
    require_name,
    require_names,
    require_text,
    require_whole,
)
from trainer.records.packet import read_packet, write_packet
from trainer.records.roster import Requirement
from trainer.records.signing import SigningKey, short_code
from trainer.records.store import Store
from trainer.text_file import MAXIMUM_BYTES

CLOCK_TOLERANCE = timedelta(days=1)
"""How far another computer's clock may be ahead of this one."""
_BANK = "bank"
"""Name of the bank in a file, beside the fields of the assignment."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """Lessons to fly and a check to take, for one member on one aircraft."""

    id: str
    club: str
    member: str
    member_key: bytes
    aircraft_id: str
    aircraft_title: str
    installation_id: str
    stage: int
    lessons: tuple[str, ...]
    check_form: str
    """Which form of the check to take."""
    check_seed: int
    """Draws the check's questions, so that the lead can draw the same."""
    issued_utc: str
    due_utc: str
    requirements: tuple[Requirement, ...]
    installation_text: str = ""
    """The aircraft's own file, for one that the program doesn't bring; else empty."""

    def to_json(self) -> dict[str, Any]:
        """Return the assignment as JSON values; `assignment_from_json` is its inverse."""
        data = {name: getattr(self, name) for name in Assignment.__dataclass_fields__}
        data["member_key"] = base64.b64encode(self.member_key).decode()
        data["lessons"] = list(self.lessons)
        data["requirements"] = [
            {
                "competency_id": one.competency_id,
                "title": one.title,
                "valid_days": one.valid_days,
                "rules": dict(one.rules),
            }
            for one in self.requirements
        ]
        if not self.installation_text:
            del data["installation_text"]  # so that an older program reads what it can use
        return data


@dataclass(frozen=True, slots=True)
class AssignmentPreview:
    """A verified assignment file and what taking it would change; nothing is stored yet."""

    assignment: Assignment
    book_key: bytes
    changes: tuple[str, ...]
    aircraft: Carried | None = None
    """The aircraft that it brings; None: one of the program's."""
    bank: CarriedBank | None = None
    """The items of that aircraft's check, if it brings them."""


def issue_assignment(
    book: ClubBook,
    key: SigningKey,
    member_id: int,
    aircraft_id: str,
    *,
    lessons: tuple[str, ...],
    check_form: str,
    check_seed: int,
    issued_utc: str,
    due_utc: str,
    installation_text: str = "",
    bank: bytes = b"",
) -> bytes:
    """Enter an assignment in the book and return the file for the member.

    Args:
        book: The lead's book.
        key: The lead's key.
        member_id: Whom it is for.
        aircraft_id: The aircraft, as the book names it.
        lessons: Ids of the lessons to fly.
        check_form: Which form of the check to take.
        check_seed: Draws the check's questions.
        issued_utc: This moment.
        due_utc: When it is to be done.
        installation_text: The aircraft's own file, which goes with it; empty for an aircraft that
            every program has.
        bank: The file of that aircraft's bank, which goes with it; empty: the member's program
            makes it. The book doesn't keep it: it is large, and follows from the aircraft.

    Raises:
        PacketError: If the member has no enrolled key yet, or the due date is before the issue.
        UnknownEntryError: If the member or aircraft is not in the book.
    """
    member, aircraft = book.member(member_id), book.one_aircraft(aircraft_id)
    if member.public_key is None:
        raise PacketError(f"{member.name} has no key enrolled: import their member card first")
    if moment_of(due_utc) < moment_of(issued_utc):
        raise PacketError(f"due {due_utc} is before issued {issued_utc}")
    mark = f"{member.public_key.hex()} {aircraft_id} {issued_utc} {check_form} {check_seed}"
    assignment = Assignment(
        hashlib.sha256(mark.encode()).hexdigest()[:16], book.club_name, member.name,
        member.public_key, aircraft.id, aircraft.title, aircraft.installation_id, aircraft.stage,
        lessons, check_form, check_seed, issued_utc, due_utc,
        tuple(book.requirements(aircraft_id)), installation_text,
    )  # fmt: skip
    _enter(book, assignment, member_id)
    payload = assignment.to_json()
    if installation_text and bank:
        payload[_BANK] = base64.b64encode(bank).decode()
    return write_packet("assignment", payload, key)


def _enter(book: ClubBook, assignment: Assignment, member_id: int) -> None:
    payload = assignment.to_json()
    if assignment_from_json(payload) != assignment:
        raise InvalidRecordError("assignment: holds what a reader would refuse")
    one = assignment
    row = (
        one.id, member_id, one.aircraft_id, one.issued_utc, one.due_utc, json.dumps(payload),
    )  # fmt: skip
    with book.database.write() as connection:
        connection.execute("INSERT INTO assignment VALUES (?, ?, ?, ?, ?, ?)", row)
        connection.execute(
            "INSERT OR IGNORE INTO member_aircraft VALUES (?, ?)", (member_id, one.aircraft_id)
        )


def preview_assignment(
    store: Store, data: bytes, own_key: bytes, now_utc: str, own: OwnAircraft | None = None
) -> AssignmentPreview:
    """Verify an assignment file for the member whose key is `own_key`.

    Args:
        store: The member's answers.
        data: The file's content.
        own_key: The member's public key.
        now_utc: This moment.
        own: Where an aircraft that it brings is put; None: one that brings an aircraft is refused.

    Raises:
        PacketError: If it is refused, with the reason; nothing is stored.
        CarriedError: If the aircraft that it brings can't be taken.
        FileError: If the aircraft that it brings isn't accepted by the loader.
    """
    packet = read_packet(data, "assignment")
    books = trusted_books(store)
    if packet.signer not in books:
        code = short_code(packet.signer)
        raise PacketError(f"signed by {code}, which is no club this program trusts")
    payload = dict(packet.payload)
    brought = payload.pop(_BANK, None)
    assignment = assignment_from_json(payload)
    if assignment.member_key != own_key:
        raise PacketError(f"made for {assignment.member} on another computer, not for this one")
    if moment_of(assignment.issued_utc) > moment_of(now_utc) + CLOCK_TOLERANCE:
        raise PacketError(f"issued {assignment.issued_utc}, in the future: check both clocks")
    if store.database.read("SELECT 1 FROM assignment WHERE id = ?", (assignment.id,)):
        raise PacketError("this assignment has been taken already")
    aircraft = _brought(assignment, own)
    bank = None if brought is None else _brought_bank(aircraft, brought)
    changes = _changes(assignment, aircraft, bank)
    return AssignmentPreview(assignment, packet.signer, changes, aircraft, bank)


def _brought(one: Assignment, own: OwnAircraft | None) -> Carried | None:
    if not one.installation_text:
        return None
    if own is None:
        raise PacketError("brings an aircraft, and there is nowhere to put it")
    return own.look(one.installation_id, one.installation_text, "assignment")


def _brought_bank(aircraft: Carried | None, text: object) -> CarriedBank:
    """Return the bank that came with an aircraft.

    Raises:
        InvalidRecordError: It isn't written as a bank is, or came without an aircraft.
    """
    if aircraft is None:
        raise InvalidRecordError(f"{_BANK}: belongs to no aircraft; accepted: beside its file")
    try:
        data = base64.b64decode(
            require_text(_BANK, text, LARGEST_BYTES * 4 // 3 + 4), validate=True
        )
    except ValueError as error:
        raise InvalidRecordError(f"{_BANK}: not base 64") from error
    own = aircraft.own
    shelf = BankShelf(own.charts, own.folder.parent)
    return shelf.look(aircraft.installation.id, aircraft.text, data)


def _changes(
    one: Assignment, aircraft: Carried | None, bank: CarriedBank | None
) -> tuple[str, ...]:
    lines = [
        f"{one.club} asks {one.member} for {one.aircraft_title}, stage {one.stage}",
        f"lessons: {', '.join(one.lessons) or 'none'}",
        f"check form {one.check_form}, due {one.due_utc}",
        f"what counts for it is answered under the name '{one.member}'",
    ]
    if aircraft is not None:
        lines.append(aircraft.words)
    if bank is not None:
        lines.append(bank.words)
    return tuple(lines)


def take_assignment(store: Store, preview: AssignmentPreview, now_utc: str) -> None:
    """Put the aircraft of a previewed assignment among the member's own, and store it.

    Raises:
        CarriedError: The member's aircraft have changed since the preview; nothing is stored.
        MissingFileError: The aircraft's file can't be written; nothing is stored.
    """
    if preview.aircraft is not None:
        # First: an assignment without its aircraft can't be answered, the reverse does no harm.
        preview.aircraft.put()
    if preview.bank is not None:
        preview.bank.put()
    one = preview.assignment
    payload = json.dumps(one.to_json())
    row = (one.id, preview.book_key, one.member, now_utc, one.due_utc, payload)
    with store.database.write() as connection:
        connection.execute("INSERT INTO assignment VALUES (?, ?, ?, ?, ?, ?)", row)


def assignments(store: Store) -> list[Assignment]:
    """Return the assignments taken on this computer, the next due first."""
    rows = store.database.read("SELECT payload_json FROM assignment ORDER BY due_utc")
    with understood(store.path):
        return [assignment_from_json(json.loads(row[0])) for row in rows]


def lessons_due(store: Store, member: str) -> dict[str, str]:
    """Return the lessons that a member's assignments ask for, each with its earliest due day."""
    found: dict[str, str] = {}
    for one in assignments(store):
        if one.member == member:
            for lesson in one.lessons:
                found.setdefault(lesson, one.due_utc[:10])
    return found


def missing_aircraft_words(one: Assignment, folder: Path, problem: str = "") -> str:
    """Say that an assignment's aircraft isn't on this computer, and how to get it.

    Args:
        one: The assignment.
        folder: Folder with the user's installations.
        problem: What is wrong with the file that is there; empty: there is none.
    """
    where = f"'{one.aircraft_title}', which {one.club} asks for by {one.due_utc[:10]},"
    found = f"can't be used here ({problem})" if problem else "isn't on this computer"
    return (
        f"{where} {found}. Ask the training lead to write the assignment anew: it brings the"
        f" aircraft's file. Or put their file {one.installation_id}.yaml into {folder}."
    )


def book_of_assignment(store: Store, assignment_id: str) -> bytes:
    """Return the public key of the book that issued an assignment taken on this computer.

    Raises:
        UnknownEntryError: If no such assignment was taken.
    """
    rows = store.database.read("SELECT book_key FROM assignment WHERE id = ?", (assignment_id,))
    if not rows:
        raise UnknownEntryError(f"no assignment {assignment_id!r} has been taken here")
    return bytes(rows[0][0])


def assignment_from_json(data: object) -> Assignment:
    """Return the assignment of `to_json`'s form, checked as a stranger's.

    Raises:
        InvalidRecordError: If a field is missing, unknown or impossible.
    """
    given = {"installation_text": "", **data} if isinstance(data, dict) else data
    values = dict(object_of("assignment", given, tuple(Assignment.__dataclass_fields__)))
    if isinstance(data, dict) and "installation_text" in data:
        require_text("installation_text", values["installation_text"], MAXIMUM_BYTES)
    for name in ("id", "club", "member", "aircraft_id", "aircraft_title", "installation_id"):
        require_name(name, values[name])
    require_name("check_form", values["check_form"])
    require_whole("stage", values["stage"], 1, 1000)
    require_whole("check_seed", values["check_seed"], 0, 2**63 - 1)
    require_moment("issued_utc", values["issued_utc"])
    require_moment("due_utc", values["due_utc"])
    values["lessons"] = require_names("lessons", values["lessons"])
    values["member_key"] = key_from_text("member_key", values["member_key"])
    if not isinstance(values["requirements"], list) or len(values["requirements"]) > 1000:
        raise InvalidRecordError("requirements must be a list of at most 1000")
    values["requirements"] = tuple(_requirement(item) for item in values["requirements"])
    return Assignment(**values)


def key_from_text(name: str, value: object) -> bytes:
    """Return a public key written in base 64."""
    text = require_name(name, value)
    try:
        key = base64.b64decode(text, validate=True)
    except ValueError as error:
        raise InvalidRecordError(f"{name}: not base 64") from error
    if len(key) != 32:
        raise InvalidRecordError(f"{name} must be 32 bytes")
    return key


def _requirement(data: object) -> Requirement:
    fields = object_of("requirement", data, ("competency_id", "title", "valid_days", "rules"))
    return Requirement(
        require_name("competency_id", fields["competency_id"]),
        require_name("title", fields["title"]),
        require_whole("valid_days", fields["valid_days"], 1, 36_500),
        rules_from_json(fields["rules"]),
    )
