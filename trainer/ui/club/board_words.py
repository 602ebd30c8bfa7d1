"""The readiness board in words and shapes, and the evidence behind a cell. No Qt here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from trainer.records.attempt import Attempt
from trainer.records.board import STATUSES, Board, Cell, Status, counted
from trainer.records.board_change import BoardChange, Call
from trainer.records.board_query import CellEvidence
from trainer.records.roster import Member, Requirement
from trainer.report.wording import BELIEVED_WORDS, STATUS_WORDS, cell_title, cell_words, day
from trainer.session.annunciation import Annunciation

SHAPES: Mapping[Status, str] = {
    "not_started": "○",
    "in_progress": "◐",
    "needs_briefing": "▲",
    "expired": "✕",
    "ready": "●",
}
"""A shape of its own for each status, so that no colour is needed to tell them apart."""
ROLES: Mapping[Status, str] = {
    "not_started": "quiet_ink",
    "in_progress": "ink",
    "needs_briefing": "wrong",
    "expired": "caution",
    "ready": "right",
}
"""Meaning in the theme; adds to shape and word, replaces neither."""
ANY = "Any status"
MOST_LINES = 200
"""More are not read, and would hold up the painting."""


def status_text(status: Status) -> str:
    """Return a status as shape and word.

    Example:
        >>> status_text("needs_briefing")
        '▲ needs a briefing'
    """
    return f"{SHAPES[status]} {STATUS_WORDS[status]}"


def ready_text(board: Board, member_id: int) -> str:
    """Return how much of what is required a member is ready in."""
    row = board.row(member_id)
    ready = sum(cell.status == "ready" for cell in row)
    mark = f" {SHAPES['ready']}" if board.is_ready(member_id) else ""
    return f"{ready} of {len(row)}{mark}"


def counts_text(board: Board) -> str:
    """Return the board in one line."""
    ready = sum(board.is_ready(member.id) for member in board.members)
    counts = board.counts()
    cells = ", ".join(f"{counts[one]} {STATUS_WORDS[one]}" for one in STATUSES if counts[one])
    members = counted(len(board.members), "member")
    return f"{members}, {ready} ready in everything. Cells: {cells or 'none'}"


def cell_name(member: Member, requirement: Requirement, cell: Cell) -> str:
    """Return what a screen reader says of a cell."""
    words = STATUS_WORDS[cell.status]
    return f"{member.name}, {requirement.title}: {words}, {cell.because}"


def cell_lines(requirement: Requirement, cell: Cell, rules: Iterable[str] = ()) -> list[str]:
    """Return a cell's reason and figures, line by line.

    Args:
        requirement: What the cell is about.
        cell: The cell.
        rules: The sentences of the rules that are not what they were at the check.
    """
    lines = [f"{status_text(cell.status)}: {cell.because}"]
    if cell.attempts:
        lines.append(f"Practice: {cell.right_answers} of {cell.attempts} right")
    if cell.last_utc:
        lines.append(f"Last answer or check: {day(cell.last_utc)}")
    if cell.expires_utc:
        lines.append(f"Validity: {requirement.valid_days} days, to {day(cell.expires_utc)}")
    return [*lines, *(f"Not as at the check: {rule}" for rule in rules)]


def evidence_lines(evidence: CellEvidence) -> list[str]:
    """Return the check behind a cell: what was found, and every answer it rests on."""
    outcome = evidence.outcome
    verdict = outcome.verdict.replace("_", " ")
    lines = [f"Check of {day(outcome.at_utc)} at stage {outcome.stage}: {verdict}"]
    if outcome.check:
        lines.append(f"The whole check, {outcome.check}")
        lines.append(f"Wrong rules: {BELIEVED_WORDS[outcome.check.believed]}")
    lines += [f"▲ Sure and wrong: {one.sentence}" for one in outcome.sure_and_wrong]
    lines += [
        f"▲ Misconception: {one.sentence} ({counted(len(one.evidence), 'answer')})"
        for one in outcome.misconceptions
    ]
    lines += [attempt_line(one) for one in evidence.attempts]
    missing = len(outcome.evidence) - len(evidence.attempts)
    if missing:
        lines.append(f"{counted(missing, 'answer')} deleted since")
    return lines


def attempt_line(attempt: Attempt) -> str:
    """Return an answer with what was said and what was seen."""
    sure = attempt.confidence.replace("_", " ")
    head = f"{day(attempt.at_utc)}  {attempt.question}"
    if attempt.is_right:
        return f"✓ {head}  right, {sure}"
    return f"✗ {head}  {sure}; {_difference(attempt)}"


def _difference(attempt: Attempt) -> str:
    if attempt.expected:
        return f"said {attempt.said or 'nothing'}, right was {attempt.expected}"
    said = Annunciation.from_json(attempt.predicted)
    read = Annunciation.from_json(attempt.actual)
    return "; ".join(
        f"{cell_title(cell).lower()}: said {cell_words(said, cell, {})}, "
        f"read {cell_words(read, cell, {})}"
        for cell in attempt.wrong_cells
    )


def shortened(lines: list[str]) -> list[str]:
    """Return as many lines as somebody reads, and how many more there are.

    Example:
        >>> shortened(["line"] * 202)[-1]
        'and 2 more'
    """
    more = len(lines) - MOST_LINES
    return lines if more <= 0 else [*lines[:MOST_LINES], f"and {more} more"]


def call_lines(calls: Iterable[Call]) -> list[str]:
    """Return whom to call, most urgent first."""
    return [
        f"{place}. {one.member.name}: {'; '.join(one.reasons)}"
        for place, one in enumerate(calls, 1)
    ]


def change_lines(changes: Iterable[BoardChange]) -> list[str]:
    """Return what changed since the board was last marked as seen."""
    return [
        f"{one.member.name}, {one.requirement.title}: {STATUS_WORDS[one.before]} → "
        f"{status_text(one.after)} ({one.because})"
        for one in changes
    ]
