"""What is left of the generic chart under a choice of options."""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from itertools import combinations

import pytest

from tests.helpers.charts import chosen_options, default_options, generic_chart
from trainer.assessment.wrong_rules.library import load_folder
from trainer.assessment.wrong_rules.misconception import apply
from trainer.charts.conflicts import check_conflicts
from trainer.charts.guard import regions_in, signals_in
from trainer.charts.installation import load_installation
from trainer.charts.kernel import UnknownEventError
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, Signal
from trainer.charts.specialise import needs_met, simplify, specialise
from trainer.errors import TrainerError
from trainer.resources import resource_folder

SINGLE_CHANGES = [
    pytest.param({option.id: choice}, id=f"{option.id}={choice}")
    for option in generic_chart().options.values()
    for choice in option.choices
    if choice != option.default
]


def _special(chosen: dict[str, str]) -> ChartSpec:
    return specialise(generic_chart(), chosen_options(generic_chart(), chosen))


def _states_in(guard: Guard) -> set[tuple[str, str]]:
    match guard:
        case In(region, states):
            return {(region, state) for state in states}
        case Not(part):
            return _states_in(part)
        case All(parts) | Any(parts):
            return {pair for part in parts for pair in _states_in(part)}
        case _:
            return set()


def _check_consistent(chart: ChartSpec) -> None:
    """Nothing refers to what isn't fitted, so the machine needs no options any more."""
    fitted = {(r.id, state) for r in chart.regions.values() for state in r.states}
    for region in chart.regions.values():
        assert region.initial in region.states
    for rule in chart.rules.values():
        region = chart.regions[rule.region]
        assert {*rule.sources, rule.target} <= set(region.states)
        assert set(rule.events) <= set(chart.events)
    for refusal in chart.refusals.values():
        assert refusal.events
        assert set(refusal.events) <= set(chart.events)
    guards = [one.guard for one in (*chart.rules.values(), *chart.refusals.values())]
    guards += [part for one in chart.invariants.values() for part in (one.if_, one.then)]
    guards += list(chart.conditions.values())
    for guard in guards:
        assert signals_in(guard) <= set(chart.signals)
        assert regions_in(guard) <= set(chart.regions)
        assert _states_in(guard) <= fitted


@pytest.mark.parametrize("chosen", [pytest.param({}, id="default"), *SINGLE_CHANGES])
def test_every_single_choice_gives_a_chart_that_runs(chosen: dict[str, str]) -> None:
    chart = _special(chosen)
    _check_consistent(chart)
    machine = ModeMachine(chart)
    healthy = machine.bits(["self_test_passed", "electrical_ok", "attitude_valid"])
    ready = machine.settle(machine.initial, healthy).configuration
    for event in chart.events:
        machine.send(ready, healthy, event)


def test_pairs_of_choices_give_a_chart_that_is_whole() -> None:
    changes = [next(iter(one.values[0].items())) for one in SINGLE_CHANGES]
    for (name, choice), (other, second) in list(combinations(changes, 2))[::4]:
        if name != other:
            _check_consistent(_special({name: choice, other: second}))


@pytest.mark.parametrize(
    "chosen",
    [{"back_course": "fitted", "hand_steering": "fitted", "altitude_arming": "by_key"},
     {"level_recovery": "not_fitted", "airspeed_hold": "not_fitted"}],
)  # fmt: skip
def test_a_specialised_chart_has_no_conflicts_either(chosen: dict[str, str]) -> None:
    check_conflicts(_special(chosen))


def test_what_isnt_fitted_is_gone() -> None:
    chart = _special({"level_recovery": "not_fitted", "airspeed_hold": "not_fitted"})
    assert "level" not in chart.regions["lateral"].states
    assert {"level", "airspeed_hold"}.isdisjoint(chart.regions["vertical"].states)
    assert {"level_recovery", "airspeed_hold", "back_course"}.isdisjoint(chart.events)
    assert {"back_course_arm", "hand_steering", "cue"}.isdisjoint(chart.regions)
    machine = ModeMachine(chart)
    with pytest.raises(UnknownEventError, match="accepted: altitude_hold"):
        machine.send(machine.initial, 0, "level_recovery")
    with pytest.raises(TrainerError, match="no state 'level' in region 'lateral'"):
        machine.configuration({"lateral": "level"})


