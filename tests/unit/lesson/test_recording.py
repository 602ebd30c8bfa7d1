"""A recorded flight, flown again as a lesson, is the same flight; edits do what they say."""

from __future__ import annotations

import pytest

from trainer.lesson.flown import fly
from trainer.lesson.recording import (
    Change,
    Recorder,
    asked,
    moved,
    narrated,
    removed,
    situation_of,
    to_lesson,
    trimmed,
)
from trainer.lesson.spec import Do, Predict, Say, Set
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


def test_prompts_on_everything_still_repeat_the_practice(workspace, read, flown):
    session, timeline = flown
    for index in range(len(timeline.entries)):
        timeline = asked(timeline, index)
    runner, played, lesson = replay(workspace, read, timeline)
    assert records(runner.session) == records(session)
    kinds = [step.kind for step in lesson.steps if isinstance(step, Predict)]
    assert set(kinds) == {"after_set", "after_key", "next_change", "after_fault"}
    captured = next(one for one in played.prompts if one.prompt.kind == "next_change")
    assert captured.answer.after.vertical.active == "altitude_capture"
    assert captured.answer.rule_ids[0] == "altitude_captured"


def test_edits_are_new_values(flown):
    _, timeline = flown
    first_key = next(i for i, e in enumerate(timeline.entries) if e.what == Do("vertical_speed"))
    later = moved(timeline, first_key, 1.0)
    entry = next(e for e in later.entries if e.what == Do("vertical_speed"))
    assert entry.t_s == pytest.approx(timeline.entries[first_key].t_s + 1.0)
    assert later.entries[-1] == timeline.entries[-1]
    assert len(removed(timeline, 0).entries) == len(timeline.entries) - 1
    told = narrated(timeline, 4.0, "Now  look.")
    assert Say("Now look.") in [e.what for e in told.entries]
    assert [e.t_s for e in told.entries] == sorted(e.t_s for e in told.entries)
    short = trimmed(timeline, 10.0)
    assert short.ended_s == 10.0
    assert all(entry.t_s <= 10.0 for entry in short.entries)
    assert not any(isinstance(e.what, Change) for e in short.entries)


def test_an_entry_is_not_moved_past_the_ends(flown):
    _, timeline = flown
    last = len(timeline.entries) - 1
    assert moved(timeline, last, 1e6).entries[-1].t_s == pytest.approx(timeline.ended_s)
    assert min(e.t_s for e in moved(timeline, last, -1e6).entries) == 0.0


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
