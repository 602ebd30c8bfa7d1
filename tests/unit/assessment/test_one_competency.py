"""A rule or refusal has one competency, the chart's: for all who ask for it, in every aircraft."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.helpers.differences import workspace
from tests.helpers.planted import variant
from tests.helpers.small_bank import small_bank
from trainer.assessment.differences.differences_impact import changed_rules, edit_impact
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.item import FlownSituation, Item, Stimulus
from trainer.assessment.items.item_subject import (
    DIRECTOR_ONLY,
    WATCHING,
    competencies_asked,
    competencies_resting_on,
    competency_of,
    critical_group,
    rules_behind,
    telling_rule,
)
from trainer.assessment.wrong_rules.candidate_file import candidate_text, made_from
from trainer.assessment.wrong_rules.candidates import carried_over_rules, forgotten_conditions
from trainer.charts.compare import Comparison
from trainer.charts.installation import Installation
from trainer.charts.loader import read_chart
from trainer.charts.spec import ChartSpec, RefusalSpec, RuleSpec
from trainer.charts.specialise import specialise
from trainer.document import parse_document
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.lesson.generate import named_competencies
from trainer.records.board import BoardFacts, LatestOutcome, build_board, readiness_ended
from trainer.records.board import changed_rules as changed_fingerprints
from trainer.records.fit import fit_requirements
from trainer.records.roster import Aircraft, Member
from trainer.session.annunciation import Annunciation
from trainer.session.logic import Logic
from trainer.session.situation import Start

FITTED = {"hand_steering": "fitted"}
SHIPS = (*workspace().installations, "with_hand_steering")
SELECTION = {"lateral_selection", "vertical_selection"}
EVERYTHING = load_competencies(workspace().charts_folder / FILE_NAME)


def fit_of(name: str) -> Installation:
    """Return an installation, or Amber with a hand steering button."""
    if name == "with_hand_steering":
        return variant(workspace().installation("ship_amber"), **FITTED)
    return workspace().installation(name)


def required(fit: Installation) -> dict[str, dict[str, str]]:
    """Return rules and fingerprints by competency, as a club book takes them."""
    return {
        one.competency_id: dict(one.rules)
        for one in fit_requirements(fit, EVERYTHING.values(), 365)
    }


def question_about(rule: RuleSpec | RefusalSpec, engagement: str) -> Item:
    """Return an item that only this rule answers, asked at some engagement."""
    stimulus = Stimulus("key", rule.events[0]) if rule.events else Stimulus("wait", wait_s=10.0)
    before = Annunciation(engagement=engagement)
    return Item(
        "x", FlownSituation("x", "x", Start()), stimulus, before, before, {}, (rule.id,), "x", "",
        "plain",
    )  # fmt: skip


@pytest.mark.parametrize("ship", SHIPS)
def test_board_expiry_item_and_lesson_say_the_same_of_every_rule(ship: str) -> None:
    fit = fit_of(ship)
    chart = fit.chart
    board = required(fit)
    for name, rule in chart.rules_and_refusals.items():
        own = rule.competency
        # The one exception: a choice by key counts for another while the autopilot is off.
        elsewhere = {DIRECTOR_ONLY} if own in SELECTION and rule.events else set()
        assert {one for one, rules in board.items() if name in rules} == {own} | elsewhere
        assert set(competencies_resting_on(rule)) == {own} | elsewhere
        assert competency_of(question_about(rule, "autopilot"), chart) == own
        assert {competency_of(question_about(rule, "director"), chart)} == (elsewhere or {own})
        assert named_competencies({name: own}, frozenset({name})) == (own,)


@pytest.mark.parametrize("ship", SHIPS)
def test_an_edit_of_any_rule_expires_what_answers_about_it_count_for(ship: str) -> None:
    fit = fit_of(ship)
    before = required(fit)
    for name, rule in fit.chart.rules.items():
        edited = replace(rule, effects=(*rule.effects, "edited"))
        chart = replace(fit.chart, rules={**fit.chart.rules, name: edited})
        after = required(replace(fit, chart=chart))
        expired = {one for one in before if changed_fingerprints(before[one], after[one])}
        counted = {
            competency_of(question_about(rule, at), chart) for at in ("autopilot", "director")
        }
        assert counted <= expired
        assert expired == set(competencies_resting_on(rule))


@pytest.mark.parametrize("ship", workspace().installations)
def test_every_item_counts_for_what_its_telling_rule_expires(ship: str) -> None:
    chart = workspace().installation(ship).chart
    bank = small_bank(ship)
    by_situation = 0
    for item in bank.items:
        assert item.competency in competencies_asked(chart)
        if not item.rules:
            assert item.competency == WATCHING
            continue
        rule = telling_rule(item, chart)
        assert item.competency in competencies_resting_on(rule)
        assert rule.id in rules_behind(item.competency, chart)
        if item.competency != rule.competency:
            by_situation += 1
            assert item.before.engagement == "director"
    assert len(bank.items) > 50
    assert by_situation > 0


@pytest.mark.parametrize("ship", SHIPS)
def test_a_wrong_rule_made_from_a_rule_has_its_competency(ship: str) -> None:
    chart = fit_of(ship).chart
    candidates = (*carried_over_rules(chart), *forgotten_conditions(chart))
    written = YAML(typ="safe", pure=True).load(candidate_text(candidates, chart))
    assert len(written["misconceptions"]) == len(candidates) > 50
    for entry, one in zip(written["misconceptions"], candidates, strict=True):
        assert entry["competency"] == made_from(one, chart).competency


def test_a_rule_carried_into_another_chart_keeps_its_fields() -> None:
    chart = workspace().installation("ship_amber").chart
    for one in carried_over_rules(chart):
        (operation,) = one.operations
        assert operation.rule is not None  # type: ignore[union-attr]
        assert operation.rule.competency == made_from(one, chart).competency  # type: ignore[union-attr]


def test_fitting_hand_steering_and_editing_it_expires_its_competency() -> None:
    plain = workspace().installation("ship_amber")
    fitted = fit_of("with_hand_steering")
    edited = variant(plain, **FITTED, hand_steering_release="keeps_modes")
    for before, after in ((plain, fitted), (fitted, edited)):
        rules = changed_rules(before, after)
        assert rules
        assert all(rule.startswith("hand_steering") for rule in rules)
        old, new = required(before), required(after)
        expired = {name for name in old if changed_fingerprints(old[name], new[name])}
        assert expired == {"engaging_and_disengaging"}
        assert impact_of(before, after) == ("engaging_and_disengaging",)


def test_readiness_does_not_survive_that_hand_steering_is_fitted() -> None:
    now = "2026-03-10T12:00:00Z"
    plain, fitted = (
        fit_requirements(fit_of(name), EVERYTHING.values(), 365)
        for name in ("ship_amber", "with_hand_steering")
    )
    outcomes = {
        (1, one.competency_id): LatestOutcome(1, 1, "ready", now, one.rules, 5, 0, ())
        for one in plain
    }
    facts = BoardFacts(
        Aircraft("a", "Ship Amber", "ship_amber", 1), tuple(plain),
        (Member(1, "Robin Vale", "", None, now, True),), outcomes, {}, {},
    )  # fmt: skip
    assert build_board(facts, now).is_ready(1)
    (ended,) = readiness_ended(facts, fitted, now)
    assert ended.requirement.competency_id == "engaging_and_disengaging"
    assert "hand_steering_held" in ended.rules


def impact_of(before: Installation, after: Installation) -> tuple[str, ...]:
    """Return the competencies that an edit is said to touch, nothing flown or compared for it."""
    ships = tuple(Ship(Logic(fit), lambda start: None) for fit in (before, after))  # type: ignore[arg-type,return-value]
    nothing = Comparison(before.id, after.id, ())
    return edit_impact(nothing, ships, competencies=EVERYTHING).competencies


@pytest.mark.parametrize(("selection", "event"), [("heading_selected", "heading_select"),
                                                  ("pitch_up", "reference_up")])  # fmt: skip
def test_a_choice_with_the_director_alone_counts_by_its_situation(
    selection: str, event: str
) -> None:
    chart = workspace().installation("ship_amber").chart
    rule = chart.rules[selection]
    assert event in rule.events
    assert competency_of(question_about(rule, "director"), chart) == DIRECTOR_ONLY
    assert competency_of(question_about(rule, "autopilot"), chart) == rule.competency
    nothing = replace(question_about(rule, "director"), rules=())
    assert competency_of(nothing, chart) == WATCHING


def test_what_is_noticed_when_nothing_happens_is_required_and_ended_by_no_edit() -> None:
    for ship in SHIPS:
        assert required(fit_of(ship))[WATCHING] == {}


def generic_text() -> str:
    return Path(workspace().charts_folder / "generic.yaml").read_text("utf-8")


def chart_of(text: str) -> ChartSpec:
    options = workspace().installation("ship_amber").options.values()
    choices = {one.id: one.choice for one in options}
    choices |= {"level_recovery_below_minimum_height": "refused"}
    return specialise(read_chart(parse_document(text)), choices)


def test_rewording_a_refusal_changes_nothing_that_is_critical() -> None:
    text = generic_text()
    reworded = text.replace("Below the minimum engagement height", "Too close to the ground")
    reworded = reworded.replace("minimum engagement height", "least clearance").replace(
        "too_low_", "near_ground_"
    )
    assert "too_low_to_engage" not in reworded
    names = {"too_low_to_engage": "near_ground_to_engage",
             "too_low_for_level_recovery": "near_ground_for_level_recovery"}  # fmt: skip
    for old, new in names.items():
        for chart, name in ((chart_of(text), old), (chart_of(reworded), new)):
            item = question_about(chart.refusals[name], "director")
            assert critical_group(item, chart) == "engagement_height"


def test_critical_is_what_the_chart_marks_and_only_where_it_is_asked() -> None:
    text = generic_text()
    chart = chart_of(text)
    off = question_about(chart.rules["quick_disconnect"], "autopilot")
    assert critical_group(off, chart) == "disconnect"
    assert critical_group(replace(off, stimulus=Stimulus("key", "go_around")), chart) == ""
    assert critical_group(replace(off, stimulus=Stimulus("key", "disconnect", then=("director",))),
                          chart) == ""  # fmt: skip
    unmarked = chart_of(text.replace("    critical: disconnect\n", ""))
    assert critical_group(off, unmarked) == ""
    low = question_about(chart.rules["below_minimum_caution"], "autopilot")
    assert critical_group(low, chart) == "minimum_use_height"
    later = replace(low, rules=("altitude_captured", "below_minimum_caution"))
    assert critical_group(later, chart) == ""
