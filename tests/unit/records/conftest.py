"""Builders for the tests of records."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from trainer.records.attempt import Attempt
from trainer.records.card import enrol_member, read_card, trust_book, write_card
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_book import ClubBook
from trainer.records.club_import import ResultPreview, apply_result, preview_result
from trainer.records.result import write_result
from trainer.records.roster import Aircraft, Member, Requirement
from trainer.records.signing import SigningKey
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation, changed_cells

MakeAttempt = Callable[..., Attempt]


def build_attempt(number: int = 1, **changes: Any) -> Attempt:
    """Return an attempt whose verdict follows from its annunciations."""
    before = Annunciation(engagement="director")
    actual = before.with_cell("lateral_active", "heading_select")
    predicted = actual if number % 3 else before.with_cell("vertical_armed", ("altitude",))
    wrong = changed_cells(predicted, actual)
    values: dict[str, Any] = {
        "id": f"attempt-{number}",
        "at_utc": f"2026-03-01T18:{number // 60 % 60:02d}:{number % 60:02d}Z",
        "member": "Robin Vale",
        "lesson_id": "lateral_selection",
        "lesson_title": "Selecting a heading",
        "installation_id": "sister_one",
        "prompt_number": 1 + number % 4,
        "prompt_kind": "after_key",
        "question": "What will the strip read after the heading key?",
        "before": before.to_json(),
        "predicted": predicted.to_json(),
        "actual": actual.to_json(),
        "wrong_cells": wrong,
        "is_right": not wrong,
        "confidence": ("sure", "think_so", "guess")[number % 3],
        "rule_ids": ("lateral.select_heading",),
        "taken_s": 4.5,
        "program_version": "0.1.0",
    }
    return Attempt(**{**values, **changes})


@pytest.fixture
def make_attempt() -> MakeAttempt:
    """Return the builder of attempts."""
    return build_attempt


@pytest.fixture
def store_path(tmp_path: Path) -> Path:
    """Return where a store of this test goes."""
    return tmp_path / "data" / "attempts.sqlite3"


@pytest.fixture
def filled_path(store_path: Path) -> Path:
    """Return a closed store that holds 40 attempts."""
    with Store.open(store_path) as store:
        for number in range(1, 41):
            store.add(build_attempt(number))
    return store_path


NOW = "2026-03-10T12:00:00Z"
RULES = {
    "lateral": {"lateral.select_heading": "aa", "lateral.capture_course": "ab"},
    "vertical": {"vertical.capture_altitude": "ba"},
}


@dataclass(frozen=True)
class Club:
    """A lead's book and a member's store that know each other."""

    folder: Path
    book: ClubBook
    key: SigningKey
    member: Member
    member_key: SigningKey
    store: Store

    def result(self, **changes: Any) -> bytes:
        """Return the member's result file."""
        values = {
            "book_key": self.key.public_key,
            "assignment_id": None,
            "made_utc": NOW,
            "program_version": "0.1.0",
        }
        key = changes.pop("key", self.member_key)
        return write_result(self.store, key, "Robin Vale", **{**values, **changes})

    def take(self, data: bytes | None = None, now_utc: str = NOW) -> ResultPreview:
        """Preview and apply a result file."""
        data = self.result() if data is None else data
        preview = preview_result(self.book, data, self.key.public_key, now_utc)
        apply_result(self.book, preview, now_utc)
        return preview


def build_outcome(competency_id: str = "lateral", **changes: Any) -> CheckOutcome:
    """Return an outcome that rests on the first three built attempts."""
    values: dict[str, Any] = {
        "aircraft_id": "sister_one",
        "stage": 1,
        "competency_id": competency_id,
        "verdict": "ready",
        "at_utc": "2026-03-02T10:00:00Z",
        "evidence": ("attempt-1", "attempt-2", "attempt-3"),
        "rules": RULES[competency_id],
    }
    return CheckOutcome(**{**values, **changes})


def enter_aircraft(book: ClubBook, stage: int = 1, rules: Any = None) -> None:
    """Enter the aircraft of these tests at a stage."""
    requirements = [
        Requirement(name, name.title(), 365, found) for name, found in (rules or RULES).items()
    ]
    book.set_aircraft(
        Aircraft("sister_one", "First sister ship", "sister_one", stage), requirements
    )


@pytest.fixture
def club(tmp_path: Path) -> Iterator[Club]:
    """Return a club of one enrolled member with ten attempts on their own computer."""
    book = ClubBook.open(tmp_path / "lead" / "club.sqlite3", "Meadow Flying Club")
    enter_aircraft(book)
    key, member_key = SigningKey.from_seed(b"L" * 32), SigningKey.from_seed(b"M" * 32)
    member = book.add_member("Robin Vale", "2026-01-05T09:00:00Z")
    book.put_on_aircraft(member.id, "sister_one")
    card = read_card(write_card("member_card", "Robin Vale", NOW, member_key), "member_card")
    member = enrol_member(book, member.id, card, member_key.short_code)
    store = Store.open(tmp_path / "member" / "attempts.sqlite3")
    book_card = read_card(write_card("book_card", book.club_name, NOW, key), "book_card")
    trust_book(store, book_card, key.short_code, NOW)
    for number in range(1, 11):
        store.add(build_attempt(number))
    yield Club(tmp_path, book, key, member, member_key, store)
    book.close()
    store.close()


@pytest.fixture
def make_outcome() -> Callable[..., CheckOutcome]:
    """Return the builder of check outcomes."""
    return build_outcome


@pytest.fixture
def set_stage() -> Callable[..., None]:
    """Return what enters the aircraft at a stage."""
    return enter_aircraft
