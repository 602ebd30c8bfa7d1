"""Exploration: what is found is all there is, a planted
violation is found by a shortest path, and the shipped installations break no invariant."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from tests.helpers.charts import (
    STATECHARTS,
    generic_chart,
    is_possible,
    machine_for,
)
from tests.unit.charts.small_chart import SMALL
from trainer.charts.cubes import CubeSpace, meet
from trainer.charts.explore import Exploration, Progress, Violation, explore
from trainer.charts.guard import Configuration, evaluate_at, signals_in
from trainer.charts.installation import load_installation
from trainer.charts.kernel import AUTOMATIC, Kernel, UnsettledError
from trainer.charts.loader import read_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, ChartSpec, Not, Signal
from trainer.charts.specialise import specialise
from trainer.document import parse_document

# ------------------------------------------------------------------ what is found is all there is


@cache
def _small() -> ModeMachine:
    chart = read_chart(parse_document(SMALL, "small.yaml"))
    return ModeMachine(specialise(chart, {"key_again": "off"}))


def _only(chart: ChartSpec, events: tuple[str, ...]) -> ChartSpec:
    """Return the chart with no other events, so that an exploration of it is short."""
    rules = {
        rule.id: replace(rule, events=tuple(e for e in rule.events if e in events))
        for rule in chart.rules.values()
        if not rule.events or set(rule.events) & set(events)
    }
    refusals = {
        one.id: replace(one, events=tuple(e for e in one.events if e in events))
        for one in chart.refusals.values()
        if set(one.events) & set(events)
    }
    kept = {name: event for name, event in chart.events.items() if name in events}
    return replace(chart, events=kept, rules=rules, refusals=refusals)


def _brute_force(
    machine: ModeMachine, valuations: list[int]
) -> tuple[set[Configuration], set[tuple[Configuration, str, Configuration, str]]]:
    """Return what the real machine reaches when fired in every valuation: no table, no cubes."""
    settled: set[Configuration] = set()
    edges: set[tuple[Configuration, str, Configuration, str]] = set()
    known = {machine.initial}
    queue = deque(known)
    while queue:
        one = queue.popleft()
        for bits in valuations:
            outcome = machine.settle(one, bits)
            reached = [(AUTOMATIC, outcome, bool(outcome.microsteps))]
            if not outcome.microsteps:
                settled.add(one)
                for event in machine.chart.events:
                    reached.append((event, machine.send(one, bits, event), True))
            for event, found, counts in reached:
                if not counts:
                    continue
                refusal = found.refusal.id if found.refusal else ""
                edges.add((one, event, found.configuration, refusal))
                if found.configuration not in known:
                    known.add(found.configuration)
                    queue.append(found.configuration)
    return settled, edges


def _all_valuations(machine: ModeMachine, names: list[str]) -> list[int]:
    chart = machine.chart
    return [
        machine.bits(true)
        for values in product((False, True), repeat=len(names))
        if is_possible(chart, true := {n for n, v in zip(names, values, strict=True) if v})
    ]


def _found(result: Exploration) -> set[tuple[Configuration, str, Configuration, str]]:
    return {(edge.source, edge.event, edge.target, edge.refusal) for edge in result.edges}


def test_the_small_chart_is_explored_as_by_brute_force() -> None:
    machine = _small()
    settled, edges = _brute_force(machine, _all_valuations(machine, list(machine.signal_bit)))
    result = explore(machine.kernel)
    assert set(result.settled) == settled
    assert _found(result) == edges
    assert result.unreachable_states == ()


@pytest.mark.parametrize(
    "events",
    [("director", "autopilot", "disconnect"), ("director", "vertical_speed", "reference_up")],
)
def test_a_part_of_the_generic_chart_is_explored_as_by_brute_force(
    events: tuple[str, ...],
) -> None:
    chart = _only(machine_for(generic_chart()).chart, events)
    always = {"pitch_allows_engagement", "airspeed_above_lowest", "airspeed_below_highest"}
    free = ["self_test_passed", "electrical_ok", "attitude_valid", "servo_ok"]
    free += ["bank_beyond_disconnect", "engagement_height_reached"]
    if "vertical_speed" in events:
        free = ["self_test_passed", "electrical_ok", "attitude_valid", "underspeed_reached"]
        free += ["altitude_distant", "altitude_capture_reached", "captured_altitude_reached"]
    fixed = _with_fixed(chart, always, set(free))
    machine = ModeMachine(fixed)
    names = [name for name in machine.signal_bit if name in free or name in always]
    fixed_bits = machine.bits(always)
    every = _all_valuations(machine, names)
    valuations = [bits for bits in every if bits & fixed_bits == fixed_bits]
    settled, edges = _brute_force(machine, valuations)
    result = explore(machine.kernel)
    assert set(result.settled) == settled
    assert _found(result) == edges


def _with_fixed(chart: ChartSpec, true: set[str], free: set[str]) -> ChartSpec:
    """Return the chart with every other signal always false, by rules that can't hold otherwise."""

    def fix(guard: object) -> object:
        match guard:
            case Signal(name) if name in true:
                return All()
            case Signal(name) if name not in free:
                return Not(All())
            case Not(part):
                return Not(fix(part))  # type: ignore[arg-type]
            case All(parts):
                return All(tuple(fix(part) for part in parts))  # type: ignore[misc]
            case _ if hasattr(guard, "parts"):
                return type(guard)(tuple(fix(part) for part in guard.parts))  # type: ignore[attr-defined]
        return guard

    return replace(
        chart,
        rules={k: replace(r, guard=fix(r.guard)) for k, r in chart.rules.items()},
        refusals={k: replace(r, guard=fix(r.guard)) for k, r in chart.refusals.items()},
        invariants={},
    )


