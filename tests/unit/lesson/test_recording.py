"""A recorded flight, flown again as a lesson, is the same flight; turns become one setting."""

from __future__ import annotations

import pytest

from trainer.lesson.flown import fly
from trainer.lesson.recording import (
    Change,
    Entry,
    Recorder,
    Timeline,
    situation_of,
    to_lesson,
)
from trainer.lesson.spec import Set, Start, Wait
from trainer.lesson.writer import write_lesson

LEVEL = (
    "  altitude_ft: 3000\n  heading_deg: 90\n  airspeed_kt: 105\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)


@pytest.fixture(scope="module")
def flown(workspace):
    """A practice: up 300 ft, a turn on the way, a fault at the end."""
    from trainer.document import parse_document
    from trainer.lesson.start_reader import read_start

    start = read_start(parse_document(LEVEL.replace("\n  ", "\n").strip()))
    session = workspace.begin("ship_amber", start)
    recorder = Recorder(session, start)

    def fly_on(seconds):
        for _ in range(round(seconds / 0.05)):
            recorder.step()

    recorder.say("Up we go.")
    fly_on(3)
    recorder.select("selected_altitude_ft", 3300)
    recorder.select("power_percent", 100)
    fly_on(2)
    recorder.press("vertical_speed")
    for _ in range(5):
        recorder.press("reference_up")
    fly_on(10)
    recorder.select("selected_heading_deg", 120)
    fly_on(40)
    recorder.inject("servo")
    fly_on(5)
    return session, recorder.timeline()


def records(session):
    return [(round(r.t_s, 2), r.event, r.by, r.after) for r in session.trace.records]


def replay(workspace, read, timeline):
    lesson = read(write_lesson(to_lesson(timeline, "mine", "Mine", ["Say what comes next."])))
    runner = workspace.start_lesson_without_trainee(lesson)
    return runner, fly(runner), lesson


def test_the_lesson_repeats_the_practice(workspace, read, flown):
    session, timeline = flown
    runner, _, _ = replay(workspace, read, timeline)
    assert records(runner.session) == records(session)
    assert runner.session.flight.sample() == session.flight.sample()


def test_what_came_by_itself_is_on_the_timeline(flown):
    _, timeline = flown
    changes = [entry.what for entry in timeline.entries if isinstance(entry.what, Change)]
    assert [change.rule_id for change in changes] == ["altitude_captured", "altitude_levelled"]


def of(*entries):
    return to_lesson(Timeline("ship_amber", Start(), entries, 30.0), "mine", "Mine", ["Say it."])


def turn(t_s, value, name="selected_altitude_ft", **more):
    return Entry(t_s, Set(((name, value),)), **more)


def test_turns_of_one_selector_become_one_setting():
    lesson = of(turn(1.0, 3100.0), turn(1.4, 3200.0), turn(1.8, 3300.0), turn(9.0, 3400.0))
    assert lesson.steps == (
        Wait(1.8), Set((("selected_altitude_ft", 3300.0),)), Wait(7.2),
        Set((("selected_altitude_ft", 3400.0),)), Wait(21.0),
    )  # fmt: skip


def test_a_turn_that_changed_something_stays():
    shows = (("vertical_armed", ("altitude",)),)
    lesson = of(turn(1.0, 3100.0, shows=shows), turn(1.4, 3200.0))
    assert [step.values[0][1] for step in lesson.steps if isinstance(step, Set)] == [3100.0, 3200.0]


def test_the_stick_is_never_settled_and_settings_of_one_moment_are_one_step():
    lesson = of(
        turn(1.0, 0.1, "stick_bank"), turn(1.0, 0.2, "stick_pitch"), turn(1.2, 0.3, "stick_bank"),
    )  # fmt: skip
    assert lesson.steps[1] == Set((("stick_bank", 0.1), ("stick_pitch", 0.2)))
    assert lesson.steps[3] == Set((("stick_bank", 0.3),))


def test_keys_that_did_nothing_are_known(workspace, flown):
    _, timeline = flown
    assert not any(entry.is_dead for entry in timeline.entries)
    session = workspace.begin("ship_amber", Start())
    recorder = Recorder(session)
    recorder.press("reference_up")
    recorder.press("director")
    recorder.press("director")
    dead = [entry.is_dead for entry in recorder.timeline().entries]
    assert dead == [True, False, False]
    assert len(recorder.timeline().without_dead_keys().entries) == 2


def test_a_recording_can_begin_in_the_middle_of_a_flight(workspace, read, flown):
    session, _ = flown
    start = situation_of(session)
    again = workspace.begin("ship_amber", start)
    assert again.annunciation.lateral == session.annunciation.lateral
    assert again.annunciation.vertical == session.annunciation.vertical
    assert again.flight.altitude_ft == pytest.approx(session.flight.altitude_ft, abs=1)
    assert again.references.selected_heading_deg == 120


def test_values_set_are_kept_as_they_were(flown):
    _, timeline = flown
    assert Set((("selected_altitude_ft", 3300),)) in [entry.what for entry in timeline.entries]