def test_the_generic_chart_itself_is_not_changed() -> None:
    before = {name: rule.sources for name, rule in generic_chart().rules.items()}
    _special({"level_recovery": "not_fitted"})
    assert {name: rule.sources for name, rule in generic_chart().rules.items()} == before


def test_every_rule_belongs_to_some_installation() -> None:
    chart = generic_chart()
    kept = set(specialise(chart, default_options(chart)).rules)
    for one in SINGLE_CHANGES:
        kept |= set(_special(one.values[0]).rules)
    pairs = {"back_course": "fitted", "active_key_again": "default_mode", "hand_steering": "fitted",
             "altitude_arming": "by_key"}  # fmt: skip
    kept |= set(_special(pairs).rules)
    assert kept == set(chart.rules)


def test_needs_are_met_when_every_option_is_an_accepted_choice() -> None:
    options = {"a": "x", "b": "y"}
    assert needs_met((), options)
    assert needs_met((("a", ("x", "z")), ("b", ("y",))), options)
    assert not needs_met((("a", ("x",)), ("b", ("z",))), options)


LEVEL = In("lateral", frozenset({"level"}))
CUE = In("cue", frozenset({"hidden"}))
SHOWN = In("cue", frozenset({"shown"}))
HEADING = In("lateral", frozenset({"heading_select", "level"}))
SERVO = Signal("servo_ok")


@pytest.mark.parametrize(
    ("guard", "left"),
    [
        (LEVEL, Any()),
        (Not(LEVEL), All()),
        (HEADING, In("lateral", frozenset({"heading_select"}))),
        (CUE, Any()),
        (SHOWN, All()),
        (Not(CUE), All()),
        (All((SERVO, Not(LEVEL))), SERVO),
        (All((SERVO, LEVEL)), Any()),
        (Any((SERVO, LEVEL)), SERVO),
        (Any((SERVO, SHOWN)), All()),
        (Not(All((SERVO, Not(CUE)))), Not(SERVO)),
        (All((SHOWN, Not(LEVEL))), All()),
        (Any((CUE, LEVEL)), Any()),
        (All((SERVO, Any((LEVEL, Signal("attitude_valid"))))),
         All((SERVO, Signal("attitude_valid")))),
        (In("alert", frozenset(generic_chart().regions["alert"].states)), All()),
    ],
)  # fmt: skip
def test_a_guard_keeps_only_what_can_still_be_decided(guard: Guard, left: Guard) -> None:
    chart = generic_chart()
    regions = _special({"level_recovery": "not_fitted"}).regions
    assert simplify(guard, regions, chart) == left


@pytest.mark.parametrize("name", ["ship_amber", "ship_slate"])
def test_what_a_patched_chart_shares_may_be_taken_from_the_other(name: str) -> None:
    charts = resource_folder("statecharts")
    ship = load_installation(charts / "installations" / f"{name}.yaml", charts)
    options = {value.id: value.choice for value in ship.options.values()}
    like = (ship.generic, ship.chart)
    assert specialise(ship.generic, options, like) == ship.chart
    for held in load_folder(charts, ship.generic):
        patched = reduce(apply, held.operations, ship.generic)
        anew, quick = specialise(patched, options), specialise(patched, options, like)
        assert quick == anew
        for part in ("rules", "refusals", "events", "regions", "conditions", "invariants"):
            assert list(getattr(quick, part)) == list(getattr(anew, part))
    shared = [rule for rule in quick.rules.values() if rule is ship.chart.rules.get(rule.id)]
    assert len(shared) > 100


def test_nothing_is_taken_from_a_chart_of_other_regions() -> None:
    generic = generic_chart()
    options = default_options(generic)
    truth = specialise(generic, options)
    name, region = next(iter(generic.regions.items()))
    other = replace(generic, regions=generic.regions | {name: replace(region, label="Other")})
    assert specialise(other, options, (generic, truth)) == specialise(other, options)
