"""Where the club as a whole is strong and weak, without names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.assessment.answers.proportion import wilson_interval
from trainer.records.board import STATUSES, Board, PracticeSum, Status, build_board
from trainer.records.board_query import read_facts
from trainer.records.club_book import ClubBook
from trainer.records.club_sums import rule_sums
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
from trainer.report.wording import STATUS_WORDS, cut

_MOST_RULES = 10
LEAST_ANSWERS = 10
"""Rules with fewer answers are not ranked.  Source: chosen for teaching."""


@dataclass(frozen=True, slots=True)
class SummaryFacts:
    """All that a class summary rests on."""

    club: str
    board: Board
    rules: Mapping[str, PracticeSum]
    """The whole club's answers by rule."""
    misconceptions: Mapping[str, int]
    """Sentence, and how many members hold it by their latest check."""
    because: Mapping[str, str]
    """The one-sentence reason of each rule, from the chart."""


def read_summary(
    book: ClubBook, aircraft_id: str, *, because: Mapping[str, str], now_utc: str
) -> SummaryFacts:
    """Return the facts of a class summary from a club book.

    Raises:
        UnknownEntryError: If the book lacks the aircraft.
    """
    facts = read_facts(book, aircraft_id)
    holders: dict[str, set[int]] = {}
    for (member_id, _), outcome in facts.outcomes.items():
        for sentence in outcome.misconceptions:
            holders.setdefault(sentence, set()).add(member_id)
    return SummaryFacts(
        book.club_name,
        build_board(facts, now_utc),
        rule_sums(book, facts.aircraft.installation_id),
        {sentence: len(found) for sentence, found in holders.items()},
        because,
    )


def build_summary(facts: SummaryFacts, program_version: str) -> Report:
    """Return the class summary."""
    board = facts.board
    blocks: list[Block] = [
        _facts(facts),
        Heading("Competencies"),
        _competencies(board),
        *_weakest(facts),
        *_misconceptions(facts),
        Heading("Members, by pseudonym"),
        _members(board),
    ]
    return Report(
        "Class summary",
        f"{board.aircraft.title}, stage {board.aircraft.stage}; {facts.club}",
        tuple(blocks),
        board.at_utc,
        program_version,
    )


def weakest_rules(rules: Mapping[str, PracticeSum]) -> list[str]:
    """Return the rules that the club knows least, weakest first.

    Ordered by the upper end of the 95 % interval, so that a rule counts as weak only if enough
    answers say so.
    """
    asked = {rule: one for rule, one in rules.items() if one.attempts >= LEAST_ANSWERS}
    return sorted(
        asked,
        key=lambda rule: (
            wilson_interval(asked[rule].right_answers, asked[rule].attempts)[1],
            rule,
        ),
    )


def _facts(facts: SummaryFacts) -> Facts:
    board = facts.board
    ready = sum(board.is_ready(member.id) for member in board.members)
    answers = sum(one.attempts for one in facts.rules.values())
    return Facts(
        (
            ("Members", str(len(board.members))),
            ("Ready in everything", str(ready)),
            ("Answers, counted by rule", str(answers)),
            ("As of", board.at_utc[:10]),
        )
    )


def _competencies(board: Board) -> Table:
    rows = []
    for one in board.requirements:
        count = Counter(board.cell(member.id, one.competency_id).status for member in board.members)
        rows.append((one.title, *(str(count[status]) for status in STATUSES)))
    titles = tuple(STATUS_WORDS[status] for status in STATUSES)
    return Table(("Competency", *titles), tuple(rows), widths=(4, 2, 2, 2, 2, 2))


def _weakest(facts: SummaryFacts) -> list[Block]:
    ranked = weakest_rules(facts.rules)[:_MOST_RULES]
    heading = Heading("Rules that the club knows least")
    if not ranked:
        text = f"No rule has been asked {LEAST_ANSWERS} times yet."
        return [heading, Paragraph(text)]
    bars = []
    for number, rule in enumerate(ranked, 1):
        one = facts.rules[rule]
        low, high = wilson_interval(one.right_answers, one.attempts)
        note = f"{one.right_answers} of {one.attempts}"
        if one.sure_and_wrong:
            note += f"; {one.sure_and_wrong} sure, wrong"
        bars.append(Bar(f"{number}. {_short(rule)}", one.right_answers / one.attempts,
                        low, high, note))  # fmt: skip
    sentences = tuple(cut(facts.because.get(rule, _short(rule)), 200) for rule in ranked)
    return [
        heading,
        BarChart("Right answers, with 95 % intervals, weakest first", tuple(bars)),
        Bullets(sentences, is_numbered=True),
    ]


def _misconceptions(facts: SummaryFacts) -> list[Block]:
    heading = Heading("Misconceptions found in the latest checks")
    if not facts.misconceptions:
        return [heading, Paragraph("None.")]
    order = sorted(facts.misconceptions.items(), key=lambda item: (-item[1], item[0]))
    rows = tuple((sentence, str(count)) for sentence, count in order)
    return [heading, Table(("Misconception", "Members"), rows, widths=(6, 1))]


def _members(board: Board) -> Table:
    rows, marks = [], []
    for member in sorted(board.members, key=lambda one: one.pseudonym):
        count = Counter(cell.status for cell in board.row(member.id))
        rows.append((member.pseudonym, *(str(count[status]) for status in STATUSES)))
        marks.append("ready" if board.is_ready(member.id) else _worst(count))
    titles = tuple(STATUS_WORDS[status] for status in STATUSES)
    return Table(("Member", *titles), tuple(rows), (4, 2, 2, 2, 2, 2), tuple(marks))


def _worst(count: Counter[Status]) -> Status:
    order: tuple[Status, ...] = ("needs_briefing", "expired", "in_progress", "not_started")
    return next((status for status in order if count[status]), "not_started")


def _short(rule: str) -> str:
    return rule.replace("_", " ").replace(".", ": ", 1)
