"""The declared flight profile: read with its lines, and weights worked by hand."""

from pathlib import Path

import pytest

from tests.helpers.differences import with_limit
from tests.helpers.planted import SMALL, variant
from tests.helpers.situations import workspace
from trainer.charts.compare import Difference, Side
from trainer.charts.flight_profile import FILE_NAME, load_profile
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.shown import shown
from trainer.errors import FileError

PROFILE = """
format: flight_profile/1
title: Two phases
phases:
  low:
    label: Low
    states: {engagement: {director: 0.5, autopilot: 0.5}}
    events: {autopilot: 2}
    changes: {underspeed_reached: 0.1}
    ranges: {height_ft: {low: 0, high: 2000}}
  high:
    label: High
    states: {engagement: {director: 1}}
    events: {autopilot: 1}
    ranges: {height_ft: {low: 3000, high: 5000}}
"""


@pytest.fixture(scope="module")
def ships():
    base = variant(workspace().installation("ship_amber"), **SMALL)
    return base, with_limit(base, "minimum_engagement_height_ft", 1000)


def difference(ship, event, first, second, engagement="director"):
    machine_order = dict.fromkeys(ship.chart.regions, "")
    states = {name: ship.chart.regions[name].initial for name in machine_order}
    states["engagement"] = engagement
    before = shown(ship.chart, ship.generic, tuple(states.values()))
    return Difference((), event, before, ((), ()), (0, 0), first, second, (), (before,))


def profile_of(tmp_path: Path, text: str):
    path = tmp_path / "profile.yaml"
    path.write_text(text)
    return load_profile(path, workspace().installation("ship_amber").generic)


def test_a_refusal_between_two_heights_counts_the_height_in_between(tmp_path, ships):
    # 200 of 2,000 ft lie between 800 and 1,000; half the phase is flown with the director:
    # 2 presses x 0.5 x 0.1 = 0.1 in a flight, 10 in a hundred; above 3,000 ft it never matters.
    refused = Side((), (), "too_low_to_engage")
    one = difference(ships[0], "autopilot", Side((), ("autopilot_engages",), ""), refused)
    assert profile_of(tmp_path, PROFILE).per_hundred_flights(one, *ships) == pytest.approx(10.0)


def test_what_comes_by_itself_comes_as_often_as_its_rarest_signal(tmp_path, ships):
    rule = next(r for r in ships[0].generic.rules.values() if r.id == "underspeed_begins")
    one = difference(ships[0], AUTOMATIC, Side((), (rule.id,), ""), Side((), (), ""), "autopilot")
    other = with_limit(ships[0], "underspeed_kt", 80)
    # 0.1 changes x 0.5 of the phase with the autopilot; no range of airspeed is declared.
    found = profile_of(tmp_path, PROFILE).per_hundred_flights(one, ships[0], other)
    assert found == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("old", "new", "line", "found"),
    [
        ("director: 0.5", "director: 0.7", 7, "add up to 1.2"),
        ("autopilot: 2}", "autopilots: 2}", 8, "'autopilots'"),
        ("low: 0, high: 2000", "low: 3000, high: 2000", 10, "not below"),
        ("height_ft", "heigth_ft", 10, "'heigth_ft'"),
        ("underspeed_reached", "underspeed_reeched", 9, "'underspeed_reeched'"),
        ("engagement:", "engagements:", 7, "'engagements'"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path, old, new, line, found):
    with pytest.raises(FileError) as caught:
        profile_of(tmp_path, PROFILE.replace(old, new, 1))
    problem = caught.value.problems[0]
    assert (problem.line, found in problem.found) == (line, True), problem


def test_the_shipped_profile_loads_and_names_every_event_of_the_pilot():
    generic = workspace().installation("ship_amber").generic
    profile = load_profile(workspace().charts_folder / FILE_NAME, generic)
    named = {event for phase in profile.phases for event in phase.events}
    assert {"autopilot", "disconnect", "go_around", "approach", "course_track"} <= named
    for phase in profile.phases:
        for region, shares in phase.states.items():
            assert sum(shares.values()) == pytest.approx(1.0), (phase.id, region)
