"""A violation as a lesson: loaded and flown in the spoilt logic, it breaks the invariant again."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path

import pytest

from tests.helpers.planted import variant
from tests.helpers.situations import workspace
from tests.unit.charts.test_explore import PLANTED, _planted
from trainer.app import Workspace
from trainer.charts.explore import Violation, explore
from trainer.charts.guard import evaluate_at
from trainer.charts.installation import Installation
from trainer.charts.spec import All, Not
from trainer.cli.explore import NOT_FLOWN, execute
from trainer.cli.output import FINDINGS, Output
from trainer.lesson.from_path import ShownViolation, lesson_from_path
from trainer.lesson.loader import load_lesson
from trainer.lesson.runner import LessonRunner
from trainer.session.logic import Logic
from trainer.session.session import STEP_S
from trainer.session.start import begin

SAMPLE = ("off_clears_all", "course_track_not_twice", "level_together", "attitude_needed",
          "no_disconnect_alert_while_engaged", "caution_below_minimum")  # fmt: skip
# Two things would have to happen at one instant, or what is lost takes more with it.
NO_FLIGHT = {"glidepath_needs_approach", "autopilot_needs_ready_system", "protection_only_engaged"}


def spoilt(name: str) -> tuple[Logic, Violation]:
    plant = PLANTED[name]
    machine = _planted(plant)
    violation = next(v for v in explore(machine.kernel).violations if v.invariant.id == name)
    base = workspace().installation("ship_amber")
    return Logic(replace(variant(base, **plant.options), chart=machine.chart)), violation


def shown_of(logic: Logic, violation: Violation) -> ShownViolation | None:
    return lesson_from_path(logic, workspace().aircraft("light_single"), violation)


def breaks(text: str, logic: Logic, violation: Violation, folder: Path) -> bool:
    """Load the lesson and fly it, looking at every step whether the invariant holds."""
    path = folder / "violation.yaml"
    path.write_text(text, encoding="utf-8")
    lesson = load_lesson(path, {"ship_amber": logic.installation.chart})
    aircraft = workspace().aircraft("light_single")
    runner = LessonRunner(lesson, lambda: begin(logic, aircraft, lesson.start))
    invariant = violation.invariant
    broken, chart = All((invariant.if_, Not(invariant.then))), logic.machine.chart
    while runner.phase != "finished":
        if runner.phase == "asking":
            runner.commit()
        elif runner.phase == "explained":
            runner.proceed()
        else:
            runner.advance(STEP_S)
        if evaluate_at(broken, chart, runner.session.configuration, runner.session.bits):
            return True
    return False


def check(name: str, folder: Path) -> None:
    logic, violation = spoilt(name)
    shown = shown_of(logic, violation)
    assert (shown is None) == (name in NO_FLIGHT)
    if shown is not None:
        assert violation.invariant.sentence in shown.text.replace("\n  ", " ")
        assert breaks(shown.text, logic, violation, folder)
        assert list(shown.events) == [edge.event for edge in violation.path[-len(shown.events) :]
                                      if shown.events]  # fmt: skip


@pytest.mark.parametrize("name", SAMPLE)
def test_the_lesson_of_a_violation_breaks_the_invariant_when_flown(name, tmp_path):
    check(name, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(set(PLANTED) - set(SAMPLE)))
def test_every_planted_violation_has_such_a_lesson_or_says_that_it_has_none(name, tmp_path):
    check(name, tmp_path)


def test_a_lesson_flown_in_the_sound_logic_breaks_nothing(tmp_path):
    logic, violation = spoilt("level_together")
    shown = shown_of(logic, violation)
    sound = Logic(replace(logic.installation, chart=_planted(PLANTED["level_together"],
                                                              spoil=False).chart))  # fmt: skip
    assert breaks(shown.text, logic, violation, tmp_path)
    assert not breaks(shown.text, sound, violation, tmp_path)


@pytest.mark.parametrize("name", ["level_together", "protection_only_engaged"])
def test_explore_prints_the_lesson_or_that_no_flight_was_found(name, capsys, monkeypatch, tmp_path):
    logic, violation = spoilt(name)
    made = Workspace()
    ship: Installation = logic.installation
    monkeypatch.setattr(made, "logic", lambda _name: logic)
    monkeypatch.setattr(made, "installation", lambda _name: ship)
    arguments = argparse.Namespace(ships=["ship_amber"], installation=None)
    assert execute(arguments, Output(as_json=True), made) == FINDINGS
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    one = next(line for line in found if line.get("invariant") == name)
    assert one["events"] == [edge.event for edge in violation.path]
    if name in NO_FLIGHT:
        assert one["lesson"] == ""
        execute(arguments, Output(as_json=False), made)
        assert NOT_FLOWN in capsys.readouterr().out
    else:
        assert breaks(one["lesson"], logic, violation, tmp_path)