def test_what_never_acts_and_is_never_reached_is_named() -> None:
    chart = _small().chart
    deaf = replace(chart.rules["captured"], guard=All((Signal("on_path"), Not(Signal("valid")))))
    result = explore(Kernel(replace(chart, rules={**chart.rules, "captured": deaf})))
    assert result.dead_rules == ("captured",)
    assert result.unreachable_states == (("mode", "followed"),)


def test_rules_that_never_rest_are_told() -> None:
    chart = _small().chart
    back = replace(
        chart.rules["captured"], id="back", sources=("followed",), target="held", guard=All()
    )
    with pytest.raises(UnsettledError) as caught:
        explore(Kernel(replace(chart, rules={**chart.rules, "back": back})))
    assert set(caught.value.loop) == {"captured", "back"}


def test_the_longest_settling_is_counted() -> None:
    chart = _small().chart
    # Turning: clear -> armed by the key, then held -> followed by itself.
    assert explore(Kernel(chart)).longest_settle >= 1


# ------------------------------------------------------------------ planted violations


class Plant:
    """A fault put into the generic chart, and the length of the shortest way to see it."""

    def __init__(
        self, steps: int, events: str, *drop: str, options: dict[str, str] | None = None,
        narrow: tuple[str, ...] = (),
    ) -> None:  # fmt: skip
        self.steps = steps
        self.events = tuple(events.split())
        self.drop = drop
        self.options = options or {}
        self.narrow = narrow
        """Rule and the sources it keeps."""


# Each length counts what must happen, by hand: the self-test ends, keys, then the loss or fault.
# Signals may be true already when a key is pressed, so the capture of a course needs no step of its
# own; that of an altitude does, since altitude is armed only while there is room to level off.
PLANTED = {
    "lateral_mode_with_guidance": Plant(2, "director", "lateral_begins"),
    "vertical_mode_with_guidance": Plant(2, "director", "vertical_begins"),
    "off_clears_all": Plant(3, "director", "lateral_ends"),
    "course_track_not_twice": Plant(2, "course_track", "course_track_arm_used"),
    "approach_course_not_twice": Plant(2, "approach", "approach_course_arm_used"),
    "back_course_not_twice": Plant(
        2, "back_course", "back_course_arm_used", options={"back_course": "fitted"}
    ),
    "glidepath_not_twice": Plant(2, "approach", "glidepath_arm_used"),
    "glidepath_needs_approach": Plant(3, "approach heading_select", "glidepath_without_course"),
    "glidepath_armed_needs_approach": Plant(3, "approach", "glidepath_disarmed"),
    "go_around_together": Plant(
        3, "go_around altitude_hold", "lateral_go_around_ends",
        options={"leaving_go_around": "both_axes"},
    ),
    "go_around_together_vertical": Plant(
        3, "go_around heading_select", "vertical_go_around_ends",
        options={"leaving_go_around": "both_axes"},
    ),
    "level_together": Plant(3, "level_recovery altitude_hold", "lateral_level_ends"),
    "level_together_vertical": Plant(3, "level_recovery heading_select", "vertical_level_ends"),
    "altitude_armed_in_climb_modes": Plant(3, "director", "altitude_arm_ends"),
    "altitude_arms_by_itself": Plant(2, "director", "altitude_arms_itself"),
    "autopilot_needs_ready_system": Plant(3, "autopilot", "guidance_data_lost", "data_lost_alert"),
    "no_disconnect_alert_while_engaged": Plant(4, "autopilot", "alert_ends_on_engagement"),
    "protection_only_engaged": Plant(3, "autopilot", "underspeed_ends"),
    "one_course_armed": Plant(3, "course_track approach", "approach_disarms_course"),
    "go_around_clears": Plant(
        3, "approach go_around", "glidepath_without_course",
        narrow=("go_around_vertical", "roll_hold", "pitch_hold"),
    ),
    "caution_below_minimum": Plant(3, "approach autopilot", "below_minimum_caution"),
    "no_autopilot_below_minimum": Plant(
        3, "approach autopilot", "minimum_use_height_disconnects", "minimum_use_height_alert",
        options={"at_minimum_use_height": "disconnects"},
    ),
    "attitude_needed": Plant(3, "director", "guidance_data_lost"),
    "course_needs_signal": Plant(3, "course_track", "lateral_signal_lost"),
    "glidepath_needs_signal": Plant(3, "approach", "glidepath_signal_lost"),
    "cue_hidden_only_engaged": Plant(
        4, "autopilot director", "cue_back_without_autopilot",
        options={"director_key_with_autopilot": "hides_cue"},
    ),
    "hand_steering_only_engaged": Plant(
        4, "autopilot hand_steering_pressed", "hand_steering_ends",
        options={"hand_steering": "fitted"},
    ),
}  # fmt: skip


