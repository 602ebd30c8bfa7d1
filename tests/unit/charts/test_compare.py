"""Two installations compared: identical ones give nothing, a planted difference is found."""

import random
from dataclasses import replace

import pytest

from tests.helpers.differences import quiet_ship
from tests.helpers.situations import workspace
from trainer.charts.causes import differing_settings, with_settings
from trainer.charts.compare import _Walk, compare
from trainer.charts.cubes import meet
from trainer.charts.explore import explore
from trainer.charts.installation import Installation, OptionValue
from trainer.charts.joint import join
from trainer.charts.machine import AUTOMATIC, ModeMachine
from trainer.charts.meetings import meetings
from trainer.charts.shown import shown
from trainer.charts.specialise import specialise
from trainer.charts.table import Leaf

# Fewer modes fitted: the same logic with a smaller product, so that many pairs can be walked.
SMALL = {
    "level_recovery": "not_fitted",
    "underspeed_protection": "not_fitted",
    "overspeed_protection": "not_fitted",
    "airspeed_hold": "not_fitted",
}

# Options that decide nothing on the strip unless another option is chosen so.
MOOT_UNLESS = {
    "hand_steering_release": ("hand_steering", "fitted"),
    "level_recovery_below_minimum_height": ("level_recovery", "fitted"),
}
# Options of how it flies: reported as a value, never as a situation.
FLIGHT_ONLY = {"capture_law", "level_recovery_pitch"}


def variant(base: Installation, **choices: str) -> Installation:
    options = dict(base.options)
    for name, choice in choices.items():
        options[name] = OptionValue(name, choice)
    chart = specialise(base.generic, {name: value.choice for name, value in options.items()})
    return replace(base, options=options, chart=chart)


def with_limit(base: Installation, name: str, value: float) -> Installation:
    limits = dict(base.limits)
    limits[name] = replace(limits[name], value=value)
    return replace(base, limits=limits)


@pytest.fixture(scope="module")
def small() -> Installation:
    return variant(workspace().installation("ship_amber"), **SMALL)


def test_an_installation_equals_itself_and_says_how_much_was_compared(small):
    found = compare(small, small)
    assert found.is_complete
    assert (found.differences, found.values) == ([], [])
    assert found.states > 200
    assert found.transitions > 10_000


def test_a_different_limit_is_found_where_it_matters_and_only_there():
    ship = quiet_ship()
    found = compare(ship, with_limit(ship, "minimum_engagement_height_ft", 1000))
    assert found.differences
    assert {one.causes for one in found.differences} == {("limit:minimum_engagement_height_ft",)}
    assert {one.event for one in found.differences} == {"autopilot"}
    assert {one.second.refusal for one in found.differences} == {"too_low_to_engage"}
    signals = found.signals
    for one in found.differences:
        first = signals.index("engagement_height_reached")
        second = signals.index("engagement_height_reached@second")
        assert one.cube[0] >> first & 1, "above the lower minimum"
        assert one.cube[1] >> second & 1, "below the higher one"


@pytest.mark.long
def test_a_limit_that_only_changes_how_it_flies_is_a_value(small):
    found = compare(small, with_limit(small, "bank_limit_deg", 25))
    assert found.differences == []
    assert [(one.cause, one.first, one.second) for one in found.values] == [
        ("limit:bank_limit_deg", "22 deg", "25 deg")
    ]


def test_the_shortest_way_leads_to_the_difference_on_the_machines_themselves():
    """Replayed on the real machines, the path ends where only the last step differs."""
    small = quiet_ship()
    other = quiet_ship("other", selected_altitude_in_capture="keeps_first_altitude")
    found = compare(small, other)
    assert found.differences
    for one in found.differences:
        for installation, side in ((small, one.first), (other, one.second)):
            machine = ModeMachine(installation.chart)
            configuration = machine.initial
            for move in one.path:
                configuration = _send(machine, configuration, move.event, move.cube[0])
            end = _send(machine, configuration, one.event, one.cube[0])
            states = dict(zip(machine.region_ids, end, strict=True))
            assert {r: states[r] for r, _ in side.shown if r in states} == {
                r: s for r, s in side.shown if r in states
            }


def _send(machine: ModeMachine, configuration, event: str, bits: int):
    if event == AUTOMATIC:
        return machine.settle(configuration, bits).configuration
    is_selector = machine.chart.events[event].kind == "selector"
    return machine.send(configuration, bits, event, settle_first=not is_selector).configuration


