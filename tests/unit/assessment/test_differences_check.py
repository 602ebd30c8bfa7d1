"""The differences check: items flown, habits found in simulated members, seeded."""

from functools import cache

import pytest

from tests.helpers.differences import Studied, alike, planted, profile, shipped
from trainer.assessment.diagnosis.diagnosis import Declared
from trainer.assessment.differences.differences_check import (
    DifferencesCheck,
    build_check,
    habit_of,
    judge,
)
from trainer.assessment.differences.differences_flight import fly_differences
from trainer.assessment.differences.differences_habit import foreseen_by_habit
from trainer.assessment.differences.differences_simulation import simulate
from trainer.assessment.items.item import fly_to, verify
from trainer.lesson.spec import Predict
from trainer.session.situation import StartModes

MEMBERS = 400
LEAST = 0.95


@cache
def check_of(study) -> DifferencesCheck:
    pair: Studied = study()
    flown = fly_differences(pair.found, pair.first, pair.second, profile().likeliness, examples=3)
    return build_check(pair.groups, flown, pair.first, pair.second)


def test_every_cause_is_asked_twice_and_habits_come_first_by_consequence():
    check, groups = check_of(planted), planted().groups
    habits = [habit_of(group.causes) for group in groups]
    assert check.untested == ()
    asked = [next(iter(item.answers), "") for item in check.items]
    assert asked[: 2 * len(habits)] == [*habits, *habits]
    assert asked[2 * len(habits) :] == [""] * (len(check.items) - 2 * len(habits))
    assert len(check.items) > 2 * len(habits), "some items on which both ships agree"
    assert len({item.id for item in check.items}) == len(check.items)


@pytest.mark.parametrize("place", range(13))
def test_each_item_flies_as_it_says_and_the_habit_errs_where_it_should(place):
    pair, check = planted(), check_of(planted)
    item = check.items[place]
    verify(item, pair.second.begin)
    other = fly_to(item.situation, pair.first.begin)
    if item.stimulus.kind == "key":
        # Not computed in the other ship's flight but flown in the ship that is known.
        other.press(item.stimulus.key)
        wrong = next(iter(item.answers.values()), item.true)
        assert other.annunciation == wrong
    assert item.competency
    for answer in item.answers.values():
        assert answer != item.true


def test_ships_that_are_alike_need_no_check():
    check = check_of(alike)
    assert (check.items, check.habits, check.untested) == ((), (), ())


def test_the_likelihood_of_one_answer_worked_by_hand():
    # Even odds, noise 0.1 over 30 strips: one habit's answer makes 0.9 / (0.1 / 30) = 270 to 1.
    check = check_of(planted)
    first = check.items[0]
    habit, wrong = next(iter(first.answers.items()))
    found = {one.habit: one for one in judge(check, [wrong], Declared(noise=0.1, alternatives=30))}
    assert found[habit].probability == pytest.approx(270 / 271)
    assert found[habit].fitting == (first.id,)
    right = {
        one.habit: one for one in judge(check, [first.true], Declared(noise=0.1, alternatives=30))
    }
    assert right[habit].probability == pytest.approx(1 / 271)
    assert {one.probability for name, one in found.items() if name != habit} == {0.5}


def test_members_who_carry_habits_are_found_and_others_are_not():
    found = simulate(check_of(planted), MEMBERS, seed=20)
    assert found.all_habits.value - 2 * found.all_habits.error >= LEAST
    for habit, share in found.each_habit.items():
        assert share.value >= LEAST, (habit, share)
    assert found.false_alarms.value <= 0.05


def test_the_same_seed_gives_the_same_members():
    check = check_of(planted)
    assert simulate(check, 50, seed=3) == simulate(check, 50, seed=3)
    assert simulate(check, 50, seed=3) != simulate(check, 50, seed=4)


def test_a_habit_foresees_nothing_where_its_ship_has_no_such_strip():
    pair = planted()
    modes = StartModes("autopilot", "heading_select", "altitude_hold")
    scene = next(one for one in pair.flown if one.difference.event == "director").situation
    session = pair.second.begin(scene.start)
    assert session.annunciation.engagement == modes.engagement
    session.press("director")
    assert session.annunciation.engagement == "autopilot_cue_hidden"
    asked = Predict("after_key", "heading_select", 0.0)
    assert foreseen_by_habit(pair.first.logic, session, asked) is None
    before = session.configuration, session.bits, session.t_s
    foreseen_by_habit(pair.second.logic, session, asked)
    assert (session.configuration, session.bits, session.t_s) == before


@pytest.mark.long
def test_habits_of_the_shipped_ship_are_found_in_members_of_the_other():
    found = simulate(check_of(shipped), 1000, seed=20)
    assert found.all_habits.value - 2 * found.all_habits.error >= LEAST
    assert len(found.each_habit) >= 9
    for habit, share in found.each_habit.items():
        assert share.value - 2 * share.error >= LEAST, (habit, share)
    assert found.false_alarms.value <= 0.05
