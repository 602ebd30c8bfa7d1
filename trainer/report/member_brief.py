"""One page about a member for the flight instructor who flies the checkout with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.charts.installation import LimitValue
from trainer.records.board import Board, Cell
from trainer.records.board_change import words
from trainer.records.board_query import member_outcomes, read_board
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_book import ClubBook
from trainer.records.roster import Member, Requirement
from trainer.report.page import (
    Bar,
    BarChart,
    Block,
    Bullets,
    Facts,
    Heading,
    Paragraph,
    Report,
    Table,
)
from trainer.report.proportion import wilson_interval
from trainer.report.wording import STATUS_WORDS, cut, day, limit_row

_MOST = 5
"""Items in each list: one page has room for so many."""
_MOST_LIMITS = 8


@dataclass(frozen=True, slots=True)
class BriefFacts:
    """All that a member brief rests on."""

    club: str
    member: Member
    board: Board
    outcomes: tuple[CheckOutcome, ...]
    """The latest check of each competency."""
    limits: tuple[LimitValue, ...]
    """Limits of the installation in use."""
    cautions: tuple[str, ...]


def read_brief(
    book: ClubBook,
    member_id: int,
    aircraft_id: str,
    *,
    limits: Sequence[LimitValue],
    cautions: Sequence[str],
    now_utc: str,
) -> BriefFacts:
    """Return the facts of a brief from a club book.

    Raises:
        UnknownEntryError: If the book lacks the member or the aircraft.
    """
    board = read_board(book, aircraft_id, now_utc)
    latest = {one.competency_id: one for one in member_outcomes(book, member_id, aircraft_id)}
    member = book.member(member_id)
    return BriefFacts(
        book.club_name, member, board, tuple(latest.values()), tuple(limits), tuple(cautions)
    )


def build_brief(facts: BriefFacts, program_version: str) -> Report:
    """Return the brief."""
    rows = _rows(facts)
    blocks: list[Block] = [_facts(facts, rows), Heading("Readiness"), _table(rows)]
    blocks += [_chart(rows)] if any(cell.attempts for _, cell in rows) else []
    blocks += [Heading("What to fly first"), Bullets(_fly_first(facts, rows), is_numbered=True)]
    blocks += _sure_and_wrong(facts)
    blocks += _misconceptions(facts)
    blocks += _limits(facts)
    if facts.cautions:
        blocks += [Heading("Cautions"), Bullets(facts.cautions)]
    aircraft = facts.board.aircraft
    return Report(
        f"Checkout brief: {facts.member.name}",
        f"{aircraft.title}, stage {aircraft.stage}; {facts.club}",
        tuple(blocks),
        facts.board.at_utc,
        program_version,
        is_compact=True,
    )


def _rows(facts: BriefFacts) -> list[tuple[Requirement, Cell]]:
    if facts.member not in facts.board.members:
        return []
    return list(zip(facts.board.requirements, facts.board.row(facts.member.id), strict=True))


def _facts(facts: BriefFacts, rows: list[tuple[Requirement, Cell]]) -> Facts:
    ready = sum(cell.status == "ready" for _, cell in rows)
    last = max((cell.last_utc for _, cell in rows), default="")
    return Facts(
        (
            ("Member", facts.member.name),
            ("Ready", f"{ready} of {len(rows)} competencies"),
            ("Last answer or check", day(last)),
            ("As of", day(facts.board.at_utc)),
        )
    )


def _table(rows: list[tuple[Requirement, Cell]]) -> Block:
    if not rows:
        return Paragraph("This member is not entered for this aircraft.")
    return Table(
        ("Competency", "Status", "Because"),
        tuple((one.title, STATUS_WORDS[cell.status], cut(cell.because, 110)) for one, cell in rows),
        widths=(3, 2, 7),
        marks=tuple(cell.status for _, cell in rows),
    )


def _chart(rows: list[tuple[Requirement, Cell]]) -> BarChart:
    bars = []
    for one, cell in rows:
        if cell.attempts:
            low, high = wilson_interval(cell.right_answers, cell.attempts)
            note = f"{cell.right_answers} of {cell.attempts}"
            share = cell.right_answers / cell.attempts
            bars.append(Bar(one.title, share, low, high, note))
    return BarChart("Right answers in practice, with 95 % intervals", tuple(bars))


def _fly_first(facts: BriefFacts, rows: list[tuple[Requirement, Cell]]) -> tuple[str, ...]:
    """Return what deserves the first minutes, most urgent first."""
    by_status = {status: [] for status in STATUS_WORDS}  # type: dict[str, list[str]]
    found = {one.competency_id: one.misconceptions for one in facts.outcomes}
    for one, cell in rows:
        reason = "; ".join(each.sentence for each in found.get(one.competency_id, ()))
        by_status[cell.status].append(cut(f"{one.title}: {reason or cell.because}", 150))
    items = [f"Brief on the ground, then fly: {item}" for item in by_status["needs_briefing"]]
    items += [f"Refresh: {item}" for item in by_status["expired"]]
    items += [f"Not shown yet: {item}" for item in by_status["in_progress"]]
    items += [f"Not begun: {item}" for item in by_status["not_started"]]
    if not items:
        return ("Nothing stands out: every competency is ready.",)
    return _shortened(items)


def _shortened(items: list[str]) -> tuple[str, ...]:
    if len(items) <= _MOST:
        return tuple(items)
    return (*items[:_MOST], f"and {len(items) - _MOST} more in the club book")


def _sure_and_wrong(facts: BriefFacts) -> list[Block]:
    items = [
        cut(f"{words(outcome.competency_id)}: {one.sentence}", 170)
        for outcome in facts.outcomes
        for one in outcome.sure_and_wrong
    ]
    heading = Heading("Sure and wrong")
    if not items:
        return [heading, Paragraph("No answer in the latest checks was sure and wrong.")]
    return [heading, Bullets(_shortened(items))]


def _misconceptions(facts: BriefFacts) -> list[Block]:
    items = [
        cut(one.sentence, 150) + f" ({len(one.evidence)} answers, {day(outcome.at_utc)})"
        for outcome in facts.outcomes
        for one in outcome.misconceptions
    ]
    heading = Heading("Misconceptions found")
    if not items:
        return [heading, Paragraph("None was found in the latest checks.")]
    return [heading, Bullets(_shortened(items))]


def _limits(facts: BriefFacts) -> list[Block]:
    if not facts.limits:
        return []
    # What nobody has entered comes first: the instructor must see it even if the list is cut.
    order = sorted(facts.limits, key=lambda one: one.provenance.state != "placeholder")
    rows = tuple(limit_row(one) for one in order[:_MOST_LIMITS])
    blocks: list[Block] = [
        Heading("Limits used in the training"),
        Table(("Limit", "Value", "Where from"), rows, widths=(4, 2, 6)),
    ]
    if len(order) > _MOST_LIMITS:
        blocks.append(Paragraph(f"and {len(order) - _MOST_LIMITS} more in the installation"))
    return blocks
