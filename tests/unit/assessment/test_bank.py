"""The item bank: every item can be flown, and its answers are those of the patched chart."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.helpers.flown import flown_answer
from tests.helpers.kept_bank import kept_bank
from trainer.app import Workspace
from trainer.assessment.items.bank import LEAST_OF_A_RULE, Bank, build_bank
from trainer.assessment.items.item import ItemError, fly_to, lesson_of, play, verify
from trainer.assessment.items.scene import scenes
from trainer.assessment.items.situations import flown_situations
from trainer.assessment.wrong_rules.candidates import carried_over_rules, dropped_conditions
from trainer.assessment.wrong_rules.library import Library
from trainer.lesson.runner import LessonRunner


def test_items_can_be_flown_as_they_say(workspace: Workspace, bank: Bank) -> None:
    chance = random.Random(3)
    for item in chance.sample(bank.items, 40):
        verify(item, lambda start: workspace.begin("ship_amber", start))


def test_the_simulator_refuses_a_situation_that_does_not_hold(
    workspace: Workspace, bank: Bank
) -> None:
    item = next(i for i in bank.items if i.stimulus.kind == "wait" and not i.nothing_changes)
    session = fly_to(item.situation, lambda start: workspace.begin("ship_amber", start))
    assert play(item.stimulus, session) == item.true != item.before
    low = next(s for s in scenes(workspace.installation("ship_amber")) if s.id == "low_climb")
    situation = item.situation
    with pytest.raises(ItemError):
        fly_to(
            type(situation)("x", "", low.with_modes(situation.start.modes)),
            lambda start: workspace.begin("ship_amber", start),
        )


def test_answers_of_beliefs_are_flown_answers(
    workspace: Workspace, amber: Library, bank: Bank
) -> None:
    chance = random.Random(11)
    kinds: Counter[str] = Counter()
    for item in chance.sample(bank.items, 80):
        for name, answer in item.answers.items():
            flown = flown_answer(
                item, amber.beliefs[name], amber, lambda s: workspace.begin("ship_amber", s)
            )
            assert flown == answer != item.true, (item.id, name)
            kinds[item.stimulus.kind] += 1
    assert kinds["key"] > 50


def test_malfunctions_are_asked_about_and_answered_by_belief(
    workspace: Workspace, amber: Library, bank: Bank
) -> None:
    items = [item for item in bank.items if item.stimulus.kind == "fault"]
    named = Counter(item.stimulus.name for item in items)
    assert set(named) == {"servo", "navigation", "glidepath"}
    servo = [item for item in items if item.stimulus.name == "servo" and not item.nothing_changes]
    # Common practice: a servo fault takes the autopilot off; the director and its modes stay.
    assert {item.true.engagement for item in servo} == {"director"}
    for item in servo:
        assert item.before.engagement == "autopilot"
        if item.before.lateral.active != "level":
            assert item.true.lateral == item.before.lateral
            assert item.true.vertical == item.before.vertical
        assert item.answers["servo_fault_clears_all"].engagement == "no_guidance"
    for item in random.Random(4).sample(items, 30):
        verify(item, lambda start: workspace.begin("ship_amber", start))
        for name, answer in item.answers.items():
            flown = flown_answer(
                item, amber.beliefs[name], amber, lambda s: workspace.begin("ship_amber", s)
            )
            assert flown == answer != item.true, (item.id, name)


def test_a_belief_left_out_of_an_item_answers_as_the_truth(
    workspace: Workspace, amber: Library, bank: Bank
) -> None:
    chance = random.Random(12)
    for item in chance.sample(bank.items, 6):
        for name in chance.sample(sorted(set(amber.beliefs) - set(item.answers)), 6):
            flown = flown_answer(
                item, amber.beliefs[name], amber, lambda s: workspace.begin("ship_amber", s)
            )
            assert flown == item.true, (item.id, name)


def test_misconceptions_that_no_item_exposes_are_named(amber: Library, bank: Bank) -> None:
    assert set(bank.exposed) | set(bank.unexposed) == set(amber.beliefs)
    assert not set(bank.exposed) & set(bank.unexposed)
    assert len(bank.exposed) >= 50


def test_waits_are_asked_in_each_flight_where_something_comes_by_itself(
    workspace: Workspace, amber: Library
) -> None:
    # To the chart the three are alike at first; what comes of them isn't.
    names = ("level_higher_selected", "near_altitude", "slowing")
    flights = tuple(s for s in scenes(amber.logic.installation) if s.id in names)
    begin = lambda start: workspace.begin("ship_amber", start)  # noqa: E731
    found = build_bank(amber, begin, flights, sequences=0)
    waits = [i for i in found.items if i.stimulus.kind == "wait" and not i.nothing_changes]
    assert {i.situation.id.split("/")[0] for i in waits} == {"near_altitude", "slowing"}
    assert any(i.true.vertical.active == "altitude_capture" for i in waits)
    assert any(i.true.protection == "underspeed" for i in waits)


@pytest.mark.long
def test_however_few_of_a_kind_are_kept_no_rule_is_left_with_few_items(
    workspace: Workspace, amber: Library
) -> None:
    flights = tuple(s for s in scenes(amber.logic.installation) if s.id == "low_climb")
    shown = []
    for most in (1, 999):
        found = build_bank(
            amber, lambda start: workspace.begin("ship_amber", start), flights,
            most_of_a_kind=most, sequences=0,
        )  # fmt: skip
        shown.append(Counter(name for item in found.items for name in item.answers))
    few, all_of_them = shown
    assert few.total() < all_of_them.total()
    assert all(few[name] >= min(LEAST_OF_A_RULE, count) for name, count in all_of_them.items())


def test_kinds_are_one_question_in_several_situations(bank: Bank) -> None:
    for items in bank.kinds.values():
        assert len({item.stimulus.id for item in items}) == 1
        assert len({item.partition for item in items}) == 1
        assert len({item.id for item in items}) == len(items)


def test_critical_items_ask_about_what_is_critical(amber: Library, bank: Bank) -> None:
    """The asked key or wait is what the critical rule answers, not a side effect of another key."""
    chart = amber.logic.installation.chart
    asked: dict[str, set[str]] = {}
    for item in bank.items:
        asked.setdefault(item.critical, set()).add(item.stimulus.id)
        if item.critical == "engagement_height":
            assert item.rules == ("too_low_to_engage",)
        elif item.critical == "minimum_use_height":
            assert chart.rules[item.rules[0]].section == 16
        elif item.critical:
            assert item.stimulus.key == item.critical
    del asked[""]
    assert asked == {
        "disconnect": {"disconnect"}, "level_recovery": {"level_recovery"},
        "engagement_height": {"autopilot"}, "minimum_use_height": {"wait"},
    }  # fmt: skip
    low = [i for i in bank.items if "too_low_to_engage" in i.rules and not i.is_sequence]
    assert all(item.critical == "engagement_height" for item in low)


APPROACHING = (
    "meeting_approach", "below_path", "on_path", "low_on_path", "low_on_path_level_selected",
)  # fmt: skip


def test_the_minimum_use_height_can_be_asked_more_than_twice(bank: Bank) -> None:
    # A check asks for it, and once more after a slip; another check wants others.
    assert sum(item.critical == "minimum_use_height" for item in bank.items) > 2


@pytest.mark.long
@pytest.mark.parametrize("ship", ["ship_amber", "ship_amber_stage_two", "ship_slate"])
def test_in_every_ship_the_minimum_use_height_can_be_asked_more_than_twice(
    workspace: Workspace, ship: str
) -> None:
    library = workspace.library(ship)
    flights = tuple(s for s in scenes(library.logic.installation) if s.id in APPROACHING)
    found = build_bank(library, lambda start: workspace.begin(ship, start), flights, sequences=0)
    assert sum(item.critical == "minimum_use_height" for item in found.items) > 2


def test_some_items_are_about_nothing_happening(bank: Bank) -> None:
    assert sum(item.nothing_changes for item in bank.items) > 20
    assert {item.band for item in bank.items} == {"plain", "middle", "hard"}


@pytest.mark.long
def test_the_same_seed_gives_the_same_bank(workspace: Workspace, amber: Library) -> None:
    flights = tuple(s for s in scenes(amber.logic.installation) if s.id in ("level", "climbing"))
    banks = [
        build_bank(amber, lambda s: workspace.begin("ship_amber", s), flights, seed=9, sequences=30)
        for _ in range(2)
    ]
    assert banks[0].items == banks[1].items


def test_an_item_is_played_as_a_lesson_with_the_same_answer(
    workspace: Workspace, bank: Bank
) -> None:
    chance = random.Random(21)
    keys = [item for item in bank.items if item.stimulus.kind == "key"]
    for item in chance.sample(keys, 5):
        lesson = lesson_of(item, "ship_amber")
        runner = LessonRunner(lesson, lambda item=item: workspace.begin(  # type: ignore[misc]
            "ship_amber", item.situation.start))  # fmt: skip
        while runner.phase != "asking":
            runner.advance(0.5)
        assert runner.session.annunciation == item.before
        runner.commit()
        assert runner.played[-1].after == item.true


def test_candidates_come_from_the_chart_alone(amber: Library, bank: Bank) -> None:
    chart = amber.logic.installation.chart
    made = carried_over_rules(chart)
    library = Library(amber.logic, made)
    assert len(library.beliefs) == len(made) > 40
    machine = amber.logic.machine
    configuration = machine.configuration(
        {"system": "ready", "engagement": "director", "lateral": "roll_hold",
         "vertical": "pitch_hold"}
    )  # fmt: skip
    bits = machine.bits(["electrical_ok", "self_test_passed", "attitude_valid",
                         "course_signal_valid", "source_is_approach"])  # fmt: skip
    direct = library.beliefs["carried_heading_selected_course_track"]
    assert "course_track" in direct.answer(configuration, bits, "course_track")


def test_a_rarely_false_condition_is_dropped(amber: Library) -> None:
    machine = amber.logic.machine
    climb = machine.configuration(
        {"system": "ready", "engagement": "autopilot", "lateral": "roll_hold",
         "vertical": "vertical_speed", "altitude_arm": "armed"}
    )  # fmt: skip
    unarmed = machine.configuration(
        {"system": "ready", "engagement": "autopilot", "lateral": "roll_hold",
         "vertical": "vertical_speed"}
    )  # fmt: skip
    met = [(climb, machine.bits(["altitude_capture_reached"]), "automatic")] * 9
    met.append((unarmed, machine.bits(["altitude_capture_reached"]), "automatic"))
    made = dropped_conditions(amber.logic.installation.chart, met)
    names = {one.id for one in made}
    assert "dropped_altitude_captured_altitude_arm" in names
    # Never false in these occurrences: nobody could have noticed that it matters.
    assert "dropped_altitude_captured_altitude_capture_reached" not in names


@pytest.mark.long
@pytest.mark.parametrize("ship", ["amber", "slate"])
def test_every_item_can_be_flown(
    workspace: Workspace, ship: str, request: pytest.FixtureRequest
) -> None:
    library: Library = request.getfixturevalue(ship)
    name = library.logic.installation.id
    bank = kept_bank(name)
    for item in bank.items:
        verify(item, lambda start: workspace.begin(name, start))
    assert bank.unexposed == ()
    assert set(bank.exposed) == set(library.beliefs)


def test_tuning_something_else_is_asked_while_a_course_is_followed(bank: Bank) -> None:
    """The selector's own rule answers, not the loss of the signal that it brings."""
    turned = [
        item
        for item in bank.items
        if item.stimulus.name == "source" and item.before.lateral.active == "approach_course"
    ]
    assert turned
    for item in turned:
        assert "source_change_drops_course" in item.rules
        assert item.true.alert == item.before.alert
        assert item.true.lateral.active == "roll_hold"


