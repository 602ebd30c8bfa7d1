"""Every shipped lesson is loaded, flown to its end, and its answers are what is then flown."""

from __future__ import annotations

import pytest

from tests.helpers.sample import spread
from trainer.app import Workspace
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.lesson.flown import fly
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.lesson.question import ALL_FORMS, compute_answer
from trainer.lesson.review import review
from trainer.lesson.robustness import SMALL_VARIATIONS, Variation, fragile_prompts
from trainer.lesson.spec import Predict
from trainer.resources import resource_folder

PATHS = sorted(resource_folder("lessons").glob("*.yaml"))
WORKSPACE = Workspace()
COMPETENCIES = resource_folder("statecharts") / FILE_NAME
WIDE_VARIATIONS = (
    *SMALL_VARIATIONS,
    Variation("25 ft higher", altitude_ft=25.0),
    Variation("25 ft lower", altitude_ft=-25.0),
    Variation("heading 2 degrees left", heading_deg=-2.0),
    Variation("heading 2 degrees right", heading_deg=2.0),
    Variation("3 kt faster", airspeed_kt=3.0),
    Variation("3 kt slower", airspeed_kt=-3.0),
    Variation("4 kt of wind more", wind_speed_kt=4.0),
    Variation("4 kt of wind more, from behind", wind_from_deg=180.0, wind_speed_kt=4.0),
    Variation("further along", place_nm=0.03),
    Variation("not as far along", place_nm=-0.03),
)


@pytest.fixture(params=PATHS, ids=lambda path: path.stem)
def lesson(request):
    return WORKSPACE.lesson(request.param)


@pytest.fixture(params=spread(PATHS, 4, lambda path: path.stem))
def one_of_four(request):
    """A lesson: each fourth in the normal run, all in the long one."""
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


def begins(lesson):
    return lambda start: WORKSPACE.begin(lesson.installation, start)


def test_answers_hold_when_the_start_is_a_little_different(one_of_four):
    lesson = one_of_four
    assert fragile_prompts(lesson, begins(lesson), SMALL_VARIATIONS[1:]) == ()


@pytest.mark.long
def test_answers_hold_when_the_start_is_rather_different(lesson):
    assert fragile_prompts(lesson, begins(lesson), WIDE_VARIATIONS) == ()


@pytest.mark.long
def test_review_finds_nothing(lesson):
    assert review(lesson, begins(lesson), tuple(load_competencies(COMPETENCIES))) == ()


def test_the_curriculum_is_what_it_promises():
    lessons = [WORKSPACE.lesson(path) for path in PATHS]
    assert len(lessons) >= 30
    assert {one.installation for one in lessons} == {"ship_amber", "ship_slate"}
    assert all(3 <= one.minutes <= 8 for one in lessons)
    kinds = {s.kind for one in lessons for s in one.steps if isinstance(s, Predict)}
    assert kinds == set(PROMPT_KINDS)