def _planted(plant: Plant, *, spoil: bool = True) -> ModeMachine:
    chart = _only(machine_for(generic_chart(), plant.options).chart, plant.events)
    if not spoil:
        return ModeMachine(chart)
    assert set(plant.drop) <= set(chart.rules)
    rules = {name: rule for name, rule in chart.rules.items() if name not in plant.drop}
    if plant.narrow:
        name, *sources = plant.narrow
        rules[name] = replace(rules[name], sources=tuple(sources))
    return ModeMachine(replace(chart, rules=rules))


def _replay(machine: ModeMachine, violation: Violation) -> Configuration:
    """Follow the path on the real machine; each edge in one of its own valuations."""
    one = machine.initial
    for edge in violation.path:
        assert edge.source == one
        bits = edge.cube[0]
        selector = edge.event != AUTOMATIC and machine.chart.events[edge.event].changes
        outcome = (
            machine.settle(one, bits)
            if edge.event == AUTOMATIC
            else machine.send(one, bits, edge.event, settle_first=not selector)
        )
        one = outcome.configuration
        assert one == edge.target
    return one


def _depths(result: Exploration, start: Configuration) -> dict[Configuration, int]:
    depths: dict[Configuration, int] = {start: 0}
    for configuration in result.parents:
        depths[configuration] = len(result.path(configuration))
    return depths


def _assert_shortest(machine: ModeMachine, result: Exploration, violation: Violation) -> None:
    """No edge leads anywhere sooner, and no nearer configuration breaks the invariant."""
    depths = _depths(result, machine.initial)
    assert all(depths[edge.target] <= depths[edge.source] + 1 for edge in result.edges)
    broken = All((violation.invariant.if_, Not(violation.invariant.then)))
    space = CubeSpace(machine.chart, machine.signal_bit)
    for configuration, cubes in result.settled.items():
        if depths[configuration] >= len(violation.path):
            continue
        for cube in cubes:
            for value in _corners(space, violation, cube):
                assert not evaluate_at(broken, machine.chart, configuration, value)


def _corners(space: CubeSpace, violation: Violation, cube: tuple[int, int]) -> Iterator[int]:
    """Yield a valuation of the cube for each way to decide the invariant's signals."""
    names = signals_in(violation.invariant.if_) | signals_in(violation.invariant.then)
    bits = [space.signal_bit[name] for name in names]
    for values in product((False, True), repeat=len(bits)):
        one: tuple[int, int] | None = cube
        for bit, value in zip(bits, values, strict=True):
            one = one and space.with_signal(one, bit, value)
        if one is not None:
            yield one[0]


