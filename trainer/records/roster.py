"""People, aircraft and requirements of a club: the values, and the checks a lead's entry passes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody who is to learn the autopilot."""

    id: int
    name: str
    pseudonym: str
    """Stands for the name in class reports."""
    joined_utc: str
    is_active: bool
    public_key: bytes | None
    """Key that signs this member's results; None until enrolled."""


@dataclass(frozen=True, slots=True)
class Instructor:
    """Somebody who gives briefings."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Aircraft:
    """One of the club's aircraft, with its installation at its present stage."""

    id: str
    title: str
    installation_id: str
    stage: int
    """Number of the fit, from 1; it grows whenever the fit changes."""


def is_replaced(before: Aircraft, after: Aircraft) -> bool:
    """Return whether an entry of the book would become another aircraft, or go back a stage.

    Its next stage may have another installation; what was entered wrongly is told by the lead.

    Example:
        >>> before = Aircraft("one", "Ship One", "ship_one", 1)
        >>> is_replaced(before, Aircraft("one", "Ship One", "ship_one_b", 2))
        False
        >>> is_replaced(before, Aircraft("one", "Ship One", "ship_two", 1))
        True
    """
    if after.installation_id != before.installation_id:
        return after.stage != before.stage + 1
    return after.stage < before.stage


@dataclass(frozen=True, slots=True)
class Requirement:
    """A competency that an aircraft requires at one stage."""

    competency_id: str
    title: str
    valid_days: int
    """How long readiness lasts after the check [days]."""
    rules: Mapping[str, str]
    """Rules of the competency in this fit: rule id and `rule_fingerprint`."""


_WORDS_A = (
    "amber",
    "birch",
    "cedar",
    "copper",
    "coral",
    "dusk",
    "ember",
    "fern",
    "frost",
    "granite",
    "hazel",
    "indigo",
)
_WORDS_B = (
    "bay",
    "brook",
    "cliff",
    "dale",
    "field",
    "grove",
    "harbour",
    "heath",
    "hill",
    "isle",
    "lake",
    "meadow",
)


def pseudonym_of(number: int) -> str:
    """Return the pseudonym of the club's member number `number`, from 1.

    Example:
        >>> pseudonym_of(1), pseudonym_of(2), pseudonym_of(145)
        ('Amber Bay', 'Amber Brook', 'Amber Bay 2')
    """
    round_number, place = divmod(number - 1, len(_WORDS_A) * len(_WORDS_B))
    first, second = divmod(place, len(_WORDS_B))
    words = f"{_WORDS_A[first]} {_WORDS_B[second]}".title()
    return words if round_number == 0 else f"{words} {round_number + 1}"
