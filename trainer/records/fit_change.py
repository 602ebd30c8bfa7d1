"""What a change of an aircraft's fit means for those who were found ready under the old logic.

The book keeps every stage with its rules. Entering the next stage leaves all results as they are;
the board then says of each cell which rules aren't what they were at the check.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from trainer.records.board import readiness_ended
from trainer.records.board_query import read_facts
from trainer.records.club_book import ClubBook
from trainer.records.roster import Aircraft, Requirement


@dataclass(frozen=True, slots=True)
class OldReadiness:
    """A member found ready in a competency whose rules act otherwise from now on.

    Attributes:
        competency: Its title.
        checked_utc: When the member was found ready.
        rules: Rules that change, are new or are gone.
    """

    member: str
    aircraft: Aircraft
    competency: str
    checked_utc: str
    rules: tuple[str, ...]


def ready_under_old_logic(
    book: ClubBook, installation: str, after: Sequence[Requirement], now_utc: str
) -> tuple[OldReadiness, ...]:
    """Return who is ready now and would have to show it again.

    Args:
        book: The club's book.
        installation: Id of the installation that changes.
        after: What the changed installation requires.
        now_utc: This moment: readiness that has ended already isn't lost.
    """
    found = []
    for aircraft in _aircraft_of(book, installation):
        facts = read_facts(book, aircraft.id)
        kept = _still_required(facts.requirements, after)
        for ended in readiness_ended(facts, kept, now_utc):
            member, one = ended.member, ended.requirement
            checked_utc = facts.outcomes[member.id, one.competency_id].at_utc
            found.append(OldReadiness(member.name, aircraft, one.title, checked_utc, ended.rules))
    return tuple(found)


def enter_next_stage(
    book: ClubBook, installation: str, after: Sequence[Requirement]
) -> tuple[Aircraft, ...]:
    """Enter the next stage of each aircraft of an installation, if what it requires acts otherwise.

    The same competencies are required as before, for as long; one that has no rule any more isn't.

    Args:
        book: The club's book.
        installation: Id of the installation that has changed.
        after: What it requires now.

    Returns:
        The aircraft entered, at their new stage.

    Raises:
        RecordsError: The book can't be written.
    """
    entered = []
    for aircraft in _aircraft_of(book, installation):
        old = book.requirements(aircraft.id)
        kept = _still_required(old, after)
        if _every_rule(old) == _every_rule(kept):
            continue
        later = replace(aircraft, stage=aircraft.stage + 1)
        book.set_aircraft(later, kept)
        entered.append(later)
    return tuple(entered)


def _still_required(
    before: Sequence[Requirement], after: Sequence[Requirement]
) -> list[Requirement]:
    """Return what is required before and after, for as long as before, by the rules after."""
    new = {one.competency_id: one.rules for one in after}
    return [
        replace(one, rules=new[one.competency_id]) for one in before if one.competency_id in new
    ]


def _every_rule(requirements: Sequence[Requirement]) -> dict[str, str]:
    """Return all required rules: one that only stands in another competency isn't a change."""
    return {rule: act for one in requirements for rule, act in one.rules.items()}


def _aircraft_of(book: ClubBook, installation: str) -> list[Aircraft]:
    return [one for one in book.aircraft() if one.installation_id == installation]
