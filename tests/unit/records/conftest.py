"""Builders for the tests of records."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from trainer.records.attempt import Attempt
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
