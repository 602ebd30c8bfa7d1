"""Differences as flown: both ships fly every example, and causes are the planted ones."""

import pytest

from tests.helpers.differences import PLANTED, alike, planted, shipped
from tests.helpers.flown import verify_flown
from trainer.assessment.differences.differences import (
    cause_words,
    consequence,
    is_coincidence,
)
from trainer.assessment.differences.differences_flight import key_of
from trainer.assessment.differences.differences_scenes import between_limits, scenes_for_both
from trainer.assessment.items.item import fly_to
from trainer.charts.kernel import AUTOMATIC

CAUSES = {*(f"option:{name}" for name in PLANTED), "limit:minimum_engagement_height_ft"}


def test_every_planted_cause_is_found_grouped_and_flown_and_no_other():
    pair = planted()
    assert {cause for group in pair.groups for cause in group.causes} == CAUSES
    for group in pair.groups:
        assert group.flown, f"{group.causes} has no flight"


def test_ships_that_are_alike_have_no_difference_and_nothing_to_fly():
    pair = alike()
    assert pair.found.is_complete
    assert pair.found.transitions > 1000
    assert (pair.found.differences, pair.found.values, pair.flown, pair.groups) == ([], [], (), ())


def test_each_example_flies_again_in_both_ships_and_shows_the_difference():
    pair = planted()
    assert len(pair.flown) >= len(CAUSES)
    for one in pair.flown:
        place = one.situation.id
        assert verify_flown(one, pair.first, pair.second), place
        is_refused_alike = one.first.refusal_id == one.second.refusal_id
        assert one.first.after != one.second.after or not is_refused_alike, place


def test_an_example_is_of_the_kind_that_it_stands_for():
    for one in planted().flown:
        kind = one.difference
        assert (one.first.refusal_id, one.second.refusal_id) == (
            kind.first.refusal, kind.second.refusal,
        )  # fmt: skip
        pressed = one.stimulus.key if one.stimulus.kind == "after_key" else ""
        assert kind.event in (pressed, AUTOMATIC, "selected_altitude_changed")
        for region, mine, theirs in kind.contrast:
            if region in ("lateral", "vertical", "engagement"):
                cell = region if region == "engagement" else f"{region}_active"
                assert (one.first.after.cell(cell), one.second.after.cell(cell)) == (mine, theirs)


def test_groups_are_in_order_of_consequence_and_then_of_how_often():
    groups = planted().groups
    order = [(-group.consequence, -group.per_hundred_flights) for group in groups]
    assert order == sorted(order)
    by_cause = {group.causes[0]: group for group in groups}
    assert by_cause["option:go_around_autopilot"].consequence == 5
    assert by_cause["limit:minimum_engagement_height_ft"].consequence == 5
    assert by_cause["option:selected_altitude_in_capture"].consequence == 3
    assert by_cause["option:director_key_with_autopilot"].consequence == 2


def test_a_refusal_for_another_reason_only_is_least():
    reasons = [
        one for one in planted().found.differences if one.first.refusal and one.second.refusal
    ]
    assert reasons
    assert {consequence(one) for one in reasons} == {1}


def test_two_differences_at_once_are_a_coincidence_and_single_ones_are_not():
    found = planted().found.differences
    for one in found:
        if len(one.causes) == 1:
            assert not is_coincidence(one, found)


def test_words_of_a_cause_are_the_charts():
    first, second = planted().first.logic.installation, planted().second.logic.installation
    words = cause_words("option:go_around_autopilot", first, second)
    assert words[0].startswith("Does the autopilot stay engaged at go-around")
    assert words[1:] == ("It stays engaged and flies the go-around.",
                         "It disconnects; the pilot flies the cue.")  # fmt: skip
    limit = cause_words("limit:minimum_engagement_height_ft", first, second)
    assert limit[1:] == ("800 ft", "1000 ft")


def test_scenes_between_limits_lie_between_them():
    pair = planted()
    ships = pair.first.logic.installation, pair.second.logic.installation
    made = {scene.id: scene for scene in between_limits(*ships)}
    start = made["between_engagement_heights"].start
    height_ft = start.initial.altitude_ft - start.environment.ground_elevation_ft
    assert 800 < height_ft < 1000
    starts = [scene.start for scene in scenes_for_both(*ships)]
    assert len(starts) == len(set(starts))


@pytest.mark.long
def test_the_shipped_ships_every_group_has_a_flight_that_flies_again():
    pair = shipped()
    assert {cause for group in pair.groups for cause in group.causes} >= {
        "option:go_around_autopilot", "option:vertical_key_on_glidepath",
        "limit:minimum_use_height_ft", "limit:underspeed_kt",
    }  # fmt: skip
    for group in pair.groups:
        assert group.flown, group.causes
    for one in pair.flown:
        assert verify_flown(one, pair.first, pair.second), key_of(one.difference)
        sessions = [fly_to(one.situation, ship.begin) for ship in (pair.first, pair.second)]
        assert sessions[0].annunciation == sessions[1].annunciation == one.before