def test_without_calm_scenes_no_signal_is_taken_for_constant(
    workspace: Workspace, amber: Library
) -> None:
    flights = tuple(s for s in scenes(amber.logic.installation) if s.id == "low_climb")
    begin = lambda start: workspace.begin("ship_amber", start)  # noqa: E731
    found = flown_situations(amber.logic, flights, begin, amber.truth)
    active = {one.session.annunciation.vertical.active for one in found}
    assert {"pitch_hold", "vertical_speed", "airspeed_hold"} <= active


def test_what_needs_an_approach_is_asked_only_where_one_is_tuned(workspace: Workspace) -> None:
    some = ("off_course_climbing", *APPROACHING)
    check_approaches(workspace, "ship_amber", some)


@pytest.mark.long
@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_in_no_scene_is_asked_what_needs_an_approach_that_is_not_tuned(
    workspace: Workspace, ship: str
) -> None:
    check_approaches(workspace, ship)


def check_approaches(workspace: Workspace, ship: str, some: tuple[str, ...] = ()) -> None:
    """Hold the situations of some scenes, or of all, to what is tuned in them."""
    logic = workspace.logic(ship)
    library = workspace.library(ship)
    flights = tuple(s for s in scenes(logic.installation) if not some or s.id in some)
    begin = lambda start: workspace.begin(ship, start)  # noqa: E731
    found = flown_situations(logic, flights, begin, library.truth)
    tuned = 0
    for one in found:
        start, shown = one.situation.start, one.session.annunciation
        kind = {s.id: s.kind for s in start.sources}.get(start.selected.source, "none")
        modes = {
            shown.lateral.active, shown.vertical.active,
            *shown.lateral.armed, *shown.vertical.armed,
        }  # fmt: skip
        if modes & {"approach_course", "back_course", "glidepath"}:
            tuned += 1
            assert kind == "approach", one.situation.id
        if "course_track" in modes:
            assert kind != "none", one.situation.id
    assert tuned > 50
