"""One page about a member for the flight instructor who flies the checkout with them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from trainer.assessment.answers.proportion import wilson_interval
from trainer.charts.installation import LimitValue
from trainer.charts.provenance import is_signed
from trainer.records.attempt import Attempt
from trainer.records.board import Board, Cell, Status, counted
from trainer.records.board_query import member_outcomes, read_board
from trainer.records.check_diagnosis import tells_something
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_attempts import attempts_by_id, attempts_of
from trainer.records.club_book import ClubBook
from trainer.records.roster import Member, Requirement
from trainer.report.brief_answers import (
    critical_answers,
    critical_groups,
    is_critical,
    sure_answers,
)
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
from trainer.report.standing import (
    NO_CHECK,
    Suspected,
    rests_on,
    without_check,
)
from trainer.report.wording import BELIEVED_WORDS, STATUS_WORDS, cut, day, limit_row

_MOST = 4
"""Items in each list: one page has room for so many."""
_MOST_CRITICAL = 6
Suspect = Callable[[Sequence[Attempt]], tuple[Suspected, ...] | None]
"""Weighs a member's answers, oldest first; None: they can't be weighed here."""
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
    limits: tuple[LimitValue, ...] | None
    """Limits of the installation in use; None: its file isn't on this computer."""
    cautions: tuple[str, ...]
    answers: Mapping[str, Attempt] = field(default_factory=dict)
    """Those behind the checks by id, as far as they are kept."""
    suspected: tuple[Suspected, ...] | None = None
    """Wrong rules on too few answers; None: the answers weren't weighed."""

    @property
    def titles(self) -> dict[str, str]:
        """Title of each competency by id."""
        return {one.competency_id: one.title for one in self.board.requirements}

    @property
    def unchecked(self) -> frozenset[str]:
        """Competencies whose verdict rests on answers of lessons alone."""
        return without_check(self.outcomes, self.answers)


def read_brief(
    book: ClubBook,
    member_id: int,
    aircraft_id: str,
    *,
    limits: Sequence[LimitValue] | None,
    cautions: Sequence[str],
    now_utc: str,
    suspect: Suspect | None = None,
) -> BriefFacts:
    """Return the facts of a brief from a club book.

    Args:
        book: The club's book.
        member_id: Whom it is about.
        aircraft_id: An aircraft of the book.
        limits: Those of its installation; None: its file isn't on this computer.
        cautions: What else is to be told.
        now_utc: This moment.
        suspect: Weighs the member's answers for wrong rules.

    Raises:
        UnknownEntryError: If the book lacks the member or the aircraft.
    """
    board = read_board(book, aircraft_id, now_utc)
    member = book.member(member_id)
    latest, answers = _verdicts(book, member_id, aircraft_id)
    return BriefFacts(
        book.club_name, member, board, latest,
        None if limits is None else tuple(limits), tuple(cautions), answers,
        suspect(_told(book, member_id, board)) if suspect is not None else None,
    )  # fmt: skip


def _told(book: ClubBook, member_id: int, board: Board) -> list[Attempt]:
    """Return the answers in the aircraft that say what is believed, oldest first."""
    found = attempts_of(book, member_id, installation_id=board.aircraft.installation_id)
    return [one for one in reversed(found) if tells_something(one)]


def read_unchecked(book: ClubBook, member_id: int, aircraft_id: str) -> frozenset[str]:
    """Return the competencies of which a member's verdict rests on answers of lessons alone."""
    return without_check(*_verdicts(book, member_id, aircraft_id))


def _verdicts(
    book: ClubBook, member_id: int, aircraft_id: str
) -> tuple[tuple[CheckOutcome, ...], dict[str, Attempt]]:
    """Return a member's latest verdicts, and the answers behind them by id."""
    latest = {one.competency_id: one for one in member_outcomes(book, member_id, aircraft_id)}
    evidence = [name for one in latest.values() for name in one.evidence]
    return tuple(latest.values()), {one.id: one for one in attempts_by_id(book, evidence)}


def build_brief(facts: BriefFacts, program_version: str) -> Report:
    """Return the brief."""
    rows = _rows(facts)
    blocks: list[Block] = [_facts(facts, rows), *_rests_on(facts)]
    blocks += _critical(facts)
    blocks += _sure_and_wrong(facts)
    blocks += _misconceptions(facts)
    blocks += [Heading("What to fly first"), Bullets(_fly_first(facts, rows), is_numbered=True)]
    blocks += [Heading("Readiness"), _table(facts, rows), *_chart(rows), *_limits(facts)]
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


def _rests_on(facts: BriefFacts) -> list[Block]:
    return rests_on(facts.limits, facts.board.aircraft.title, facts.unchecked, facts.titles)


def _latest(facts: BriefFacts) -> CheckOutcome | None:
    return max(facts.outcomes, key=lambda one: one.at_utc, default=None)


