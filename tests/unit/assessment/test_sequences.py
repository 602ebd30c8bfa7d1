"""Items of several keys: computed, flown, put as one question, explained key by key."""

from __future__ import annotations

import random
from pathlib import Path
from shutil import copytree

import pytest

from tests.helpers.flown import flown_answer
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Tutor
from trainer.assessment.check.check_form import CheckPlan, draw_form
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.item import Item, fly_to, lesson_of, play, verify
from trainer.assessment.items.scene import scenes
from trainer.assessment.items.sequences import LONGEST
from trainer.assessment.wrong_rules.library import Library


@pytest.fixture(scope="module")
def sequences(bank: Bank) -> list[Item]:
    found = [item for item in bank.items if item.is_sequence]
    random.Random(3).shuffle(found)
    return found


def begin_amber(workspace: Workspace):
    return lambda start: workspace.begin("ship_amber", start)


def test_sequences_are_flown_as_they_say(workspace: Workspace, sequences: list[Item]) -> None:
    assert len(sequences) > 20
    for item in sequences[:25]:
        assert 2 <= len(item.stimulus.keys) <= LONGEST
        verify(item, begin_amber(workspace))


def test_the_true_answer_is_each_key_pressed_in_turn(
    workspace: Workspace, sequences: list[Item]
) -> None:
    for item in sequences[:10]:
        session = fly_to(item.situation, begin_amber(workspace))
        for key in item.stimulus.keys:
            session.press(key)
        assert session.annunciation == item.true


def test_one_question_tells_more_wrong_rules_apart_than_a_key_does(bank: Bank) -> None:
    def groups(of_several: bool) -> float:
        sizes = [len(set(i.answers.values())) for i in bank.items if i.is_sequence == of_several]
        return sum(sizes) / len(sizes)

    assert groups(True) > 2.0 * groups(False)


def test_answers_under_a_wrong_rule_come_from_the_patched_chart(
    workspace: Workspace, amber: Library, sequences: list[Item]
) -> None:
    for item in sequences[:8]:
        for name in list(item.answers)[:6]:
            flown = flown_answer(item, amber.beliefs[name], amber, begin_amber(workspace))
            assert flown == item.answer_of(name), (item.id, name)


def test_a_sequence_is_put_as_one_question_and_explained_key_by_key(
    workspace: Workspace, sequences: list[Item]
) -> None:
    for item in sequences[:10]:
        lesson = lesson_of(item, "ship_amber")
        tutor = workspace.start_lesson(lesson, "ship_amber")
        assert isinstance(tutor, Tutor)
        while tutor.phase == "running":
            tutor.advance(0.5)
        events = tutor.session.installation.chart.events
        labels = [events[key].label for key in item.stimulus.keys]
        assert tutor.prompt is not None
        assert ", then ".join(labels) in tutor.prompt.question
        tutor.answer(Prediction(item.true, "sure"))
        assert tutor.outcome is not None
        assert tutor.outcome.score.is_right
        assert tutor.outcome.actual == play(
            item.stimulus, fly_to(item.situation, begin_amber(workspace))
        )
        for label in labels:
            assert any(s.startswith(f"{label}: ") for s in tutor.outcome.explanation)


def test_a_check_asks_about_one_key_at_a_time(bank: Bank, sequences: list[Item]) -> None:
    form = draw_form(bank, CheckPlan(), 5)
    assert not any(item.is_sequence for item in (*form.items, *form.spare))
    assert not any(item.is_critical for item in sequences)


def test_a_chart_without_listed_wrong_rules_has_a_bank(tmp_path: Path) -> None:
    ours = Workspace().charts_folder
    charts = copytree(ours, tmp_path / "charts", ignore=lambda *_: ["misconceptions"])
    workspace = Workspace(charts=Path(charts))
    library = workspace.library("ship_slate")
    assert not library.beliefs
    flights = tuple(s for s in scenes(library.logic.installation) if s.id == "low_climb")
    begin = lambda start: workspace.begin("ship_slate", start)  # noqa: E731
    made = build_bank(library, begin, flights, sequences=4)
    assert made.items
    assert not made.exposed
    assert any(item.is_sequence for item in made.items)
