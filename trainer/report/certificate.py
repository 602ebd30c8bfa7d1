"""A record of ground training to keep: what was checked, when, on how many answers.

It is worded as a training record, and says what it is not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence

from trainer.charts.installation import LimitValue
from trainer.errors import TrainerError
from trainer.records.board import Board, Cell
from trainer.records.roster import Member, Requirement
from trainer.report.page import Block, Facts, Heading, Paragraph, Report, Signatures, Table
from trainer.report.standing import NO_CHECK, rests_on
from trainer.report.wording import day

_IS_NOT = (
    "This is a record of ground training with a desktop training aid. It is no licence, rating, "
    "endorsement, approval or permission to fly, and it carries no loggable time. Whether the "
    "holder may use the autopilot is decided by a licensed instructor in the aircraft."
)


class NotReadyError(TrainerError):
    """A record of completion was asked for somebody who has not completed."""


def build_certificate(
    club: str,
    member: Member,
    board: Board,
    program_version: str,
    *,
    limits: Sequence[LimitValue] | None = None,
    unchecked: Collection[str] = (),
) -> Report:
    """Return the record of a member who is ready in everything the aircraft requires.

    Args:
        club: Name of the club.
        member: Whose record it is.
        board: The readiness board of the aircraft.
        program_version: Stands at the foot.
        limits: Those of the aircraft's installation; None: its file isn't on this computer.
        unchecked: Competencies whose verdict rests on answers of lessons alone.

    Raises:
        NotReadyError: If they are not; the message lists what is missing.
    """
    cells = _ready_cells(member, board)
    aircraft = f"{board.aircraft.title}, stage {board.aircraft.stage}"
    ends = min(cell.expires_utc for _, cell in cells)
    facts = (
        ("Member", member.name),
        ("Aircraft", aircraft),
        ("Valid to", day(ends)),
        ("Record number", _number(club, member, board, ends)),
    )
    # Who wasn't checked wasn't found to be anything: the book only says so.
    titles = {one.competency_id: one.title for one, _ in cells}
    found = "stands in its book as" if unchecked else "was found"
    blocks: tuple[Block, ...] = (
        Paragraph(
            f"{club} records that {member.name} has completed its ground training on the "
            f"autopilot mode logic of {aircraft}, and {found} ready for the checkout flight in "
            "each competency below.",
        ),
        *rests_on(limits, board.aircraft.title, unchecked, titles),
        Facts(facts),
        Heading("Competencies"),
        _table(cells, unchecked),
        Paragraph(_IS_NOT, is_strong=True),
        Paragraph("It ends early if the aircraft's fit changes; the club book says what counts."),
        Signatures(("Training lead, date", "Flight instructor, date")),
    )
    subtitle = f"{member.name}; {aircraft}"
    return Report("Ground training record", subtitle, blocks, board.at_utc, program_version)


def _ready_cells(member: Member, board: Board) -> list[tuple[Requirement, Cell]]:
    """Return the member's cells if all are ready."""
    if member not in board.members:
        raise NotReadyError(f"{member.name} is not entered for {board.aircraft.title}")
    cells = list(zip(board.requirements, board.row(member.id), strict=True))
    missing = [one.title for one, cell in cells if cell.status != "ready"]
    if missing or not cells:
        what = ", ".join(missing) or "nothing is required yet"
        raise NotReadyError(f"{member.name} has not completed {board.aircraft.title}: {what}")
    return cells


def _table(cells: list[tuple[Requirement, Cell]], unchecked: Collection[str]) -> Table:
    rows = tuple(
        (
            one.title,
            day(cell.expires_utc),
            f"{NO_CHECK}: {_when(cell)}" if one.competency_id in unchecked else _when(cell),
        )
        for one, cell in cells
    )
    return Table(("Competency", "Valid to", "Checked"), rows, widths=(4, 2, 5))


def _when(cell: Cell) -> str:
    return cell.because.split(",")[0].removeprefix("checked ")


def _number(club: str, member: Member, board: Board, ends: str) -> str:
    """Return a number that the same facts always give, to find a printed record again."""
    facts = f"{club}\n{member.name}\n{board.aircraft.id}\n{board.aircraft.stage}\n{ends}"
    return hashlib.sha256(facts.encode()).hexdigest()[:10].upper()
