"""What an edit changes, and three ships side by side."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.helpers.differences import planted, quiet_ship, ship_of, with_limit
from tests.helpers.planted import variant
from tests.helpers.situations import workspace
from trainer.assessment.differences.differences_check import build_check
from trainer.assessment.differences.differences_impact import (
    affected_items,
    affected_lesson,
    changed_rules,
    edit_impact,
)
from trainer.assessment.differences.differences_three import PAIRS, three_way
from trainer.charts.causes import changes_logic, differing_settings
from trainer.charts.compare import compare
from trainer.errors import TrainerError
from trainer.lesson.competency import FILE_NAME, load_competencies


@pytest.fixture(scope="module")
def competencies():
    return load_competencies(workspace().charts_folder / FILE_NAME)


def lessons_of(name: str) -> list:
    return [one for one in workspace().lessons() if one.installation == name]


def test_an_edit_that_changes_nothing_affects_nothing(competencies):
    ship = ship_of(quiet_ship())
    found = compare(quiet_ship(), quiet_ship())
    impact = edit_impact(found, (ship, ship), competencies=competencies)
    assert impact.sentence == "This changes nothing."
    assert (impact.groups, impact.lessons, impact.items, impact.rules, impact.competencies) == (
        (), (), (), (), (),
    )  # fmt: skip


@pytest.mark.parametrize("every", [5, pytest.param(1, marks=pytest.mark.long)])
def test_lessons_are_affected_exactly_where_their_answers_change(every):
    """Go-around that disconnects: lessons that press it change, lessons on turns don't."""
    amber = workspace().installation("ship_amber")
    before, after = ship_of(amber), ship_of(variant(amber, go_around_autopilot="disconnects"))
    # Those that are named below, and some of the others.
    named = ("05-turning", "06-climb-and-level", "12-armed-is-not-active", "18-go-around")
    lessons = [
        lesson for number, lesson in enumerate(lessons_of("ship_amber"))
        if lesson.id in named or number % every == 0
    ]  # fmt: skip
    found = {one.lesson: one for lesson in lessons
             if (one := affected_lesson(lesson, before, after))}  # fmt: skip
    assert "18-go-around" in found
    assert found["18-go-around"].prompts or found["18-go-around"].problem
    assert not set(named[:3]) & set(found)
    assert {one.id for one in lessons} >= set(named)
    unchanged = lessons[:6] if every > 1 else lessons
    assert all(affected_lesson(lesson, before, before) is None for lesson in unchanged)


def test_a_lesson_of_another_ship_is_not_affected():
    amber = workspace().installation("ship_amber")
    after = ship_of(variant(amber, active_key_again="ignored"))
    lesson = lessons_of("ship_slate")[0]
    assert affected_lesson(lesson, ship_of(amber), after) is None


def test_a_lesson_that_no_longer_flies_says_why():
    amber = workspace().installation("ship_amber")
    after = ship_of(variant(amber, level_recovery="not_fitted"))
    naming = [
        lesson for lesson in lessons_of("ship_amber")
        if "level_recovery" in Path(lesson.path).read_text("utf-8")
    ]  # fmt: skip
    found = [affected_lesson(lesson, ship_of(amber), after) for lesson in naming]
    assert any("level_recovery" in one.problem for one in found if one)


def test_items_that_fly_otherwise_are_affected_and_others_not():
    pair = planted()
    check = build_check(pair.groups, pair.flown, pair.first, pair.second)
    affected = set(affected_items(check.items, pair.first))
    assert affected == {item.id for item in check.items if item.answers}
    assert affected_items(check.items, pair.second) == ()


def test_rules_of_an_option_and_of_a_limit_change_and_lead_to_their_competencies(competencies):
    before = quiet_ship()
    by_option = changed_rules(before, quiet_ship("x", go_around_autopilot="disconnects"))
    assert set(by_option) == {"go_around_disconnects", "go_around_disconnect_alert"}
    by_limit = changed_rules(before, with_limit(before, "minimum_engagement_height_ft", 900))
    assert "too_low_to_engage" in by_limit
    assert "heading_selected" not in by_limit
    other = quiet_ship("ship_known", go_around_autopilot="disconnects")
    impact = edit_impact(
        compare(before, other), (ship_of(before), ship_of(other)), competencies=competencies
    )
    assert "go_around" in impact.competencies
    assert "vertical_selection" not in impact.competencies
    kinds = sum(len(group.kinds) for group in impact.groups)
    word = "kind" if kinds == 1 else "kinds"
    assert impact.sentence.startswith(f"This changes {kinds} {word} of situation; it affects")


def test_an_edit_of_how_it_flies_is_told_as_that():
    before = quiet_ship()
    other = with_limit(before, "bank_limit_deg", 18)
    impact = edit_impact(compare(before, other), (ship_of(before), ship_of(other)))
    assert "no situation on the strip, only how it flies" in impact.sentence


def test_another_aircraft_under_the_same_logic_is_a_change():
    before = quiet_ship()
    other = replace(before, aircraft="touring_single")
    assert changes_logic(before, other)
    assert not changes_logic(before, replace(before, title="Another name"))
    impact = edit_impact(compare(before, other), (ship_of(before), ship_of(other)))
    assert impact.has_other_aircraft
    assert "only how it flies" in impact.sentence


def test_progress_is_told_for_each_lesson_and_may_end_the_work():
    pair = planted()
    check = build_check(pair.groups, pair.flown, pair.first, pair.second)
    news = []
    edit_impact(pair.found, (pair.second, pair.first), items=check.items, progress=news.append)
    assert news == [f"Flying items again: 0 of {len(check.items)}"]

    def stop(_words):
        raise TrainerError("enough")

    with pytest.raises(TrainerError, match="enough"):
        edit_impact(pair.found, (pair.second, pair.first), items=check.items, progress=stop)


def test_three_ships_side_by_side_name_which_two_agree():
    one = quiet_ship("ship_one")
    two = replace(quiet_ship("ship_two", go_around_autopilot="disconnects"), title="Two")
    three = with_limit(
        quiet_ship("ship_three", go_around_autopilot="disconnects", active_key_again="ignored"),
        "minimum_engagement_height_ft", 1000,
    )  # fmt: skip
    ships = (one, two, three)
    found = [compare(ships[a], ships[b]) for a, b in PAIRS]
    rows = {row.cause: row for row in three_way(ships, found)}
    assert set(rows) == {
        "option:go_around_autopilot", "option:active_key_again",
        "limit:minimum_engagement_height_ft",
    }  # fmt: skip
    assert rows["option:go_around_autopilot"].alike == (1, 2)
    assert rows["option:active_key_again"].alike == (0, 1)
    assert rows["limit:minimum_engagement_height_ft"].values == ("800 ft", "800 ft", "1000 ft")
    for row in rows.values():
        for (a, b), kinds in zip(PAIRS, row.kinds, strict=True):
            assert (kinds > 0) == (row.cause in differing_settings(ships[a], ships[b]))
