"""One page about a member for the flight instructor who flies the checkout with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.assessment.answers.proportion import wilson_interval
from trainer.charts.installation import LimitValue
from trainer.records.board import Board, Cell, Status, counted
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
from trainer.report.wording import (
    BELIEVED_WORDS,
    STATUS_WORDS,
    cut,
    day,
    limit_row,
    situation_cut,
)

_MOST = 4
"""Items in each list: one page has room for so many."""
_MOST_LIMITS = 8
_LONGEST_ANSWER = 190
"""Of a sure and wrong answer, in characters, unless what was said and right needs more."""
_MOST_BARS = 6
_FLY_WORDS: dict[Status, str] = {
    "needs_briefing": "Brief on the ground, then fly",
    "expired": "Refresh",
    "in_progress": "Not shown yet",
    "not_started": "Not begun",
}
"""What to do about each status, in order of urgency."""


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
    blocks: list[Block] = [_facts(facts, rows), Heading("Readiness"), _table(facts, rows)]
    blocks += _chart(rows)
    blocks += [Heading("What to fly first"), Bullets(_fly_first(facts, rows), is_numbered=True)]
    blocks += _sure_and_wrong(facts)
    blocks += _misconceptions(facts)
    blocks += _limits(facts)
    if facts.cautions:
        cautions = [cut(one, 150) for one in facts.cautions]
        blocks += [Heading("Cautions"), Bullets(_shortened(cautions))]
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
            ("Latest check", _latest_check(facts)),
            ("Last answer or check", day(last)),
            ("As of", day(facts.board.at_utc)),
        )
    )


def _latest(facts: BriefFacts) -> CheckOutcome | None:
    return max(facts.outcomes, key=lambda one: one.at_utc, default=None)


def _latest_check(facts: BriefFacts) -> str:
    one = _latest(facts)
    if one is None:
        return "none yet"
    if one.check is None:
        return f"{day(one.at_utc)}; what it said as a whole isn't on record"
    return f"{day(one.at_utc)}, {one.check}"


def _table(facts: BriefFacts, rows: list[tuple[Requirement, Cell]]) -> Block:
    if not rows:
        return Paragraph("This member is not entered for this aircraft.")
    latest = {one.competency_id: one for one in facts.outcomes}
    return Table(
        ("Competency", "Status", "Because"),
        tuple(
            (one.title, STATUS_WORDS[cell.status], _because(latest.get(one.competency_id), cell))
            for one, cell in rows
        ),
        widths=(4, 2, 7),
        marks=tuple(cell.status for _, cell in rows),
    )


def _because(outcome: CheckOutcome | None, cell: Cell) -> str:
    """Return the reason in one line; misconceptions have a list of their own below."""
    if outcome and outcome.misconceptions and cell.status == "needs_briefing":
        return f"check of {day(outcome.at_utc)} found a misconception, see below"
    return cut(cell.because, 80)


def _chart(rows: list[tuple[Requirement, Cell]]) -> list[Block]:
    """Return the competencies practised worst, as far as the page has room."""
    practised = [(one, cell) for one, cell in rows if cell.attempts]
    practised.sort(key=lambda item: item[1].right_answers / item[1].attempts)
    bars = []
    for one, cell in practised[:_MOST_BARS]:
        low, high = wilson_interval(cell.right_answers, cell.attempts)
        note = f"{cell.right_answers} of {cell.attempts}"
        bars.append(Bar(one.title, cell.right_answers / cell.attempts, low, high, note))
    title = "Right answers in practice, weakest first, with 95 % intervals"
    return [BarChart(title, tuple(bars))] if bars else []


def _fly_first(facts: BriefFacts, rows: list[tuple[Requirement, Cell]]) -> tuple[str, ...]:
    """Return what deserves the first minutes, most urgent first; the same reason only once."""
    found = {one.competency_id: one.misconceptions for one in facts.outcomes}
    titles: dict[tuple[str, str], list[str]] = {}
    for status, words in _FLY_WORDS.items():
        for one, cell in rows:
            if cell.status == status:
                wrong = "; ".join(each.sentence for each in found.get(one.competency_id, ()))
                titles.setdefault((words, wrong or cell.because), []).append(one.title)
    items = [
        cut(f"{words}: {', '.join(names)}: {reason}", 150)
        for (words, reason), names in titles.items()
    ]
    return _shortened(items) if items else ("Nothing stands out: every competency is ready.",)


def _shortened(items: list[str], most: int = _MOST) -> tuple[str, ...]:
    if len(items) <= most:
        return tuple(items)
    more = f"and {len(items) - most} more in the club book: the readiness board shows each"
    return (*items[:most], more)


def _sure_and_wrong(facts: BriefFacts) -> list[Block]:
    titles = {one.competency_id: one.title for one in facts.board.requirements}
    items = [
        f"{titles.get(outcome.competency_id, outcome.competency_id)}: "
        f"{situation_cut(one.sentence, _LONGEST_ANSWER)}"
        for outcome in facts.outcomes
        for one in outcome.sure_and_wrong
    ]
    heading = Heading("Sure and wrong")
    if not items:
        return [heading, Paragraph("No answer in the latest checks was sure and wrong.")]
    # Where no wrong rule is named, these answers are what the instructor has to go by.
    is_named = any(outcome.misconceptions for outcome in facts.outcomes)
    return [heading, Bullets(_shortened(items, _MOST if is_named else 2 * _MOST))]


def _misconceptions(facts: BriefFacts) -> list[Block]:
    titles = {one.competency_id: one.title for one in facts.board.requirements}
    found: dict[str, list[tuple[str, int]]] = {}
    for outcome in facts.outcomes:
        title = titles.get(outcome.competency_id, outcome.competency_id)
        for one in outcome.misconceptions:
            found.setdefault(one.sentence, []).append((title, len(one.evidence)))
    items = [
        f"{cut(sentence, 150)} ({counted(sum(n for _, n in places), 'answer')}: "
        f"{', '.join(title for title, _ in places)})"
        for sentence, places in found.items()
    ]
    heading = Heading("Misconceptions found")
    if not items:
        return [heading, Paragraph(_none_named(_latest(facts)))]
    return [heading, Bullets(_shortened(items))]


def _none_named(latest: CheckOutcome | None) -> str:
    """Say what it means that no misconception is listed: not always that there is none."""
    if latest is None:
        return "No check yet."
    if latest.check is None:
        return "None was named in the latest checks."
    words = BELIEVED_WORDS[latest.check.believed]
    return f"Latest check: {words}."


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
