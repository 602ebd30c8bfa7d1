"""Reading a board's facts and a cell's evidence from a club book."""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from trainer.records.attempt import Attempt
from trainer.records.board import (
    Board,
    BoardFacts,
    CellKey,
    LatestOutcome,
    Practised,
    build_board,
)
from trainer.records.check_outcome import (
    CheckOutcome,
    misconceptions_from_json,
    rules_from_json,
    sure_and_wrong_from_json,
    whole_check_from_json,
)
from trainer.records.club_attempts import attempts_by_id
from trainer.records.club_book import ClubBook
from trainer.records.database import understood
from trainer.records.error import UnknownEntryError
from trainer.records.roster import Aircraft


@dataclass(frozen=True, slots=True)
class CellEvidence:
    """What a cell rests on."""

    outcome: CheckOutcome
    attempts: tuple[Attempt, ...]
    """The answers the verdict rests on; those deleted since are missing."""


def read_board(book: ClubBook, aircraft_id: str, now_utc: str) -> Board:
    """Return the board of one aircraft at a moment.

    Raises:
        UnknownEntryError: If the book has no such aircraft.
    """
    with understood(book.path):
        return build_board(read_facts(book, aircraft_id), now_utc)


def read_facts(book: ClubBook, aircraft_id: str) -> BoardFacts:
    """Return what the board of one aircraft rests on; members off the board are left out."""
    aircraft = book.one_aircraft(aircraft_id)
    rows = book.database.read(
        "SELECT member_id FROM member_aircraft WHERE aircraft_id = ?", (aircraft_id,)
    )
    on_aircraft = {row[0] for row in rows}
    members = [one for one in book.members() if one.is_active and one.id in on_aircraft]
    return BoardFacts(
        aircraft,
        tuple(book.requirements(aircraft_id)),
        tuple(members),
        _outcomes(book, aircraft_id),
        _practice(book, aircraft),
        _briefings(book, aircraft_id),
    )


def cell_evidence(book: ClubBook, outcome_id: int) -> CellEvidence:
    """Return a check outcome with the attempts it rests on.

    Raises:
        UnknownEntryError: If there is no such outcome.
    """
    rows = book.database.read(f"SELECT {_OUTCOME} FROM outcome WHERE id = ?", (outcome_id,))
    if not rows:
        raise UnknownEntryError(f"no outcome has the number {outcome_id}")
    with understood(book.path):
        outcome = _to_outcome(rows[0])
    return CellEvidence(outcome, tuple(attempts_by_id(book, outcome.evidence)))


def member_outcomes(
    book: ClubBook, member_id: int, aircraft_id: str | None = None
) -> list[CheckOutcome]:
    """Return all of a member's check outcomes, oldest first, on one aircraft if given."""
    rows = book.database.read(
        f"SELECT {_OUTCOME} FROM outcome WHERE member_id = ? "
        "AND (? IS NULL OR aircraft_id = ?) ORDER BY at_utc, id",
        (member_id, aircraft_id, aircraft_id),
    )
    with understood(book.path):
        return [_to_outcome(row) for row in rows]


_OUTCOME = (
    "aircraft_id, stage, competency_id, verdict, at_utc, evidence_json, rules_json, "
    "sure_and_wrong_json, misconceptions_json, check_json"
)


def _to_outcome(row: tuple[object, ...]) -> CheckOutcome:
    aircraft_id, stage, competency_id, verdict, at_utc, *texts, check = row
    evidence, rules, sure, misconceptions = (json.loads(str(text)) for text in texts)
    return CheckOutcome(
        aircraft_id,  # type: ignore[arg-type]  # SQLite's columns hold what the schema says
        stage,  # type: ignore[arg-type]
        competency_id,  # type: ignore[arg-type]
        verdict,  # type: ignore[arg-type]
        at_utc,  # type: ignore[arg-type]
        tuple(evidence),
        rules_from_json(rules),
        sure_and_wrong_from_json(sure),
        misconceptions_from_json(misconceptions),
        whole_check_from_json(json.loads(str(check)) if check else None),
    )


def _outcomes(book: ClubBook, aircraft_id: str) -> Mapping[CellKey, LatestOutcome]:
    # SQLite takes the bare columns from the row that holds the maximum.
    # Source: [SQLITE-SELECT] "Bare columns in an aggregate query".
    rows = book.database.read(
        "SELECT member_id, competency_id, max(at_utc), id, stage, verdict, rules_json, "
        "json_array_length(evidence_json), json_array_length(sure_and_wrong_json), "
        "misconceptions_json FROM outcome WHERE aircraft_id = ? GROUP BY member_id, competency_id",
        (aircraft_id,),
    )
    return {
        (member_id, competency_id): LatestOutcome(
            outcome_id, stage, verdict, at_utc, _rules(rules), evidence, sure, _sentences(found)
        )
        for (
            member_id,
            competency_id,
            at_utc,
            outcome_id,
            stage,
            verdict,
            rules,
            evidence,
            sure,
            found,
        ) in rows
    }


@lru_cache(maxsize=1024)
def _rules(text: str) -> Mapping[str, str]:
    rules: Mapping[str, str] = json.loads(text)
    return rules


@lru_cache(maxsize=1024)
def _sentences(text: str) -> tuple[str, ...]:
    return tuple(one.sentence for one in misconceptions_from_json(json.loads(text)))


def _practice(book: ClubBook, aircraft: Aircraft) -> Mapping[int, list[Practised]]:
    rows = book.database.read(
        "SELECT member_id, rules.value, attempts, right_answers, last_utc FROM practised "
        "JOIN shared_text rules ON rules.id = rule_ids_json "
        "JOIN shared_text fit ON fit.id = installation_id WHERE fit.value = ?",
        (aircraft.installation_id,),
    )
    found: dict[int, list[Practised]] = {}
    for member_id, rules, attempts, right_answers, last_utc in rows:
        one = Practised(_rule_ids(rules), attempts, right_answers, last_utc)
        found.setdefault(member_id, []).append(one)
    return found


@lru_cache(maxsize=1024)
def _rule_ids(text: str) -> frozenset[str]:
    return frozenset(json.loads(text))


def _briefings(book: ClubBook, aircraft_id: str) -> Mapping[CellKey, str]:
    rows = book.database.read(
        "SELECT member_id, competency_id, max(at_utc) FROM briefing WHERE aircraft_id = ? "
        "GROUP BY member_id, competency_id",
        (aircraft_id,),
    )
    return {(row[0], row[1]): row[2] for row in rows}