def test_settings_taken_from_the_other_ship_make_them_alike(small):
    other = with_limit(variant(small, go_around_autopilot="disconnects"), "underspeed_kt", 80)
    settings = differing_settings(small, other)
    assert settings == ("option:go_around_autopilot", "limit:underspeed_kt")
    assert differing_settings(small, with_settings(other, small, settings)) == ()


@pytest.mark.long
def test_two_settings_that_differ_are_told_apart():
    """Each difference named for one setting is found too where only that setting differs."""
    base = variant(workspace().installation("ship_amber"), **SMALL | {
        "underspeed_protection": "climb_modes"})  # fmt: skip
    other = with_limit(variant(base, active_key_again="ignored"), "underspeed_kt", 80)
    found = {_kind(one): one.causes for one in compare(base, other).differences}
    settings = differing_settings(base, other)
    assert {(one,) for one in settings} <= set(found.values())
    for setting in settings:
        alone = compare(base, with_settings(base, other, (setting,))).differences
        assert {_kind(one) for one in alone} >= {
            kind for kind, causes in found.items() if causes == (setting,)
        }


def _kind(one):
    return one.event, one.contrast, one.first.refusal, one.second.refusal


@pytest.mark.long
def test_every_strip_that_both_can_show_is_compared():
    """Each ship explored by itself: whatever strip both reach, the walk has compared there."""
    first, second = (workspace().installation(ship) for ship in ("ship_amber", "ship_slate"))
    reached = [
        {shown(ship.chart, ship.generic, c) for c in explore(ModeMachine(ship.chart)).settled}
        for ship in (first, second)
    ]
    walk = _Walk(first, second, join(first, second))
    walk.run(None)
    compared = {shown(first.chart, first.generic, pair[0]) for pair in walk._parents}
    assert reached[0] & reached[1] <= compared


def test_meetings_are_those_of_every_pair_looked_at():
    generator = random.Random(3)

    def leaf() -> Leaf:
        true, false = generator.getrandbits(40), generator.getrandbits(40)
        sparse = generator.getrandbits(40) & generator.getrandbits(40)
        return Leaf((true & sparse, false & sparse & ~true), (), (), 0)

    for size in (3, 40):
        mine, theirs = [leaf() for _ in range(size)], [leaf() for _ in range(size + 1)]
        wanted = [
            (cube, one, other)
            for one in mine
            for other in theirs
            if (cube := meet(one.cube, other.cube)) is not None
        ]
        assert meetings(mine, theirs) == wanted


def planted_pairs(count: int, seed: int) -> list:
    """Random installations, each with a twin that differs in one option only."""
    generator = random.Random(seed)
    base = workspace().installation("ship_amber")
    names = list(base.generic.options)
    pairs = []
    for number in range(count):
        planted = names[number % len(names)]
        choices = {
            name: generator.choice(list(spec.choices))
            for name, spec in base.generic.options.items()
        }
        choices |= SMALL
        choices["hand_steering"] = "not_fitted"
        choices["back_course"] = "not_fitted"
        if planted in MOOT_UNLESS:
            needed, choice = MOOT_UNLESS[planted]
            choices[needed] = choice
        others = [c for c in base.generic.options[planted].choices if c != choices[planted]]
        twin = {**choices, planted: generator.choice(others)}
        pairs.append((planted, variant(base, **choices), variant(base, **twin)))
    return pairs


def check_pair(planted: str, first: Installation, second: Installation) -> None:
    found = compare(first, second)
    named = {cause for one in found.differences for cause in one.causes}
    cause = f"option:{planted}"
    fitted = {value.cause for value in found.values if value.cause.startswith("fitted:")}
    assert cause in {value.cause for value in found.values}
    assert named <= {cause}, f"invented: {named - {cause}}"
    if planted not in FLIGHT_ONLY and not fitted:
        # Two choices may differ only in what is flown to: the strip reads the same, and it says so.
        assert found.differences or found.unseen, f"{planted} not found"


@pytest.mark.long
@pytest.mark.parametrize("block", range(20))
def test_two_hundred_planted_differences_are_found_and_none_invented(block):
    for planted, first, second in planted_pairs(200, seed=11)[block::20]:
        check_pair(planted, first, second)
