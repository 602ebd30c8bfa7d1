"""Every shipped lesson is loaded, flown to its end, and its answers are what is then flown."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.lesson.flown import fly
from trainer.lesson.question import ALL_FORMS, compute_answer
from trainer.lesson.robustness import WIDE_VARIATIONS, fragile_prompts
from trainer.resources import resource_folder

PATHS = sorted(resource_folder("lessons").glob("*.yaml"))
WORKSPACE = Workspace()


@pytest.fixture(params=PATHS, ids=lambda path: path.stem)
def lesson(request):
    return WORKSPACE.lesson(request.param)


def test_lessons_are_in_graded_order_with_prerequisites_before():
    lessons = [WORKSPACE.lesson(path) for path in PATHS]
    seen = []
    for one in lessons:
        assert set(one.prerequisites) <= set(seen), one.id
        assert one.id.split("-")[0].isdigit()
        seen.append(one.id)
    assert len(lessons) >= 8


def test_answers_computed_ahead_are_what_is_then_flown(lesson):
    runner = WORKSPACE.start_lesson_without_trainee(lesson)
    runner.forms = ALL_FORMS
    ahead = []
    while runner.phase != "finished":
        if runner.phase == "asking":
            before = runner.session.configuration, runner.session.t_s
            ahead.append(compute_answer(runner.asked, runner.session, lesson.path))
            assert (runner.session.configuration, runner.session.t_s) == before
            runner.commit()
        elif runner.phase == "explained":
            runner.proceed()
        else:
            runner.advance(1.0)
    assert runner.played == ahead
    assert 3 <= len(ahead) <= 8


def test_a_lesson_has_changes_and_keeps_to_its_minutes(lesson):
    flown = fly(WORKSPACE.start_lesson_without_trainee(lesson))
    assert any(not one.answer.nothing_changes for one in flown.prompts)
    lasted_min = flown.ended_s / 60.0
    # Reading and answering take longer than flying; the flight itself mustn't exceed the plan.
    assert lasted_min <= lesson.minutes


def test_answers_hold_when_the_start_is_a_little_different(lesson):
    assert fragile_prompts(lesson, lambda start: WORKSPACE.begin(lesson.installation, start)) == ()


@pytest.mark.long
def test_answers_hold_when_the_start_is_rather_different(lesson):
    def begin(start):
        return WORKSPACE.begin(lesson.installation, start)

    assert fragile_prompts(lesson, begin, WIDE_VARIATIONS) == ()
