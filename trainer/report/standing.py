"""What the records of a member rest on: limits that are signed or not, checks or only lessons."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from trainer.assessment.diagnosis.diagnosis_words import rule_words
from trainer.assessment.items.item import Item
from trainer.assessment.wrong_rules.library import Library
from trainer.charts.installation import LimitValue
from trainer.charts.provenance import trained_words
from trainer.records.attempt import Attempt
from trainer.records.check_diagnosis import diagnose_attempts
from trainer.records.check_outcome import CheckOutcome
from trainer.report.page import Block, Paragraph

_NOT_HERE = (
    "Whether an instructor has signed the limits isn't known here: the file of {title} isn't on "
    "this computer."
)

NO_CHECK = "no check, lessons only"
"""Stands where the day of a check would."""


@dataclass(frozen=True, slots=True)
class Suspected:
    """A wrong rule that a member's answers point to, on too few answers to be named."""

    sentence: str
    answers: int
    """How many answers fit it."""


def limits_line(limits: Sequence[LimitValue] | None, title: str) -> str:
    """Return what training on unsigned limits isn't worth; empty if all are signed.

    Args:
        limits: Those of the installation; None: its file isn't on this computer.
        title: What the aircraft is called.
    """
    return _NOT_HERE.format(title=title) if limits is None else trained_words(limits, title)


def without_check(
    outcomes: Iterable[CheckOutcome], answers: Mapping[str, Attempt]
) -> frozenset[str]:
    """Return the competencies whose verdict rests on answers of lessons alone.

    Args:
        outcomes: The verdicts.
        answers: Those behind them by id, as far as they are kept. Where none is kept any more,
            nobody knows where they were given, and nothing is said.
    """
    found = []
    for one in outcomes:
        kept = [answers[name] for name in one.evidence if name in answers]
        if one.check is None and kept and not any(answer.check_id for answer in kept):
            found.append(one.competency_id)
    return frozenset(found)


def rests_on(
    limits: Sequence[LimitValue] | None,
    title: str,
    unchecked: Collection[str],
    titles: Mapping[str, str],
) -> list[Block]:
    """Return what the reader has to know of the numbers and answers behind a page.

    Args:
        limits: Those that were trained on; None: the aircraft's file isn't on this computer.
        title: The aircraft's.
        unchecked: Ids of the competencies that no check stands behind.
        titles: Titles of all competencies of the page, by id.
    """
    lines = (limits_line(limits, title), unchecked_line(unchecked, titles))
    return [Paragraph(line, is_strong=True) for line in lines if line]


def unchecked_line(unchecked: Collection[str], titles: Mapping[str, str]) -> str:
    """Return which verdicts no check stands behind; empty if there is none.

    Args:
        unchecked: Ids of competencies.
        titles: Titles of all competencies, by id.
    """
    if not unchecked:
        return ""
    named = ", ".join(title for name, title in titles.items() if name in unchecked)
    where = "any competency" if len(unchecked) == len(titles) else named
    return f"No check was taken in {where}: what is said of it rests on answers given in lessons."


def suspected_rules(
    attempts: Sequence[Attempt], items: Mapping[str, Item], installation: str, library: Library
) -> tuple[Suspected, ...]:
    """Return the wrong rules that a member's answers in one aircraft make suspect.

    Args:
        attempts: The answers, oldest first.
        items: What they are to, by id.
        installation: Id of the installation.
        library: Its wrong rules.
    """
    found = diagnose_attempts(attempts, items, installation, library.beliefs)
    known = library.misconceptions
    return tuple(
        Suspected(rule_words(one, known), len(found.attempts_of(one.fitting)))
        for one in found.finding.suspected
    )
