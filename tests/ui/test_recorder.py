"""Answers are stored at once; one that can't be is kept in hand and tried again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.prediction import CellResult, Prediction, Score
from trainer.errors import TrainerError
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation
from trainer.ui.lesson.practice import Answered, Practice
from trainer.ui.lesson.recorder import Recorder, attempt_of, now_utc
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.situations import SITUATIONS


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


def test_choice_is_kept_as_said_and_expected(practice: Practice) -> None:
    answered = practice.kept[0]
    outcome = replace(
        answered.outcome,
        prompt=replace(answered.outcome.prompt, form="choice"),
        score=Score((CellResult("choice", "refused", "accepted"),)),
    )
    asked = replace(answered, outcome=outcome)
    attempt = attempt_of(asked, practice.flyer, "me", now_utc())
    assert (attempt.said, attempt.expected) == ("refused", "accepted")
    assert attempt.wrong_cells == ("choice",)
    strip = attempt_of(answered, practice.flyer, "me", now_utc())
    assert (strip.said, strip.expected) == ("", "")


def test_a_day_with_answers_leaves_a_backup(practice: Practice, tmp_path: Path) -> None:
    path = tmp_path / "attempts.sqlite3"
    recorder = Recorder(lambda: Store.open(path))
    recorder.attempts()
    recorder.close()
    assert not (tmp_path / "backups").exists()
    attempt = attempt_of(practice.kept[0], practice.flyer, "me", now_utc())
    recorder.keep(attempt)
    recorder.close()
    with Store.open(path) as store:
        (backup,) = store.backups()
    with Store.open(backup) as copy:
        assert copy.attempts() == [attempt]