def _latest_check(facts: BriefFacts) -> str:
    one = _latest(facts)
    if one is None:
        return "none yet"
    if one.competency_id in facts.unchecked:
        return f"{NO_CHECK}: {day(one.at_utc)}"
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
            (
                one.title,
                STATUS_WORDS[cell.status],
                _because(
                    latest.get(one.competency_id),
                    cell,
                    is_checked=one.competency_id not in facts.unchecked,
                ),
            )
            for one, cell in rows
        ),
        widths=(4, 2, 7),
        marks=tuple(cell.status for _, cell in rows),
    )


def _because(outcome: CheckOutcome | None, cell: Cell, *, is_checked: bool) -> str:
    """Return the reason in one line; misconceptions have a list of their own below."""
    if outcome and outcome.misconceptions and cell.status == "needs_briefing":
        return f"check of {day(outcome.at_utc)} found a misconception, see below"
    if outcome is not None and not is_checked:
        return cut(f"{NO_CHECK}: {cell.because.removeprefix('checked ')}", 80)
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
    critical = {one.competency_id for one in facts.outcomes if is_critical(one)}
    ordered = sorted(rows, key=lambda row: row[0].competency_id not in critical)
    for status, words in _FLY_WORDS.items():
        for one, cell in ordered:
            if cell.status == status:
                wrong = "; ".join(each.sentence for each in found.get(one.competency_id, ()))
                titles.setdefault((words, wrong or cell.because), []).append(one.title)
    items = [
        cut(f"{words}: {', '.join(names)}: {reason}", 150)
        for (words, reason), names in titles.items()
    ]
    if items:
        return _shortened(items)
    if not rows:
        return ("Nothing is known: this member is not entered for this aircraft.",)
    but = " For what that rests on see above." if _rests_on(facts) else ""
    return (f"Nothing stands out: every competency is ready.{but}",)


def _shortened(items: list[str], most: int = _MOST) -> tuple[str, ...]:
    if len(items) <= most:
        return tuple(items)
    more = f"and {len(items) - most} more in the club book: the readiness board shows each"
    return (*items[:most], more)


def _critical(facts: BriefFacts) -> list[Block]:
    """Return what was critical and wrong; nothing if nothing was."""
    groups = critical_groups(facts.outcomes)
    if not groups:
        return []
    items = critical_answers(facts.outcomes, facts.titles, facts.answers)
    blocks: list[Block] = [
        Heading("Critical and wrong"),
        Paragraph(f"Not shown: {', '.join(groups)}. Brief it before the flight.", is_strong=True),
    ]
    return [*blocks, Bullets(_shortened(items, _MOST_CRITICAL))] if items else blocks


def _sure_and_wrong(facts: BriefFacts) -> list[Block]:
    items = sure_answers(facts.outcomes, facts.titles)
    is_critical_told = any(map(is_critical, facts.outcomes))
    heading = Heading("Sure and wrong, of the rest" if is_critical_told else "Sure and wrong")
    if not items:
        rest = " of the rest" if is_critical_told else ""
        return [heading, Paragraph(f"No answer{rest} in the latest checks was sure and wrong.")]
    # Where no wrong rule is named, these answers are what the instructor has to go by.
    is_named = any(outcome.misconceptions for outcome in facts.outcomes)
    most = _MOST if is_named or is_critical_told else 2 * _MOST
    return [heading, Bullets(_shortened(items, most))]


def _misconceptions(facts: BriefFacts) -> list[Block]:
    titles = facts.titles
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
    blocks: list[Block] = [Heading("Misconceptions found")]
    if items:
        blocks.append(Bullets(_shortened(items)))
    else:
        latest = _latest(facts)
        is_checked = latest is None or latest.competency_id not in facts.unchecked
        blocks.append(Paragraph(_none_named(latest) if is_checked else "No check yet."))
    return blocks + _suspected(facts, set(found))


def _suspected(facts: BriefFacts, named: set[str]) -> list[Block]:
    """Return the wrong rules that the answers on record point to, but too few to name them."""
    if facts.suspected is None:
        return []
    items = [
        f"Suspected, on {counted(one.answers, 'answer')}: {cut(one.sentence, 150)}"
        for one in facts.suspected
        if one.sentence not in named
    ]
    return [Bullets(_shortened(items))] if items else []


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
    # Where the page has too little room for all, the heights must be seen, then what isn't signed.
    order = sorted(facts.limits, key=lambda one: (not _is_height(one), is_signed(one.provenance)))
    rows = tuple(limit_row(one) for one in order)
    return [
        Heading("Limits used in the training"),
        Table(("Limit", "Value", "Where from"), rows, widths=(5, 2, 6), may_be_cut=True),
    ]


def _is_height(limit: LimitValue) -> bool:
    return "minimum" in limit.label.lower() and "height" in limit.label.lower()
