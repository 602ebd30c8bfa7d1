"""Two installations compared: identical ones give nothing, a planted difference is found."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from tests.helpers.differences import FITTED, quiet_ship
from tests.helpers.planted import (
    SMALL,
    PlantedPair,
    judged,
    parting_of,
    partings_met,
    planted_pairs,
    variant,
)
from tests.helpers.situations import workspace
from trainer.charts.causes import differing_settings, with_settings
from trainer.charts.compare import _Walk, compare
from trainer.charts.cubes import meet
from trainer.charts.explore import explore
from trainer.charts.installation import Installation
from trainer.charts.joint import join
from trainer.charts.kernel import AUTOMATIC, Kernel
from trainer.charts.machine import ModeMachine
from trainer.charts.shown import shown
from trainer.charts.symbolic import Symbolic, Ways, met_by

# Options of how it flies: reported as a value, never as a situation.
FLIGHT_ONLY = {"capture_law", "level_recovery_pitch"}
# Options that act without approaches, courses and faults.
IN_THE_SMALL_CHART = (
    "director_key_with_autopilot", "autopilot_key_when_engaged", "disconnect_leaves",
    "active_key_again", "keys_with_guidance_off", "altitude_arming",
    "selected_altitude_in_capture", "reference_in_altitude_capture", "reference_in_altitude_hold",
    "go_around_autopilot", "leaving_go_around",
)  # fmt: skip


def with_limit(base: Installation, name: str, value: float) -> Installation:
    limits = dict(base.limits)
    limits[name] = replace(limits[name], value=value)
    return replace(base, limits=limits)


def small_ship() -> Installation:
    return variant(workspace().installation("ship_amber"), **SMALL)


@pytest.fixture(scope="module")
def small() -> Installation:
    return small_ship()


@pytest.mark.parametrize(
    ("made", "states", "transitions"),
    [
        pytest.param(quiet_ship, 100, 4_000, id="quiet"),
        pytest.param(small_ship, 200, 10_000, id="small", marks=pytest.mark.long),
    ],
)
def test_an_installation_equals_itself_and_says_how_much_was_compared(made, states, transitions):
    ship = made()
    found = compare(ship, ship)
    assert found.is_complete
    assert (found.differences, found.values) == ([], [])
    assert found.states > states
    assert found.transitions > transitions


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
        {shown(ship.chart, ship.generic, c) for c in explore(Kernel(ship.chart)).settled}
        for ship in (first, second)
    ]
    walk = _Walk(first, second, join(first, second))
    walk.run(None)
    compared = {shown(first.chart, first.generic, pair[0]) for pair in walk._parents}
    assert reached[0] & reached[1] <= compared


@pytest.mark.parametrize("event", [AUTOMATIC, "heading_select", "approach", "autopilot"])
def test_meetings_are_those_of_every_pair_of_ends_looked_at(event):
    ships = [workspace().installation(ship) for ship in ("ship_amber", "ship_slate")]
    joint = join(*ships)
    sides = [Symbolic(joint.first), Symbolic(joint.second)]

    def led(side: Symbolic, ways: Ways) -> Ways:
        return side.settle(ways) if event == AUTOMATIC else side.send(event, ways, at_rest=False)

    places = np.array([sides[1].place(joint.second.initial)])
    starts = [sides[0].start([joint.first.initial]), sides[1].start_at(places)]
    ends = [led(side, start) for side, start in zip(sides, starts, strict=True)]
    wanted = {
        (cube, _end(sides[0], ends[0], one), _end(sides[1], ends[1], other))
        for one in range(len(ends[0]))
        for other in range(len(ends[1]))
        if (cube := meet(ends[0].cube(one), ends[1].cube(other))) is not None
    }
    met = met_by(places, ends[0], lambda ways: led(sides[1], ways))
    rows = range(len(met.mine))
    found = [
        (met.theirs.cube(row), _end(sides[0], met.mine, row), _end(sides[1], met.theirs, row))
        for row in rows
    ]
    assert len(found) == len(wanted) > 10
    # The second ship is led on under the first's cubes, so it may divide them otherwise.
    assert {end[1:] for end in found} == {end[1:] for end in wanted}
    assert all(meet(one[0], other[0]) is None for one, other in combinations(found, 2))
    for cube, *both in found:
        assert any(meet(cube, other) == cube for other, *pair in wanted if pair == both)


def _end(side: Symbolic, ways: Ways, row: int):
    rules = tuple(rule.id for rule in side.rules(int(ways.fired[row])))
    return side.configuration(int(ways.place[row])), rules, int(ways.refusal[row])


def check_pair(pair: PlantedPair, walks: int, steps: int, seed: int) -> None:
    found = judged(pair, compare(pair.first, pair.second), walks, steps, seed)
    assert found.is_named
    assert found.missed == (), "the machines part there, and it isn't reported"
    assert found.invented == (), "reported, and the machines don't part there for that cause"
    if pair.option not in FLIGHT_ONLY | set(FITTED):
        # Two choices may differ only in what is flown to: the strip reads the same, and it says so.
        assert found.kinds or found.unseen or found.fitted, f"{pair.option} not found"


@pytest.mark.parametrize("place", range(len(IN_THE_SMALL_CHART)))
def test_planted_differences_are_found_and_none_invented(place):
    """A sample over the small chart, each option in a random installation."""
    names = IN_THE_SMALL_CHART
    pair = planted_pairs(len(names), 7, quiet_ship(), FITTED, names)[place]
    check_pair(pair, walks=20, steps=40, seed=place)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20))
def test_hundreds_of_planted_differences_in_the_small_chart(seed):
    """Each option in twenty more random installations."""
    names = IN_THE_SMALL_CHART
    for number, pair in enumerate(
        planted_pairs(len(names), 100 + seed, quiet_ship(), FITTED, names)
    ):
        check_pair(pair, walks=40, steps=60, seed=number)


@pytest.mark.long
@pytest.mark.parametrize(
    "block",
    [0, *(pytest.param(block, marks=pytest.mark.half_an_hour) for block in range(1, 20))],
)
def test_two_hundred_planted_differences_are_found_and_none_invented(block):
    for number, pair in list(enumerate(planted_pairs(200, seed=11)))[block::20]:
        check_pair(pair, walks=100, steps=120, seed=number)


def test_a_comparison_that_misses_or_invents_is_caught():
    """The judge itself can fail: a difference left out is missed, one made up is invented."""
    pair = PlantedPair(
        "active_key_again", quiet_ship(), quiet_ship("x", active_key_again="ignored")
    )
    found = compare(pair.first, pair.second)
    assert judged(pair, found, 40, 60, 1).missed == ()
    met = partings_met(pair, 40, 60, 1)
    left = [one for one in found.differences if parting_of(one) not in met]
    assert (
        set(judged(pair, replace(found, differences=left), 40, 60, 1).missed) == set(met) != set()
    )
    twisted = [replace(one, event="go_around") for one in found.differences]
    wrong = judged(pair, replace(found, differences=twisted), 40, 60, 1)
    assert len(wrong.invented) == len(twisted)
