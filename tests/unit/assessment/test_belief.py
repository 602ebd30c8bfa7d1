"""What a wrong rule makes somebody answer, in hand-checked situations and against the machine."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from trainer.assessment.wrong_rules.distinguish import Product, unseen
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import (
    ChooseOption,
    Drop,
    Misconception,
    PatchError,
)
from trainer.charts.explore import explore
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.machine import ModeMachine
from trainer.session.annunciation import Annunciation

CALM = (
    "self_test_passed", "electrical_ok", "servo_ok", "attitude_valid", "bank_allows_engagement",
    "pitch_allows_engagement", "engagement_height_reached", "airspeed_above_lowest",
    "airspeed_below_highest", "course_signal_valid", "source_is_approach",
    "source_has_glidepath", "glidepath_signal_valid", "below_glidepath",
)  # fmt: skip


def believed(
    library: Library, name: str, states: dict[str, str], event: str, *signals: str
) -> Annunciation:
    machine = library.logic.machine
    configuration = machine.configuration({"system": "ready", **states})
    bits = machine.bits((*CALM, *signals))
    after = library.beliefs[name].answer(configuration, bits, event)
    return library.logic.annunciation(after)


ON_APPROACH = {
    "engagement": "autopilot", "lateral": "approach_course", "vertical": "glidepath",
}  # fmt: skip
CLIMB = {
    "engagement": "autopilot", "lateral": "heading_select", "vertical": "vertical_speed",
    "altitude_arm": "armed",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "states", "event", "signals", "cell", "content"),
    [
        ("disconnect_switches_all_off", ON_APPROACH, "disconnect", (), "engagement", "no_guidance"),
        ("heading_keeps_glidepath", ON_APPROACH, "heading_select", (), "vertical_active",
         "glidepath"),
        ("go_around_vertical_only", ON_APPROACH, "go_around", (), "lateral_active",
         "approach_course"),
        ("altitude_always_armed", CLIMB, "altitude_hold", ("altitude_distant",), "vertical_armed",
         ("altitude",)),
        ("no_altitude_capture", CLIMB, AUTOMATIC, ("altitude_distant", "altitude_capture_reached"),
         "vertical_active", "vertical_speed"),
        ("cancelled_vertical_holds_altitude", CLIMB, "vertical_speed", ("altitude_distant",),
         "vertical_active", "altitude_hold"),
        ("second_press_ignored", CLIMB, "heading_select", ("altitude_distant",), "lateral_active",
         "heading_select"),
        ("arming_is_active", CLIMB, "approach", ("altitude_distant",), "lateral_active",
         "approach_course"),
        ("engages_at_any_speed", {"engagement": "director", "lateral": "roll_hold",
                                  "vertical": "pitch_hold"}, "autopilot", (), "engagement",
         "autopilot"),
    ],
)  # fmt: skip
def test_a_wrong_rule_gives_its_own_answer(
    amber: Library,
    *,
    name: str,
    states: dict[str, str],
    event: str,
    signals: tuple[str, ...],
    cell: str,
    content: str | tuple[str, ...],
) -> None:
    assert believed(amber, name, states, event, *signals).cell(cell) == content


def test_rules_true_of_a_ship_are_not_wrong_there(amber: Library, slate: Library) -> None:
    assert "go_around_disconnects_autopilot" in amber.beliefs
    assert "go_around_disconnects_autopilot" not in slate.beliefs
    assert "go_around_keeps_autopilot" in slate.beliefs
    assert "go_around_keeps_autopilot" not in amber.beliefs
    assert all(one.reason for one in amber.left_out)


def test_the_option_switches_a_misconception_off(amber: Library) -> None:
    one = amber.beliefs["no_altitude_capture"].parts[0]
    elsewhere = replace(one, needs=(("go_around_autopilot", ("disconnects",)),))
    library = Library(amber.logic, [elsewhere])
    assert not library.beliefs
    assert library.left_out[0].reason == "true of this aircraft, by its options"


def test_a_belief_that_needs_other_parts_is_left_out(amber: Library) -> None:
    operations = (ChooseOption("back_course", "fitted"),)
    one = Misconception("other", "There is a back course.", "approach", "derived", "", operations)
    with pytest.raises(PatchError):
        amber.believe(one)
    assert "hasn't got" in Library(amber.logic, [one]).left_out[0].reason


def test_what_is_shown_overrules_a_belief_that_denies_it(amber: Library) -> None:
    # Who thinks that the course brings the glidepath at once still sees pitch hold here.
    states = {
        "engagement": "autopilot", "lateral": "roll_hold", "vertical": "pitch_hold",
        "approach_course_arm": "armed", "glidepath_arm": "armed",
    }  # fmt: skip
    machine = amber.logic.machine
    configuration = machine.configuration({"system": "ready", **states})
    bits = machine.bits((*CALM, "course_capture_reached"))
    belief = amber.beliefs["course_brings_glidepath"]
    assert not belief.kernel.is_at_rest(configuration, bits)
    true = amber.truth.send(configuration, bits, "vertical_speed")
    assert belief.answer(configuration, bits, "vertical_speed") == true.configuration


@pytest.mark.parametrize("name", [None, "arming_is_active", "engaging_needs_director_first"])
def test_the_kernel_does_what_the_machine_does(amber: Library, name: str | None) -> None:
    kernel = amber.truth if name is None else amber.beliefs[name].kernel
    machine = ModeMachine(kernel.chart)
    chance = random.Random(5)
    configuration = machine.initial
    for _ in range(600):
        bits = machine.bits(s for s in CALM if chance.random() < 0.95)
        bits |= machine.bits(
            s for s in ("altitude_distant", "altitude_capture_reached", "course_capture_reached",
                        "captured_altitude_reached", "glidepath_reached", "underspeed_reached")
            if chance.random() < 0.3
        )  # fmt: skip
        configuration = machine.settle(configuration, bits).configuration
        assert kernel.is_at_rest(configuration, bits)
        event = chance.choice(list(kernel.chart.events))
        outcome = machine.send(configuration, bits, event)
        assert kernel.send(configuration, bits, event) == outcome
        assert kernel.send_all(configuration, bits, (event,)) == outcome.configuration
        assert kernel.refusal(configuration, bits, event) is outcome.refusal
        configuration = outcome.configuration


def test_a_belief_that_finds_no_other_outcome_answers_as_the_truth(amber: Library) -> None:
    machine = amber.logic.machine
    chance = random.Random(8)
    configuration = machine.initial
    skipped = 0
    for _ in range(120):
        bits = machine.bits((*CALM, *chance.sample(["altitude_distant", "glidepath_reached"], 1)))
        configuration = machine.settle(configuration, bits).configuration
        event = chance.choice(list(amber.truth.chart.events))
        points = amber.truth.points(configuration, bits, event)
        differing = set(amber.differing(points))
        true = amber.truth.send_all(configuration, bits, (event,))
        for name, belief in amber.beliefs.items():
            if name not in differing:
                skipped += 1
                assert belief.answer(configuration, bits, event) == true
        configuration = true
    assert skipped > 6_000


@pytest.mark.long
@pytest.mark.parametrize("ship", ["amber", "slate"])
def test_every_misconception_can_be_told_from_the_truth(
    ship: str, request: pytest.FixtureRequest
) -> None:
    library: Library = request.getfixturevalue(ship)
    machine = library.logic.machine
    product = Product(explore(machine.kernel), machine.kernel)
    for name, belief in library.beliefs.items():
        difference = product.first_difference(belief.chart)
        assert difference is not None, name
        assert difference.true != difference.believed


@pytest.mark.long
def test_a_patch_without_a_visible_effect_is_found_out(amber: Library) -> None:
    # Level recovery disarms altitude twice over: by its own rule and because no vertical mode
    # that leads to an altitude is left.
    operations = (Drop(rules=("altitude_arm_level",)),)
    one = Misconception("unseen", "It stays.", "approach", "derived", "", operations)
    library = Library(amber.logic, [*amber.misconceptions.values(), one])
    assert library.beliefs["unseen"].rows
    assert unseen(library, ("unseen", "servo_fault_clears_all")) == ("unseen",)
    assert unseen(library, ()) == ()
