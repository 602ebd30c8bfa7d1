"""The moment of a question: where answers are computed is where a member is asked."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.figures.simulated_member import FlownItems
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.item import fly_to, lesson_of
from trainer.assessment.items.moment_words import moment_words
from trainer.assessment.items.scene import Scene, scenes
from trainer.assessment.items.situations import flown_situations
from trainer.assessment.wrong_rules.believed_answer import FlownQuestion
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.mutants import unlisted_rules
from trainer.lesson.runner import LessonRunner
from trainer.session.session import Session
from trainer.session.situation import Start, StartModes

SHIP = "ship_amber"
CALM = ("crossing_path_from_above", "off_course_climbing")
"""Flights in which a key leads to situations that no start can be in."""


@pytest.fixture(scope="module")
def flights(workspace: Workspace) -> tuple[Scene, ...]:
    return tuple(one for one in scenes(workspace.installation(SHIP)) if one.id in CALM)


@pytest.fixture(scope="module")
def begun(workspace: Workspace) -> list[Start]:
    """The starts that were begun, in order; filled by `small`."""
    return []


@pytest.fixture(scope="module")
def small(
    workspace: Workspace, amber: Library, flights: tuple[Scene, ...], begun: list[Start]
) -> Bank:
    def begin(start: Start) -> Session:
        begun.append(start)
        return workspace.begin(SHIP, start)

    return build_bank(amber, begin, flights, most_of_a_kind=1, sequences=6)


def test_situations_stand_where_a_fresh_session_flown_to_them_stands(
    workspace: Workspace, amber: Library, flights: tuple[Scene, ...]
) -> None:
    begin = lambda start: workspace.begin(SHIP, start)  # noqa: E731
    flown = flown_situations(amber.logic, flights, begin, amber.truth)
    assert any(one.situation.presses for one in flown)
    for one in flown:
        fresh = fly_to(one.situation, begin)
        assert fresh.configuration == one.session.configuration, one.situation.id
        assert fresh.bits == one.session.bits, one.situation.id
        assert fresh.powered_s == one.session.powered_s
        assert fresh.flight.sample() == one.session.flight.sample(), one.situation.id


def test_every_item_is_answered_where_a_member_is_asked(
    workspace: Workspace, amber: Library, small: Bank
) -> None:
    members: dict[str, Session] = {}
    answers = FlownItems(amber, lambda start: workspace.begin(SHIP, start))
    asked = {bool(item.situation.presses) for item in small.items}
    assert asked == {True, False}
    for item in small.items:
        runner = LessonRunner(
            lesson_of(item, SHIP), lambda start=item.situation.start: workspace.begin(SHIP, start)
        )
        while runner.phase != "asking":
            runner.advance(0.5)
        session = members.setdefault(item.situation.id, runner.session.fork())
        assert session.annunciation == item.before, item.id
        assert moment_words(session) == item.situation.words, item.id
        runner.commit()
        while runner.phase == "revealing":
            runner.advance(0.5)
        assert runner.played[-1].after == item.true, item.id
        assert runner.played[-1].rule_ids == item.rules, item.id
        for name, belief in amber.beliefs.items():
            assert answers.answer(item, belief.kernel) == item.answer_of(name), (item.id, name)


def test_wrong_rules_answered_together_answer_as_each_alone(
    workspace: Workspace, amber: Library, small: Bank
) -> None:
    """Each kernel by itself is the oracle of what is worked out beside the true chart's steps."""
    automatic = unlisted_rules(amber)
    sessions: dict[str, Session] = {}
    compared = 0
    for item in small.items:
        name = item.situation.id
        if name not in sessions:
            sessions[name] = fly_to(item.situation, lambda start: workspace.begin(SHIP, start))
        question = FlownQuestion(sessions[name], item.stimulus, item.true)
        assert question.wrong_answers(automatic, amber) == item.automatic, item.id
        for pair, answer in item.pair_answers.items():
            both = amber.believe(*(amber.misconceptions[one] for one in pair))
            assert question.answer(both.kernel, amber) == answer, (item.id, pair)
        compared += len(item.automatic) + len(item.pair_answers)
    assert compared > 3000
    assert {item.stimulus.kind for item in small.items} >= {"key", "set", "fault", "wait"}


def test_no_situation_is_begun_twice(small: Bank, begun: list[Start]) -> None:
    """But for each flight without modes, which says what can be come by in it."""
    assert small.items
    in_modes = [start for start in begun if start.modes != StartModes()]
    assert len(in_modes) == len(set(in_modes)) > 40
    assert len(begun) - len(in_modes) <= 2 * len(CALM)
