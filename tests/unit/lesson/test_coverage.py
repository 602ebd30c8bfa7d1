"""Coverage counts what acted, and nothing else."""

from __future__ import annotations

import pytest

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


def test_the_curriculum_exercises_most_of_amber(workspace):
    flown = []
    for path in sorted(resource_folder("lessons").glob("*.yaml")):
        lesson = workspace.lesson(path)
        if lesson.installation == "ship_amber":
            flown.append((lesson.id, fly(workspace.start_lesson_without_trainee(lesson))))
    coverage = cover(workspace.installation("ship_amber"), flown)
    rules, of = coverage.count("rule")
    assert rules / of >= 0.85
    done, all_states = coverage.count("state")
    assert done == all_states
