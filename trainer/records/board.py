"""The readiness board: members by competencies for one aircraft, as a pure value.

Owns the meaning of each status. What it needs is handed in as `BoardFacts`; `board_query` reads
them from a book.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal, get_args

from trainer.records.check_outcome import Verdict
from trainer.records.field_check import moment_of
from trainer.records.roster import Aircraft, Member, Requirement

Status = Literal["not_started", "in_progress", "needs_briefing", "expired", "ready"]
STATUSES: tuple[Status, ...] = get_args(Status)
CellKey = tuple[int, str]
"""Number of the member and id of the competency."""


@dataclass(frozen=True, slots=True)
class LatestOutcome:
    """The latest check of one competency of one member, as far as the board needs it."""

    outcome_id: int
    stage: int
    verdict: Verdict
    at_utc: str
    rules: Mapping[str, str]
    evidence: int
    """How many attempts it rests on."""
    sure_and_wrong: int
    misconceptions: tuple[str, ...]
    """Their sentences."""


@dataclass(frozen=True, slots=True)
class Practised:
    """A member's practice answers about the same rules, summed up; those of a check are none."""

    rules: frozenset[str]
    """An answer may be about several."""
    attempts: int
    right_answers: int
    last_utc: str


@dataclass(frozen=True, slots=True)
class PracticeSum:
    """Answers about one rule, of practice and of checks, summed up."""

    attempts: int
    right_answers: int
    sure_and_wrong: int
    last_utc: str


@dataclass(frozen=True, slots=True)
class BoardFacts:
    """All that the board of one aircraft rests on."""

    aircraft: Aircraft
    requirements: tuple[Requirement, ...]
    members: tuple[Member, ...]
    outcomes: Mapping[CellKey, LatestOutcome]
    practice: Mapping[int, Sequence[Practised]]
    """By member."""
    briefed_utc: Mapping[CellKey, str]
    """Moment of the latest briefing."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One member's standing in one competency, with the reason and the evidence in numbers."""

    status: Status
    because: str
    """The reason in one sentence."""
    attempts: int = 0
    """Practice answers about the competency's rules, each once; those of a check are none."""
    right_answers: int = 0
    last_utc: str = ""
    """Last practice or check; empty if there was none."""
    outcome_id: int | None = None
    """The check that the status rests on, for `cell_evidence`."""
    expires_utc: str = ""
    """When readiness ends or ended; empty if it was never reached."""
    changed_rules: tuple[str, ...] = ()
    """Rules that are not what they were at the check."""


@dataclass(frozen=True, slots=True)
class Board:
    """Members by competencies of one aircraft at one moment."""

    aircraft: Aircraft
    requirements: tuple[Requirement, ...]
    members: tuple[Member, ...]
    cells: Mapping[CellKey, Cell]
    at_utc: str

    def cell(self, member_id: int, competency_id: str) -> Cell:
        """Return one cell."""
        return self.cells[member_id, competency_id]

    def row(self, member_id: int) -> tuple[Cell, ...]:
        """Return a member's cells in the order of the requirements."""
        return tuple(self.cells[member_id, one.competency_id] for one in self.requirements)

    def is_ready(self, member_id: int) -> bool:
        """True if the member is ready in everything the aircraft requires."""
        return bool(self.requirements) and all(
            cell.status == "ready" for cell in self.row(member_id)
        )

    def counts(self) -> dict[Status, int]:
        """Return how many cells have each status."""
        found = dict.fromkeys(STATUSES, 0)
        for cell in self.cells.values():
            found[cell.status] += 1
        return found

    def filtered(
        self, *, text: str = "", statuses: frozenset[Status] = frozenset(), competency_id: str = ""
    ) -> Board:
        """Return the board with only the members that fit.

        Args:
            text: Part of the name, in either case.
            statuses: At least one cell has one of these; empty for any.
            competency_id: Look for the status in this competency only; empty for any.
        """
        wanted = [one.competency_id for one in self.requirements]
        if competency_id:
            wanted = [competency_id]

        def fits(member: Member) -> bool:
            if text.casefold() not in member.name.casefold():
                return False
            return not statuses or any(
                self.cells[member.id, one].status in statuses for one in wanted
            )

        kept = tuple(member for member in self.members if fits(member))
        ids = {member.id for member in kept}
        cells = {key: cell for key, cell in self.cells.items() if key[0] in ids}
        return replace(self, members=kept, cells=cells)


def build_board(facts: BoardFacts, now_utc: str) -> Board:
    """Return the board that follows from the facts at a moment."""
    now = moment_of(now_utc)
    cells = {
        (member.id, one.competency_id): _cell(facts, member.id, one, now)
        for member in facts.members
        for one in facts.requirements
    }
    return Board(facts.aircraft, facts.requirements, facts.members, cells, now_utc)


def _cell(facts: BoardFacts, member_id: int, requirement: Requirement, now: datetime) -> Cell:
    key = (member_id, requirement.competency_id)
    practised = _practised(facts.practice.get(member_id, ()), requirement)
    outcome = facts.outcomes.get(key)
    if outcome is None:
        if practised.attempts == 0:
            return replace(practised, because="no practice in these rules and no check yet")
        because = (
            f"{practised.right_answers} of {counted(practised.attempts, 'practice answer')} right"
        )
        return replace(practised, status="in_progress", because=f"{because}, no check yet")
    checked = replace(
        practised,
        outcome_id=outcome.outcome_id,
        last_utc=max(practised.last_utc, outcome.at_utc),
        changed_rules=_changed_since(facts, member_id, outcome, requirement),
    )
    if outcome.verdict == "ready":
        return _once_ready(checked, outcome, requirement, now)
    return _not_ready(checked, outcome, facts.briefed_utc.get(key, ""))


