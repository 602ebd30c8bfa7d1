"""What changed on a board since it was last looked at, and whom to call next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from trainer.records.board import Board, CellKey, Status, counted, readiness_ended
from trainer.records.board_query import read_facts
from trainer.records.club_book import ClubBook
from trainer.records.field_check import moment_of
from trainer.records.roster import Aircraft, Member, Requirement, is_replaced

SOON = timedelta(days=30)
"""Readiness that ends within this time is worth a call.  Source: chosen for teaching."""
_SILENT = timedelta(days=21)
"""Nobody practises for this long without a reason.  Source: chosen for teaching."""
_WEIGHTS = (
    (100, "needs_briefing", "needs a briefing"),
    (30, "expired", "expired"),
    (5, "ends_soon", "ends within 30 days"),
)
"""Weight for each cell, status, words.  Source: chosen for teaching."""


@dataclass(frozen=True, slots=True)
class BoardChange:
    """One cell that is not what it was."""

    member: Member
    requirement: Requirement
    before: Status
    after: Status
    because: str

    def __str__(self) -> str:
        before, after = words(self.before), words(self.after)
        return f"{self.member.name}, {self.requirement.title}: {before} -> {after} ({self.because})"


@dataclass(frozen=True, slots=True)
class Call:
    """A member to call, most urgent first, with the reasons."""

    member: Member
    reasons: tuple[str, ...]
    urgency: int
    """Sum of the reasons' weights; only for the order."""


def words(status: str) -> str:
    """Return a status or verdict as words.

    Example:
        >>> words("needs_briefing")
        'needs briefing'
    """
    return status.replace("_", " ")


def board_changes(before: Mapping[CellKey, Status], after: Board) -> tuple[BoardChange, ...]:
    """Return the cells whose status differs; a cell not seen before counts as not started."""
    return tuple(
        BoardChange(member, one, old, cell.status, cell.because)
        for member in after.members
        for one in after.requirements
        for cell in (after.cell(member.id, one.competency_id),)
        for old in (before.get((member.id, one.competency_id), "not_started"),)
        if old != cell.status
    )


def readiness_lost(
    book: ClubBook, aircraft_id: str, after: Sequence[Requirement], now_utc: str
) -> int:
    """Return how many cells of an aircraft are ready now and wouldn't be with other requirements.

    Raises:
        UnknownEntryError: If the book has no such aircraft.
    """
    return len(readiness_ended(read_facts(book, aircraft_id), after, now_utc))


def replacing_words(
    book: ClubBook,
    after: Aircraft,
    required: Sequence[Requirement],
    *,
    now_utc: str,
    titles: Mapping[str, str],
) -> str:
    """Say what saving an aircraft would do to another one that has its place in the book.

    Args:
        book: The club's book.
        after: The aircraft as it would be saved.
        required: What it would require.
        now_utc: This moment.
        titles: Words for each installation.

    Returns:
        Nothing for a new aircraft, or for the next stage of one that is there.
    """
    before = {one.id: one for one in book.aircraft()}.get(after.id)
    if before is None or not is_replaced(before, after):
        return ""
    old, new = (titles.get(one.installation_id, one.installation_id) for one in (before, after))
    what = (
        f"it would go back to stage {after.stage}"
        if before.installation_id == after.installation_id
        else f"the installation '{new}' at stage {after.stage} would take its place, which is not "
        f"its next stage, {before.stage + 1}"
    )
    lost = counted(readiness_lost(book, before.id, required, now_utc), "cell")
    return (
        f"'{before.title}' is in the book with the installation '{old}' at stage {before.stage}; "
        f"{what}. On its board {lost} that read 'ready' would expire or go."
    )


def seen_statuses(book: ClubBook, aircraft_id: str) -> dict[CellKey, Status]:
    """Return the board's statuses as they were when `mark_seen` was last called."""
    rows = book.database.read(
        "SELECT member_id, competency_id, status FROM board_seen WHERE aircraft_id = ?",
        (aircraft_id,),
    )
    return {(row[0], row[1]): row[2] for row in rows}


def mark_seen(book: ClubBook, board: Board) -> None:
    """Remember the board as it is now, for the next 'what changed'."""
    rows = [
        (board.aircraft.id, member_id, competency_id, cell.status, board.at_utc)
        for (member_id, competency_id), cell in board.cells.items()
    ]
    with book.database.write() as connection:
        connection.execute("DELETE FROM board_seen WHERE aircraft_id = ?", (board.aircraft.id,))
        connection.executemany("INSERT INTO board_seen VALUES (?, ?, ?, ?, ?)", rows)


def overdue(book: ClubBook, aircraft_id: str, now_utc: str) -> dict[int, str]:
    """Return members with an assignment past its due date and no result, with that date."""
    rows = book.database.read(
        "SELECT member_id, min(due_utc) FROM assignment a WHERE aircraft_id = ? AND due_utc < ? "
        "AND NOT EXISTS (SELECT 1 FROM result r WHERE r.assignment_id = a.id) GROUP BY member_id",
        (aircraft_id, now_utc),
    )
    return {row[0]: row[1] for row in rows}


def call_list(board: Board, overdue_utc: Mapping[int, str]) -> tuple[Call, ...]:
    """Return whom to call next, most urgent first.

    A needed briefing weighs most, then expired readiness, an overdue assignment, readiness that
    ends within 30 days, and three weeks of silence.
    """
    calls = []
    for member in board.members:
        reasons = _reasons(board, member, overdue_utc.get(member.id, ""))
        if reasons:
            texts = tuple(text for _, text in reasons)
            calls.append(Call(member, texts, sum(weight for weight, _ in reasons)))
    return tuple(sorted(calls, key=lambda call: (-call.urgency, call.member.name)))


def _reasons(board: Board, member: Member, due_utc: str) -> list[tuple[int, str]]:
    titles: dict[str, list[str]] = {}
    last_utc = ""
    for one in board.requirements:
        cell = board.cell(member.id, one.competency_id)
        status: str = cell.status
        if status == "ready" and moment_of(cell.expires_utc) - moment_of(board.at_utc) <= SOON:
            status = "ends_soon"
        titles.setdefault(status, []).append(one.title)
        last_utc = max(last_utc, cell.last_utc)
    found = [
        (weight * len(titles[status]), f"{text}: {', '.join(titles[status])}")
        for weight, status, text in _WEIGHTS
        if status in titles
    ]
    if due_utc:
        found.append((20, f"assignment was due {due_utc[:10]}"))
    if not last_utc:
        found.append((2, "has not begun"))
    elif "in_progress" in titles and moment_of(board.at_utc) - moment_of(last_utc) >= _SILENT:
        found.append((10, f"nothing heard since {last_utc[:10]}"))
    return found
