"""Answers are stored at once; one that can't be is kept in hand and tried again."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.assessment.prediction import Prediction
from trainer.errors import TrainerError
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation
from trainer.ui.free_flight import FreeFlight
from trainer.ui.practice import Answered, Practice
from trainer.ui.recorder import Recorder, attempt_of, now_utc
from trainer.ui.situations import SITUATIONS


@pytest.fixture(scope="module")
def practice() -> Practice:
    """A call made in free practice."""
    kept: list[Answered] = []
    workspace = Workspace()
    flyer = FreeFlight(lambda: workspace.begin("ship_amber", SITUATIONS[0].start))
    flyer.drill_rate = 1
    made = Practice(flyer, kept.append)
    made.press("director")
    made.answer(Prediction(Annunciation(), "sure"))
    made.kept = kept
    return made


def test_attempt_says_what_was_said_and_what_came(practice: Practice) -> None:
    attempt = attempt_of(practice.kept[0], practice.flyer, "me", now_utc())
    assert attempt.is_sure_and_wrong
    assert attempt.actual["engagement"] == "director"
    assert attempt.installation_id == "ship_amber"
    assert attempt.rule_ids


def test_attempt_that_cannot_be_stored_waits_and_is_stored_later(
    practice: Practice, tmp_path: Path
) -> None:
    is_broken = True

    def open_store() -> Store:
        if is_broken:
            raise TrainerError("the disk is full")
        return Store.open(tmp_path / "attempts.sqlite3")

    recorder = Recorder(open_store)
    first, second = (
        attempt_of(practice.kept[0], practice.flyer, "me", now_utc()) for _ in range(2)
    )
    recorder.keep(first)
    assert "the disk is full" in recorder.problem
    assert recorder.attempts() == [first]
    is_broken = False
    recorder.keep(second)
    assert recorder.problem == ""
    assert recorder.waiting == ()
    assert recorder.attempts() == [second, first]
    recorder.close()
