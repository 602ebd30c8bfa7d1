"""What the guide admits of the generic logic: each thing it says is held to the machine."""

from __future__ import annotations

import re

import pytest

from tests.helpers.charts import generic_chart, machine_for, states_of
from trainer.resources import guide_folder

HEALTHY = ("self_test_passed", "electrical_ok", "attitude_valid", "servo_ok",
           "bank_allows_engagement", "pitch_allows_engagement", "engagement_height_reached",
           "airspeed_above_lowest", "airspeed_below_highest")  # fmt: skip
APPROACH = ("course_signal_valid", "source_is_approach", "source_has_glidepath",
            "glidepath_signal_valid", "below_glidepath")  # fmt: skip
MACHINE = machine_for(generic_chart())


def at(*words: str):
    return MACHINE.configuration(states_of(words, MACHINE.chart))


def after(start, true, event: str = ""):
    bits = MACHINE.bits(true)
    outcome = MACHINE.send(start, bits, event) if event else MACHINE.settle(start, bits)
    return dict(zip(MACHINE.region_ids, outcome.configuration, strict=True))


def states(start) -> dict[str, str]:
    return dict(zip(MACHINE.region_ids, start, strict=True))


def admitted() -> str:
    text = (guide_folder() / "what-the-model-is-not.md").read_text(encoding="utf-8")
    section = text.split("## Where the logic is plainer than an aircraft's")[1].split("\n## ")[0]
    return re.sub(r"\s+", " ", section)


def test_an_armed_glidepath_stays_armed_without_its_signal_and_cannot_capture():
    start = at("autopilot", "approach_course", "altitude_hold", "glidepath_arm")
    lost = [name for name in (*HEALTHY, *APPROACH) if name != "glidepath_signal_valid"]
    assert after(start, lost) == states(start)
    assert "glidepath that is **armed** stays armed" in admitted()


def test_a_disconnect_alert_hides_a_caution_that_the_signal_is_lost():
    start = at("director", "course_track", "altitude_hold", "alert=disconnect_sounding")
    end = after(start, HEALTHY)
    assert end["lateral"] == "roll_hold", "the reversion itself is never left out"
    assert end["alert"] == "disconnect_sounding"
    quiet = after(at("director", "course_track", "altitude_hold"), HEALTHY)
    assert quiet["alert"] == "signal_lost"
    assert "one alert at a time" in admitted()


def test_bank_beyond_its_limit_disconnects_and_pitch_does_not():
    start = at("autopilot", "roll_hold", "pitch_hold")
    steep = [name for name in HEALTHY if name != "pitch_allows_engagement"]
    assert after(start, steep)["engagement"] == "autopilot"
    banked = [name for name in HEALTHY if name != "bank_allows_engagement"]
    assert after(start, [*banked, "bank_beyond_disconnect"])["engagement"] == "director"
    assert "no pitch limit" in admitted()


@pytest.mark.parametrize(("key", "mode"), [("go_around", "go_around"), ("level_recovery", "level")])
def test_a_second_press_of_go_around_or_level_recovery_does_nothing(key: str, mode: str):
    start = at("autopilot", mode, mode)
    assert after(start, HEALTHY, key) == states(start)
    assert "second press" in admitted()
