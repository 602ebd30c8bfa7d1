"""Taking a result file into a club book: verify all, show what would change, then apply.

A preview stores nothing; applying stores the whole file or nothing.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from trainer.errors import TrainerError
from trainer.records.attempt import Attempt
from trainer.records.check_outcome import (
    CheckOutcome,
    misconceptions_to_json,
    sure_and_wrong_to_json,
)
from trainer.records.club_attempts import add_attempts
from trainer.records.club_book import ClubBook
from trainer.records.error import PacketError
from trainer.records.import_check import (
    BookTitles,
    book_titles,
    new_attempts,
    new_outcomes,
    require_assignment,
    require_not_taken,
    require_sense_of_time,
    signing_member,
    warnings_about,
)
from trainer.records.packet import read_file_bytes, read_packet
from trainer.records.result import Result, result_from_json
from trainer.records.roster import Member


@dataclass(frozen=True, slots=True)
class ResultPreview:
    """A verified result file, and what applying it would change; nothing is stored yet."""

    packet_id: str
    member: Member
    result: Result
    attempts: tuple[Attempt, ...]
    """Those the book doesn't hold yet."""
    outcomes: tuple[CheckOutcome, ...]
    """Those the book doesn't hold yet."""
    changes: tuple[str, ...]
    """What would change, for the lead to read."""
    warnings: tuple[str, ...]
    """What is odd but no reason to refuse."""


@dataclass(frozen=True, slots=True)
class FileImport:
    """What became of one file of many."""

    path: Path
    member: str
    attempts: int
    outcomes: int
    refusal: str
    """Why it was refused; empty if it was taken."""


def preview_result(book: ClubBook, data: bytes, book_key: bytes, now_utc: str) -> ResultPreview:
    """Verify a result file against the book whose key is `book_key`.

    Args:
        book: Where it would go.
        data: The file's content.
        book_key: Public key of this book's lead.
        now_utc: This moment, from the caller's clock.

    Raises:
        PacketError: If it is refused, with the reason.
        InvalidRecordError: If a record in it is impossible.
    """
    packet = read_packet(data, "result")
    member = signing_member(book, packet.signer)
    require_not_taken(book, packet.sha256)
    result = result_from_json(packet.payload)
    if result.book_key != book_key:
        raise PacketError("made for another club's book")
    require_assignment(book, result, member)
    require_sense_of_time(result, now_utc)
    attempts = new_attempts(book, result, member, now_utc)
    titles = book_titles(book)
    outcomes = new_outcomes(book, result, member, now_utc, titles)
    changes = (
        f"{member.name}: {len(attempts)} new answers "
        f"({len(result.attempts) - len(attempts)} in the book already or past retention)",
        *dict.fromkeys(_whole_change(one, titles) for one in outcomes if one.check),
        *(_outcome_change(one, titles) for one in outcomes),
    )
    warnings = warnings_about(book, result, member, titles)
    return ResultPreview(
        packet.sha256, member, result, tuple(attempts), tuple(outcomes), changes, warnings
    )


def apply_result(book: ClubBook, preview: ResultPreview, now_utc: str) -> None:
    """Store a previewed result, all of it or nothing.

    Raises:
        PacketError: If the same file has been taken since the preview.
        RecordsError: If it could not be stored.
    """
    result, member = preview.result, preview.member
    row = (
        preview.packet_id,
        member.id,
        result.assignment_id,
        result.made_utc,
        now_utc,
        result.program_version,
    )
    with book.database.write() as connection:
        try:
            connection.execute("INSERT INTO result VALUES (?, ?, ?, ?, ?, ?)", row)
            add_attempts(connection, member.id, preview.packet_id, preview.attempts)
            _add_outcomes(connection, preview)
        except sqlite3.IntegrityError as error:
            raise PacketError(
                "the book has changed since the preview, or the file has been taken already: "
                "preview it again"
            ) from error


def import_results(
    book: ClubBook,
    paths: Iterable[Path],
    book_key: bytes,
    now_utc: str,
    progress: Callable[[FileImport], object] = lambda _: None,
) -> list[FileImport]:
    """Take many result files, each by itself; a refused one leaves the others alone.

    Args:
        book: Where they go.
        paths: The files.
        book_key: Public key of this book's lead.
        now_utc: This moment, from the caller's clock.
        progress: Called after each file.
    """
    done = []
    for path in paths:
        try:
            preview = preview_result(book, read_file_bytes(path), book_key, now_utc)
            apply_result(book, preview, now_utc)
            name, counts = preview.member.name, (len(preview.attempts), len(preview.outcomes))
            one = FileImport(path, name, *counts, "")
        except TrainerError as error:
            one = FileImport(path, "", 0, 0, str(error))
        done.append(one)
        progress(one)
    return done


def _whole_change(one: CheckOutcome, titles: BookTitles) -> str:
    return f"{titles.aircraft_of(one)}, check of {one.at_utc[:10]}, {one.check}"


def _outcome_change(one: CheckOutcome, titles: BookTitles) -> str:
    words = one.verdict.replace("_", " ")
    found = "".join(f"; {wrong.sentence}" for wrong in one.misconceptions)
    craft, competency = titles.aircraft_of(one), titles.competency_of(one)
    return f"{craft}, {competency}: {words} ({one.at_utc[:10]}){found}"


def _add_outcomes(connection: sqlite3.Connection, preview: ResultPreview) -> None:
    rows = [
        (
            preview.member.id,
            preview.packet_id,
            one.aircraft_id,
            one.stage,
            one.competency_id,
            one.verdict,
            one.at_utc,
            json.dumps(dict(sorted(one.rules.items()))),
            json.dumps(list(one.evidence)),
            json.dumps(sure_and_wrong_to_json(one.sure_and_wrong)),
            json.dumps(misconceptions_to_json(one.misconceptions)),
            json.dumps(one.check.to_json()) if one.check else "",
        )
        for one in preview.outcomes
    ]
    connection.executemany(
        "INSERT INTO outcome (member_id, result_id, aircraft_id, stage, competency_id, verdict, "
        "at_utc, rules_json, evidence_json, sure_and_wrong_json, misconceptions_json, check_json) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        rows,
    )