def test_every_invariant_has_a_planted_violation() -> None:
    assert set(PLANTED) == set(generic_chart().invariants)


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_violation_is_found_by_a_shortest_path(name: str) -> None:
    plant = PLANTED[name]
    machine = _planted(plant)
    result = explore(machine.kernel)
    violation = next(one for one in result.violations if one.invariant.id == name)
    assert len(violation.path) == plant.steps
    assert _replay(machine, violation) == violation.configuration
    bits = machine.bits(violation.signals)
    assert not machine.settle(violation.configuration, bits).microsteps
    moment = machine.chart, violation.configuration, bits
    assert evaluate_at(violation.invariant.if_, *moment)
    assert not evaluate_at(violation.invariant.then, *moment)
    _assert_shortest(machine, result, violation)


def _note_in(said: list[tuple[int, int]]) -> Progress:
    return lambda done, known: said.append((done, known))


@pytest.mark.parametrize("every", [3, pytest.param(1, marks=pytest.mark.long)])
def test_without_the_plants_nothing_is_violated(every: int) -> None:
    plants = {(one.events, tuple(one.options.items())): one for one in PLANTED.values()}
    assert len(plants) > 15
    for plant in list(plants.values())[::every]:
        said: list[tuple[int, int]] = []
        result = explore(_planted(plant, spoil=False).kernel, _note_in(said))
        assert result.violations == []
        assert len(said) >= len(result.settled) // 100
        assert all(done <= known for done, known in said)


def test_an_invariant_is_reported_once() -> None:
    result = explore(_planted(PLANTED["off_clears_all"]).kernel)
    names = [one.invariant.id for one in result.violations]
    assert len(names) == len(set(names))


# ------------------------------------------------------------------ exhaustive


# What the choice takes away although the chart still names the state.
LEFT_OUT = {
    ("at_minimum_use_height", "disconnects"): ("alert", "below_minimum_use_height"),
    ("underspeed_protection", "not_fitted"): ("protection", "underspeed"),
    ("overspeed_protection", "not_fitted"): ("protection", "overspeed"),
}


@cache
def _ship(path: Path) -> Exploration:
    return explore(Kernel(load_installation(path, STATECHARTS).chart))


SHIPS = [
    pytest.param(path, id=path.stem)
    for path in sorted((STATECHARTS / "installations").glob("*.yaml"))
]


@pytest.mark.long
@pytest.mark.parametrize("path", SHIPS)
def test_a_shipped_installation_breaks_no_invariant(path: Path) -> None:
    result = _ship(path)
    assert result.violations == []
    options = load_installation(path, STATECHARTS).options
    chosen = {(one.id, one.choice) for one in options.values()}
    left_out = {LEFT_OUT[one] for one in chosen if one in LEFT_OUT}
    assert set(result.unreachable_states) == left_out
    assert result.longest_settle <= 10
    assert len(result.settled) > 1000


@pytest.mark.long
@pytest.mark.parametrize("path", SHIPS)
def test_every_edge_of_an_exploration_is_what_the_machine_does(path: Path) -> None:
    result = _ship(path)
    machine = ModeMachine(result.chart)
    for edge in result.edges:
        if edge.event == AUTOMATIC:
            outcome = machine.settle(edge.source, edge.cube[0])
        else:
            changes = machine.chart.events[edge.event].changes
            outcome = machine.send(edge.source, edge.cube[0], edge.event, settle_first=not changes)
        refusal = outcome.refusal.id if outcome.refusal else ""
        assert (outcome.configuration, refusal) == (edge.target, edge.refusal), edge


@pytest.mark.long
@pytest.mark.parametrize("path", SHIPS)
def test_a_configuration_rests_exactly_where_it_is_said_to(path: Path) -> None:
    result = _ship(path)
    machine = ModeMachine(result.chart)
    for number, (configuration, cubes) in enumerate(result.settled.items()):
        for cube in cubes:
            assert not machine.settle(configuration, cube[0]).microsteps
        if number % 50 == 0:
            for one, other in product(cubes, cubes):
                assert one == other or meet(one, other) is None


SINGLE = [
    pytest.param({option.id: choice}, id=f"{option.id}={choice}")
    for option in generic_chart().options.values()
    for choice in option.choices
    if choice != option.default
]


@pytest.mark.long
@pytest.mark.parametrize("chosen", SINGLE)
def test_an_aircraft_that_differs_in_one_option_breaks_no_invariant(
    chosen: dict[str, str],
) -> None:
    result = explore(machine_for(generic_chart(), chosen).kernel)
    assert result.violations == []
    left_out = {LEFT_OUT[one] for one in chosen.items() if one in LEFT_OUT}
    assert set(result.unreachable_states) == left_out
