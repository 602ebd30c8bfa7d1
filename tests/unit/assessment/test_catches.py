"""A lesson catches a wrong rule just where who holds it answers a question wrongly."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.catches import catches, with_misconceptions
from trainer.document import parse_document
from trainer.lesson.coverage import cover
from trainer.lesson.flown import fly
from trainer.lesson.loader import read_lesson

HEAD = """\
format: lesson/1
title: One question
installation: ship_amber
objectives: [Say what comes next.]
start:
  altitude_ft: 3600
  heading_deg: 90
  airspeed_kt: 95
START  modes: MODES
steps:
"""
LEVEL = "{engagement: autopilot, lateral: heading_select, vertical: altitude_hold}"
CLIMB = (
    "{engagement: autopilot, lateral: heading_select, vertical: vertical_speed, armed: [altitude]}"
)


@pytest.fixture(scope="module")
def workspace():
    return Workspace()


@pytest.fixture(scope="module")
def library(workspace):
    return workspace.library("ship_amber")


@pytest.fixture
def found(workspace, library):
    def look(steps, modes=LEVEL):
        lesson = read(steps, modes, workspace)
        return catches(workspace.start_lesson_without_trainee(lesson), library)

    return look


UP = (
    "  vertical_speed_fpm: 500\n  power_percent: 100\n"
    "  selected: {altitude_ft: 4000, vertical_speed_fpm: 500}\n"
)


def read(steps, modes, workspace):
    start = UP if modes == CLIMB else ""
    text = HEAD.replace("MODES", modes).replace("START", start) + steps
    return read_lesson(parse_document(text, "one.yaml"), "one", workspace.charts)


DIRECTOR = {"director_key_clears_modes", "director_key_disconnects"}
SPEED = "vertical_speed"


@pytest.mark.parametrize(
    ("steps", "modes", "names"),
    [
        ("do: heading_select", LEVEL, set()),
        ("predict: {kind: after_time, after_s: 2}", LEVEL, set()),
        # Here the director key is refused while the autopilot is engaged.
        ("predict: {kind: after_key, key: director}", LEVEL, DIRECTOR),
        ("predict: {kind: is_allowed, key: director}", LEVEL, DIRECTOR),
        ("predict: {kind: after_fault, inject: servo}", LEVEL, {"servo_fault_clears_all"}),
        # Who thinks that the control leaves altitude hold knows one key too many.
        (f"predict: {{kind: which_key, shows: {{vertical_active: {SPEED}}}}}", LEVEL,
         {"control_leaves_altitude_hold"}),
        (f"predict: {{kind: what_to_do, after_s: 2, goal: {{active: [{SPEED}]}}, goal_words: it}}",
         LEVEL, {"control_leaves_altitude_hold"}),
        ("predict: {kind: level_off, within_s: 300}", CLIMB, {"no_altitude_capture"}),
        ("predict: {kind: first_capture, within_s: 300}", CLIMB,
         {"no_altitude_capture", "capture_skips_to_hold"}),
    ],
)  # fmt: skip
def test_who_holds_it_answers_wrongly(found, steps, modes, names):
    assert found(f"  - {steps}\n", modes) == dict.fromkeys(names, (1,))


def test_a_setting_during_capture_catches_who_thinks_that_it_goes_on(found):
    caught = found(
        "  - wait_until: {active: [altitude_capture], within_s: 300}\n"
        "  - predict: {kind: after_set, set: {selected_altitude_ft: 4500}}\n",
        CLIMB,
    )
    assert set(caught) == {"new_altitude_leaves_capture", "altitude_arms_only_by_key"}


def test_the_number_of_the_question_is_told(found):
    ask = "  - predict: {kind: after_key, key: director}\n"
    quiet = "  - predict: {kind: after_time, after_s: 2}\n"
    (first, second) = found(ask + quiet), found(quiet + ask)
    assert set(first) == set(second)
    assert set(second.values()) == {(2,)}


def test_it_can_be_stopped(workspace, library):
    lesson = read("  - predict: {kind: after_key, key: director}\n", LEVEL, workspace)
    runner = workspace.start_lesson_without_trainee(lesson)
    assert catches(runner, library, lambda: False) == {}


def test_coverage_counts_them(workspace, library):
    lesson = read("  - predict: {kind: after_key, key: director}\n", LEVEL, workspace)
    start = workspace.start_lesson_without_trainee
    coverage = cover(workspace.installation("ship_amber"), [("one", fly(start(lesson)))])
    found = {"one": catches(start(lesson), library)}
    whole = with_misconceptions(coverage, library, found)
    assert whole.items[: len(coverage.items)] == coverage.items
    assert whole.count("misconception") == (len(found["one"]), len(library.beliefs))
    assert whole.kinds[-1] == "misconception"


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_every_wrong_rule_of_a_ship_names_a_lesson(workspace, ship):
    held, known = workspace.library(ship).misconceptions, {one.id for one in workspace.lessons()}
    assert held
    assert [name for name, one in held.items() if one.lesson not in known] == []


@pytest.mark.long
def test_the_lesson_that_is_said_to_mend_a_wrong_rule_catches_it(workspace):
    held = {name: workspace.library(name) for name in ("ship_amber", "ship_slate")}
    found = {}
    for lesson in workspace.lessons():
        library = held[lesson.installation]
        runner = workspace.start_lesson_without_trainee(lesson)
        found[lesson.id] = (lesson.installation, set(catches(runner, library)))
    missed = [
        name
        for ship, library in held.items()
        for name, one in library.misconceptions.items()
        if one.lesson and found[one.lesson][0] == ship and name not in found[one.lesson][1]
    ]
    assert missed == []
    for aircraft, library in held.items():
        caught = {name for ship, names in found.values() if ship == aircraft for name in names}
        assert caught == set(library.beliefs)