def _changed_since(
    facts: BoardFacts, member_id: int, outcome: LatestOutcome, requirement: Requirement
) -> tuple[str, ...]:
    """Return the rules of a competency that act otherwise than when it was checked.

    A rule that only stands in another competency now acts as it did. It has left this one if it is
    required in another. It has come to this one if the member was found ready in it elsewhere, at
    this check or later: otherwise nobody has seen that the member knows it.
    """
    changed = changed_rules(outcome.rules, requirement.rules)
    if not changed:
        return ()
    present = [one.rules for one in facts.requirements]
    others = (facts.outcomes.get((member_id, one.competency_id)) for one in facts.requirements)
    shown = [
        one.rules
        for one in others
        if one is not None and one.verdict == "ready" and one.at_utc >= outcome.at_utc
    ]

    def is_moved(rule: str) -> bool:
        was, now = outcome.rules.get(rule), requirement.rules.get(rule)
        if was is not None and now is not None:
            return False
        places = present if now is None else shown
        return any(rules.get(rule) == (was or now) for rules in places)

    return tuple(rule for rule in changed if not is_moved(rule))


def _practised(practice: Sequence[Practised], requirement: Requirement) -> Cell:
    """Return a cell with only the practice in it."""
    sums = [one for one in practice if not one.rules.isdisjoint(requirement.rules)]
    if not sums:
        return Cell("not_started", "")
    return Cell(
        "not_started",
        "",
        attempts=sum(one.attempts for one in sums),
        right_answers=sum(one.right_answers for one in sums),
        last_utc=max(one.last_utc for one in sums),
    )


def _once_ready(
    cell: Cell, outcome: LatestOutcome, requirement: Requirement, now: datetime
) -> Cell:
    """Ready, unless time or a change of the fit has ended it."""
    expires = moment_of(outcome.at_utc) + timedelta(days=requirement.valid_days)
    cell = replace(cell, expires_utc=expires.strftime("%Y-%m-%dT%H:%M:%SZ"))
    if cell.changed_rules:
        rules = counted(len(cell.changed_rules), "rule")
        because = (
            f"the aircraft's fit changed since the check at stage {outcome.stage}: {rules} "
            "changed, new or gone"
        )
        return replace(cell, status="expired", because=because)
    if expires <= now:
        because = f"checked {outcome.at_utc[:10]}, valid {counted(requirement.valid_days, 'day')}"
        return replace(cell, status="expired", because=because)
    because = f"checked {outcome.at_utc[:10]} on {counted(outcome.evidence, 'answer')}"
    return replace(cell, status="ready", because=f"{because}, valid to {cell.expires_utc[:10]}")


def _not_ready(cell: Cell, outcome: LatestOutcome, briefed_utc: str) -> Cell:
    """In progress, or to be briefed if the check says so or found a misconception."""
    found = "; ".join(outcome.misconceptions)
    if outcome.verdict == "needs_briefing" or found:
        reason = found or f"{counted(outcome.sure_and_wrong, 'answer')} sure and wrong"
        if briefed_utc <= outcome.at_utc:
            return replace(cell, status="needs_briefing", because=f"check found: {reason}")
        because = f"briefed {briefed_utc[:10]}, to be checked again"
        return replace(cell, status="in_progress", because=because)
    words = "not yet" if outcome.verdict == "not_yet" else "undecided"
    because = f"check of {outcome.at_utc[:10]}: {words} on {counted(outcome.evidence, 'answer')}"
    return replace(cell, status="in_progress", because=because)


def counted(number: int, noun: str) -> str:
    """Return a number with its noun.

    Example:
        >>> counted(1, "answer"), counted(2, "answer")
        ('1 answer', '2 answers')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


@dataclass(frozen=True, slots=True)
class EndedReadiness:
    """A cell that is ready and wouldn't be with other requirements; `rules` act otherwise then."""

    member: Member
    requirement: Requirement
    rules: tuple[str, ...]


def readiness_ended(
    facts: BoardFacts, after: Sequence[Requirement], now_utc: str
) -> tuple[EndedReadiness, ...]:
    """Return what is ready now and would expire or go if the aircraft required something else.

    Args:
        facts: Of the board as it is.
        after: All that would be required.
        now_utc: This moment: readiness that has ended already isn't lost.
    """
    board = build_board(facts, now_utc)
    later = build_board(replace(facts, requirements=tuple(after)), now_utc)
    found = []
    for member in board.members:
        for one in board.requirements:
            key = (member.id, one.competency_id)
            if board.cells[key].status != "ready":
                continue
            is_gone = key not in later.cells
            rules = tuple(sorted(one.rules)) if is_gone else later.cells[key].changed_rules
            if is_gone or rules:
                found.append(EndedReadiness(member, one, rules))
    return tuple(found)


def changed_rules(checked: Mapping[str, str], required: Mapping[str, str]) -> tuple[str, ...]:
    """Return the rules that differ between a check and the fit: changed, new, or gone.

    Example:
        >>> changed_rules({"a": "1", "b": "1", "d": "1"}, {"a": "1", "b": "2", "c": "1"})
        ('b', 'c', 'd')
    """
    both = checked.keys() | required.keys()
    return tuple(sorted(rule for rule in both if checked.get(rule) != required.get(rule)))
