"""Every choice and every limit has an example; what it tells is flown and differs as it says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from tests.helpers.sample import spread
from trainer.app import Workspace
from trainer.charts.installation import Installation
from trainer.session.choice_example import choice_examples, run_to_end, with_option
from trainer.session.example_words import Example
from trainer.session.limit_example import limit_examples, other_value, with_limit
from trainer.session.logic import Logic

WORKSPACE = Workspace()
AMBER = WORKSPACE.installation("ship_amber")
SLATE = WORKSPACE.installation("ship_slate")
SLOW = {
    "glidepath_capture", "reference_in_altitude_hold", "at_minimum_use_height",
    "overspeed_protection", "minimum_use_height_ft", "underspeed_kt", "overspeed_kt",
    "pitch_down_limit_deg",
}  # fmt: skip
"""Found after seconds of flying, as others are that stay: `back_course`, `underspeed_protection`,
`disconnect_bank_deg`, `pitch_up_limit_deg`. The long tests look for these too."""


def some_but_slow(names: Iterable[str]) -> list[Any]:
    """Return the names as parameters: those that take long and two in three others marked so."""
    quick = [name for name in names if name not in SLOW]
    slow = [pytest.param(name, marks=pytest.mark.long) for name in names if name in SLOW]
    return spread(quick, 3) + slow


def of_option(ship: Installation, option: str) -> tuple[Example, ...]:
    return run_to_end(choice_examples(ship, WORKSPACE.aircraft(ship.aircraft), option))


def of_limit(ship: Installation, limit: str) -> tuple[Example, ...]:
    return run_to_end(limit_examples(ship, WORKSPACE.aircraft(ship.aircraft), limit))


def is_told_apart(examples: tuple[Example, ...], one: str, other: str) -> bool:
    for example in examples:
        ends = {side.key: side.steps[2] for side in example.sides}
        if ends[one].line != ends[other].line:
            return True
    return False


def check_option(ship: Installation, option: str) -> None:
    """Hold the examples of an option to what they must show."""
    examples = of_option(ship, option)
    choices = ship.generic.options[option].choices
    assert examples, f"{option} has no example"
    for example in examples:
        assert [side.key for side in example.sides] == list(choices)
        assert len({side.steps[0] for side in example.sides}) == 1, "all begin alike"
        assert all(step.line.strip() for side in example.sides for step in side.steps)
    check_moments(ship, examples)
    for one, other in combinations(choices, 2):
        assert is_told_apart(examples, one, other), f"{option}: {one} and {other} read the same"


def check_moments(ship: Installation, examples: tuple[Example, ...]) -> None:
    """Begin where each side begins: the strip must read what its first line shows."""
    aircraft = WORKSPACE.aircraft(ship.aircraft)
    for side in (side for example in examples for side in example.sides):
        session = side.moment.begin(Logic(side.moment.installation), aircraft)
        assert session.annunciation == side.steps[0].annunciation
        sample = session.flight.sample()
        numbers = f"({sample.altitude_ft:,.0f} ft, {sample.airspeed_kt:.0f} kt"
        assert numbers in side.steps[0].line


def check_limit(ship: Installation, limit: str) -> None:
    """Hold the example of a limit to what it must show."""
    examples = of_limit(ship, limit)
    assert len(examples) == 1, f"{limit} has no example"
    first, second = examples[0].sides
    check_moments(ship, examples)
    assert first.key != second.key
    assert first.steps[2].line != second.steps[2].line


@pytest.mark.parametrize("option", some_but_slow(AMBER.generic.options))
def test_every_choice_has_an_example_that_tells_it_from_the_others(option: str) -> None:
    check_option(AMBER, option)


@pytest.mark.parametrize("limit", some_but_slow(AMBER.generic.limits))
def test_every_limit_has_an_example(limit: str) -> None:
    check_limit(AMBER, limit)


@pytest.mark.long
@pytest.mark.parametrize("option", SLATE.generic.options)
def test_every_choice_has_an_example_in_the_sister_ship(option: str) -> None:
    check_option(SLATE, option)


@pytest.mark.long
@pytest.mark.parametrize("limit", SLATE.generic.limits)
def test_every_limit_has_an_example_in_the_sister_ship(limit: str) -> None:
    check_limit(SLATE, limit)


def test_what_takes_long_is_still_in_the_chart() -> None:
    assert {*AMBER.generic.options, *AMBER.generic.limits} >= SLOW


def test_example_follows_the_value_that_was_answered() -> None:
    ship = with_limit(AMBER, "minimum_engagement_height_ft", 1500.0)
    (example,) = of_limit(ship, "minimum_engagement_height_ft")
    assert [side.key for side in example.sides] == ["1480 ft", "1520 ft"]
    below, above = example.sides
    assert "Refused: Below the minimum engagement height" in below.steps[2].line
    assert below.steps[2].annunciation.engagement == "no_guidance"
    assert above.steps[2].annunciation.engagement == "autopilot"


def test_side_of_a_choice_is_what_an_aircraft_with_that_choice_does() -> None:
    (example,) = of_option(AMBER, "go_around_autopilot")
    ends = {side.key: side.steps[2].annunciation for side in example.sides}
    # DESIGN 5, rule 13: the autopilot stays [o: disconnects].
    assert ends["stays"].engagement == "autopilot"
    assert ends["disconnects"].engagement == "director"
    assert ends["disconnects"].alert == "disconnect_sounding"


def test_answer_that_depends_on_another_names_it() -> None:
    ship = with_option(AMBER, "hand_steering", "not_fitted")
    (example,) = of_option(ship, "hand_steering_release")
    assert example.given.startswith("Is there a hand steering button on the wheel?")
    fitted = with_option(AMBER, "hand_steering", "fitted")
    (plain,) = of_option(fitted, "hand_steering_release")
    assert plain.given == ""


def test_option_without_any_effect_has_no_example() -> None:
    """The search comes back with nothing after its flights: it makes no example up."""
    option = "go_around_autopilot"
    rules = {
        name: rule
        for name, rule in AMBER.generic.rules.items()
        if all(needed != option for needed, _ in rule.needs)
    }
    ship = replace(AMBER, generic=replace(AMBER.generic, rules=rules))
    aircraft = WORKSPACE.aircraft(ship.aircraft)
    assert run_to_end(choice_examples(ship, aircraft, option, most_flights=2)) == ()


def test_other_value_lies_inside_the_range() -> None:
    for spec in AMBER.generic.limits.values():
        for value in (spec.low, spec.default, spec.high):
            assert spec.low <= other_value(spec, value) <= spec.high
