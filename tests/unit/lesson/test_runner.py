"""The runner: phases, waits, prompts and restart."""

from __future__ import annotations

import pytest

from trainer.errors import FileError
from trainer.lesson.flown import fly

ENGAGED = (
    "  altitude_ft: 3000\n  heading_deg: 90\n  airspeed_kt: 105\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)


def test_time_stops_at_a_prompt_and_goes_on_after_the_answer(run, text):
    runner = run(text)
    runner.advance(60.0)
    assert runner.phase == "asking"
    assert runner.session.t_s == pytest.approx(2.0)
    assert runner.prompt.key == "director"
    assert runner.narration == "You fly by hand."
    runner.advance(60.0)
    assert runner.session.t_s == pytest.approx(2.0)
    runner.commit()
    assert runner.phase == "explained"
    assert runner.played[0].after.engagement == "director"
    runner.proceed()
    runner.advance(60.0)
    assert runner.prompt.number == 2
    runner.commit()
    assert runner.phase == "revealing"
    runner.advance(60.0)
    assert runner.phase == "explained"
    assert runner.played[1].nothing_changes
    assert runner.played[1].elapsed_s == pytest.approx(5.0)
    runner.proceed()
    assert runner.phase == "finished"


def test_small_advances_come_to_the_same_as_large_ones(run, text):
    fine, coarse = run(text), run(text)
    while fine.phase == "running":
        fine.advance(0.013)
    coarse.advance(100.0)
    assert fine.session.t_s == coarse.session.t_s
    assert fine.session.flight.sample() == coarse.session.flight.sample()


def test_restart_is_a_new_beginning(run, text):
    runner = run(text)
    first = fly(runner)
    runner.restart()
    assert runner.phase == "running"
    assert runner.played == []
    assert fly(runner) == first


def test_commit_and_proceed_out_of_turn_do_nothing(run, text):
    runner = run(text)
    runner.commit()
    assert runner.proceed() == ()
    assert runner.phase == "running"


def test_a_wait_that_is_not_over_in_time_names_its_line(run, with_steps):
    runner = run(with_steps("  - wait_until: {above: {altitude_ft: 9000}, within_s: 3}\n"))
    with pytest.raises(FileError, match=r"my.yaml:13:1: the wait was not over after 3 s"):
        fly(runner)


@pytest.mark.parametrize(
    ("condition", "low_s", "high_s"),
    [
        ("{above: {altitude_ft: 2900}}", 0.0, 0.0),
        ("{below: {altitude_ft: 3100}, active: [heading_select], engagement: autopilot}", 0, 0),
        ("{alert: quiet, signal: servo_ok}", 0.0, 0.0),
        ("{change: true, within_s: 60}", 9.9, 10.1),
        ("{engagement: director, within_s: 60}", 9.9, 10.1),
    ],
)
def test_waits_end_when_their_condition_holds(run, with_steps, condition, low_s, high_s):
    # A servo fault after ten seconds is the change that the last two wait for.
    steps = f"  - wait: 10\n  - wait_until: {condition}\n"
    if low_s:
        steps = f"  - wait_until: {condition}\n"
    runner = run(with_steps(steps, ENGAGED))
    runner.advance(0.0)
    if low_s:
        runner.advance(10.0)
        runner.session.inject("servo")
    started_s = 0.0 if low_s else 10.0
    runner.advance(30.0)
    assert runner.phase == "finished"
    assert low_s <= runner.session.t_s - started_s <= max(high_s, 0.06)


def test_set_inject_and_clear_reach_the_session(run, with_steps):
    runner = run(
        with_steps(
            "  - set: {selected_heading_deg: 120, power_percent: 70, wind_speed_kt: 9}\n"
            "  - inject: servo\n  - wait: 1\n  - clear: servo\n  - wait: 1\n",
            ENGAGED,
        )
    )
    records = runner.advance(10.0)
    assert runner.session.references.selected_heading_deg == 120
    assert runner.session.flight.controls.power_percent == 70
    assert runner.session.flight.environment.wind.speed_kt == 9
    assert [r.by for r in records if r.has_changed] == ["reversion"]
    assert runner.session.flight.servo_ok


def test_a_stuck_key_does_nothing(run, with_steps):
    steps = "  - inject: stuck:director\n  - predict: {kind: after_key, key: director}\n"
    flown = fly(run(with_steps(steps)))
    assert flown.prompts[0].answer.nothing_changes
    assert flown.prompts[0].answer.rule_ids == ()
