"""Coverage counts what acted, and nothing else."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.lesson.coverage import cover
from trainer.lesson.flown import fly
from trainer.resources import resource_folder

LEVEL = (
    "  altitude_ft: 3000\n  heading_deg: 90\n  airspeed_kt: 105\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)


@pytest.fixture
def covered(workspace, run, with_steps):
    def count(steps):
        flown = fly(run(with_steps(steps, LEVEL)))
        return cover(workspace.installation("ship_amber"), [("one", flown)])

    return count


def exercised(coverage, kind):
    return {item.id for item in coverage.of(kind) if item.lessons}


def test_rules_refusals_states_and_options_are_what_acted(covered):
    coverage = covered("  - do: heading_select\n  - predict: {kind: after_key, key: director}\n")
    assert exercised(coverage, "rule") == {"heading_again"}
    assert exercised(coverage, "refusal") == {"director_while_engaged"}
    assert {"lateral.heading_select", "lateral.roll_hold", "vertical.altitude_hold"} <= (
        exercised(coverage, "state")
    )
    assert "lateral.course_track" not in exercised(coverage, "state")
    assert exercised(coverage, "option") == {
        "active_key_again=default_mode", "director_key_with_autopilot=refused",
    }  # fmt: skip
    assert coverage.count("refusal") == (1, 12)


def test_nothing_done_exercises_only_the_states_of_the_start(covered):
    coverage = covered("  - wait: 1\n")
    assert exercised(coverage, "rule") == set()
    assert exercised(coverage, "refusal") == set()
    assert len(exercised(coverage, "state")) == len(
        {item.id.split(".")[0] for item in coverage.of("state")}
    )


@pytest.fixture(scope="module", params=["ship_amber", "ship_slate"])
def curriculum(request):
    """The coverage of a ship by all lessons in it, and the rules that their questions ask for."""
    flown, workspace = [], Workspace()
    for path in sorted(resource_folder("lessons").glob("*.yaml")):
        lesson = workspace.lesson(path)
        if lesson.installation == request.param:
            flown.append((lesson.id, fly(workspace.start_lesson_without_trainee(lesson))))
    asked = {rule for _, one in flown for prompt in one.prompts for rule in prompt.answer.rule_ids}
    return cover(workspace.installation(request.param), flown), asked


def test_the_curriculum_exercises_all_of_both_ships(curriculum):
    coverage, _ = curriculum
    assert coverage.missing == ()
    assert all(coverage.count(kind)[1] for kind in coverage.kinds)


def test_its_questions_ask_for_nearly_every_rule_and_for_every_refusal(curriculum):
    coverage, asked = curriculum
    assert exercised(coverage, "refusal") <= asked
    rules = exercised(coverage, "rule")
    assert len(rules & asked) / len(rules) >= 0.92


def test_the_sister_ship_has_a_curriculum_of_its_own(workspace):
    slate = [one for one in workspace.lessons() if one.installation == "ship_slate"]
    assert len(slate) >= 20
    # What differs comes first, for who comes from the other ship.
    assert "differences_between_ships" in slate[0].competencies
    own = {one.id for one in slate}
    assert all(own & set(one.prerequisites) for one in slate if one.id > "50")
