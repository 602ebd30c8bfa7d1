"""A published mode logic, written as a chart here, against its published tables and counts.

Source of everything checked: [MOD-01] in SOURCES.md. Two independent readings of it meet here:
the chart (guards) on the project's machine, and the tables (results) as data.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product

import pytest

from tests.published.mode_logic_explorer import (
    AXES,
    Ordered,
    Snapshot,
    Transition,
    explore,
    oracle_chart,
    oracle_transitions,
    sources,
    with_rule,
)
from tests.published.mode_logic_properties import (
    GLIDEPATH_LEFT_BY,
    STATE_PROPERTIES,
    TRANSITION_PROPERTIES,
    StateProperty,
    TransitionProperty,
    active,
    approach_selected,
    count,
    glidepath_selected,
    modes,
    uncommanded,
)
from tests.published.mode_logic_tables import (
    CAPTURES,
    EVENTS,
    OFF,
    SWITCHES,
    Cell,
    State,
    all_cells,
    expected,
    possible,
)
from trainer.charts.explore import explore as explore_by_cubes
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import In, Not

LATERAL = ("roll", "heading", "course", "approach", "go_around")
VERTICAL = (
    "pitch", "vertical_speed", "level_change", "altitude_hold", "altitude_capture",
    "altitude_track", "glidepath", "go_around",
)  # fmt: skip


@pytest.fixture(scope="module")
def transitions() -> tuple[Transition, ...]:
    return oracle_transitions()


@pytest.fixture(scope="module")
def states(transitions: tuple[Transition, ...]) -> frozenset[State]:
    return sources(transitions)


def all_conceivable() -> list[State]:
    flags = (False, True)
    return [
        State(*inputs, lateral, vertical, *armed)
        for inputs in product(flags, repeat=4)
        for lateral, vertical in product(LATERAL, VERTICAL)
        for armed in product(flags, repeat=4)
    ]


class TestTables:
    def test_every_transition_agrees_with_the_tables(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        differences = [
            (t.source, t.event, t.target, wanted)
            for t in transitions
            if t.target != (wanted := expected(t.source, t.event)[0])
        ]
        assert not differences, differences[:3]
        assert len(transitions) == 8043

    def test_every_cell_of_the_tables_was_used(self, transitions: tuple[Transition, ...]) -> None:
        used: Counter[Cell] = Counter()
        for t in transitions:
            used.update(expected(t.source, t.event)[1])
        assert set(used) == all_cells()
        assert Counter(table for table, _, _ in used) == {
            "lateral": 76, "vertical": 96, "glidepath armed": 16, "engagement": 7,
            "from off": 17, "overspeed": 36, "stated": 6,
        }  # fmt: skip

    def test_the_tables_alone_reach_the_same_states(self, states: frozenset[State]) -> None:
        known, waiting = {OFF}, [OFF]
        while waiting:
            state = waiting.pop()
            for event in EVENTS:
                if possible(state, event):
                    after = expected(state, event)[0]
                    if after not in known:
                        known.add(after)
                        waiting.append(after)
        assert known == states


class TestCounts:
    def test_states_transitions_and_events(
        self, transitions: tuple[Transition, ...], states: frozenset[State]
    ) -> None:
        assert len(EVENTS) == 23
        assert len(states) == 383
        assert len(transitions) == 8043 == 383 * 21
        per_state = Counter(t.source for t in transitions)
        assert set(per_state.values()) == {21}, "each input is in one of its two values"

    def test_guidance_and_combinations(self, states: frozenset[State]) -> None:
        assert count(s.guidance for s in states) == 382
        assert len({modes(s) for s in states if s.guidance and not s.overspeed}) == 90

    def test_begins_off(self) -> None:
        start = Snapshot(oracle_chart()).initial()
        assert not start.guidance
        assert not start.cues
        assert start == OFF

    def test_the_explorer_by_cubes_finds_the_same_configurations(
        self, states: frozenset[State]
    ) -> None:
        """It lets several conditions hold at once, and still no other configuration is reached."""
        runner = Snapshot(oracle_chart())
        found = explore_by_cubes(runner.machine.kernel)
        assert set(found.settled) == {runner.configuration(state) for state in states}
        assert len(found.settled) == 271
        assert not found.unreachable_states
        assert not found.dead_rules


class TestSettling:
    """The published model runs axis after axis; the machine here takes all regions at once."""

    def test_in_published_order_two_steps_are_enough(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        ordered = explore(Ordered(oracle_chart()), OFF)
        steps = Counter(t.steps for t in ordered)
        assert max(steps) == 2
        assert steps[2] == 364
        settled = {(t.source, t.event): t.target for t in ordered}
        assert settled == {(t.source, t.event): t.target for t in transitions}

    def test_what_needs_the_second_step(self) -> None:
        """The 364 by cause, worked out from the published guards."""
        second = [t for t in explore(Ordered(oracle_chart()), OFF) if t.steps == 2]
        assert count(t.source.vertical == "go_around" for t in second) == 48 + 12
        assert count(t.event == "approach" for t in second) == 52
        reselected = [t for t in second if t.source.overspeed and t.event != "approach"]
        assert Counter(t.event for t in reselected) == {
            "transfer": 112, "wheel": 84, "altitude_hold": 28, "altitude_changed": 28,
        }  # fmt: skip
        assert 48 + 12 + 52 + len(reselected) == 364

    def test_with_all_regions_at_once_four_are_enough(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        """Each hop from region to region takes a microstep: cues, guidance, mode, armed partner."""
        assert max(t.steps for t in transitions) == 4
        longest = {t.event for t in transitions if t.steps == 4}
        assert longest == {"director", "autopilot_disengaged"}, "guidance going off"

    def test_every_result_is_at_rest(self, states: frozenset[State]) -> None:
        runner = Snapshot(oracle_chart())
        assert not [state for state in states if runner.changes_at_rest(state)]

    def test_a_condition_may_stay_true_or_end_without_effect(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        """Captures are levels: once its work is done a level does nothing more."""
        runner = Snapshot(oracle_chart())
        for t in transitions:
            if t.event in CAPTURES:
                assert runner.run(t.target, t.event).steps == 0
                assert not runner.changes_at_rest(t.target)

    def test_the_result_is_unique(self, transitions: tuple[Transition, ...]) -> None:
        """I21: the order in which regions and rules stand in the file decides nothing."""
        chart = oracle_chart()
        turned = replace(
            chart,
            regions=dict(reversed(chart.regions.items())),
            rules=dict(reversed(chart.rules.items())),
        )
        runner = Snapshot(turned)
        for t in transitions:
            again = runner.run(t.source, t.event)
            assert (again.target, again.steps) == (t.target, t.steps)

    def test_each_region_belongs_to_one_axis(self) -> None:
        assert sorted(region for axis in AXES for region in axis) == sorted(oracle_chart().regions)


class TestStateProperties:
    @pytest.mark.parametrize("one", STATE_PROPERTIES, ids=lambda one: one.id)
    def test_holds_in_every_reachable_state(
        self, one: StateProperty, states: frozenset[State]
    ) -> None:
        assert [state for state in states if not one.holds(state)] == []
        assert not all(one.holds(state) for state in all_conceivable()), "it could fail"

    def test_together_with_one_more_they_leave_exactly_the_reachable_states(
        self, states: frozenset[State]
    ) -> None:
        """Approach armed on the lateral axis alone is the one thing they don't exclude."""
        allowed = {s for s in all_conceivable() if all(p.holds(s) for p in STATE_PROPERTIES)}
        assert {s for s in allowed if s.glidepath_armed or not s.approach_armed} == states

    def test_one_active_mode_on_each_axis(self, states: frozenset[State]) -> None:
        """I05 to I08, I11, I12: by the form of a chart here, a region is in one state.

        So no more is shown than that the machine keeps every region in a state of its own.
        """
        runner = Snapshot(oracle_chart())
        regions = oracle_chart().regions.values()
        for state in states:
            configuration = runner.configuration(state)
            assert len(configuration) == len(regions)
            for region, name in zip(regions, configuration, strict=True):
                assert name in region.states

    def test_commonly_assumed_and_false(self, states: frozenset[State]) -> None:
        assert count(s.autopilot and not s.cues for s in states) == 90
        assert count(approach_selected(s) and not glidepath_selected(s) for s in states) == 52
        assert count(s.course_armed and s.approach_armed for s in states) == 55
        assert count(s.course_armed and s.lateral == "approach" for s in states) == 55

    def test_cues_are_never_hidden_in_overspeed(self, states: frozenset[State]) -> None:
        assert count(s.overspeed for s in states) == 112
        assert all(s.cues for s in states if s.overspeed)

    def test_go_around_keeps_what_is_armed(self, transitions: tuple[Transition, ...]) -> None:
        into = [
            t for t in transitions
            if t.event == "go_around" and t.target.lateral == "go_around"
        ]  # fmt: skip
        assert all(t.target.course_armed == t.source.course_armed for t in into)
        assert all(t.target.approach_armed == t.source.approach_armed for t in into)
        assert any(t.target.approach_armed for t in into)
        dropped = [t for t in into if t.source.lateral == "approach"]
        assert dropped
        assert not [t for t in dropped if glidepath_selected(t.target)]
        out = {
            t.event for t in transitions
            if t.source.lateral == "go_around" and t.target.lateral in ("course", "approach")
        }  # fmt: skip
        assert out == {"course_capture", "approach_capture"}


class TestTransitionProperties:
    @pytest.mark.parametrize("one", TRANSITION_PROPERTIES, ids=lambda one: one.id)
    def test_holds_for_every_transition(
        self, one: TransitionProperty, transitions: tuple[Transition, ...]
    ) -> None:
        matching = [t for t in transitions if one.applies(t)]
        assert [t for t in matching if not one.holds(t)] == []
        if one.count is not None:
            assert len(matching) == one.count
        else:
            # The published smallest and largest sets are those that carry a count.
            assert 18 <= len(matching) <= 766

    @pytest.mark.parametrize("one", TRANSITION_PROPERTIES, ids=lambda one: one.id)
    def test_could_fail(self, one: TransitionProperty, transitions: tuple[Transition, ...]) -> None:
        """Each property refuses some wrong result of a transition it applies to."""
        wrong = [
            OFF, State(guidance=True, lateral="go_around", vertical="go_around"),
            State(guidance=True, vertical="altitude_capture", altitude_armed=True),
        ]  # fmt: skip
        planted = [
            replace(t, target=target, first=target)
            for t in transitions if one.applies(t) for target in wrong
        ]  # fmt: skip
        assert [t for t in planted if not one.holds(t)]

    def test_every_listed_cause_leaves_the_glidepath(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        left = {
            t.event for t in transitions if t.source.vertical == "glidepath" != t.target.vertical
        }
        assert left == GLIDEPATH_LEFT_BY

    def test_nothing_but_overspeed_changes_a_mode_when_the_autopilot_is_disengaged(
        self, transitions: tuple[Transition, ...]
    ) -> None:
        """The engagement table: with cues shown the same modes, otherwise off."""
        for t in transitions:
            if t.event == "autopilot_disengaged":
                kept = t.source._replace(autopilot=False)
                assert t.target == (kept if t.source.cues else OFF)


class TestInteraction:
    def test_ignored_presses(self, transitions: tuple[Transition, ...]) -> None:
        presses = [t for t in transitions if t.event in SWITCHES]
        assert len(presses) == 3830
        assert count(t.target == t.source for t in presses) == 859

    def test_indirect_changes(self, transitions: tuple[Transition, ...]) -> None:
        changed = [t for t in transitions if active(t.target) != active(t.source)]
        assert count(uncommanded(t.event) for t in changed) == 988
        assert count(t.event not in SWITCHES for t in changed) == 1580, "every other event"

    def test_changes_across_the_axes(self, transitions: tuple[Transition, ...]) -> None:
        lateral = ("heading", "course")
        vertical = ("vertical_speed", "level_change", "altitude_hold", "wheel")
        assert (
            count(
                (t.event in lateral and t.target.vertical != t.source.vertical)
                or (t.event in vertical and t.target.lateral != t.source.lateral)
                for t in transitions
            )
            == 66
        )

    def test_disarming_across_the_axes(self, transitions: tuple[Transition, ...]) -> None:
        assert (
            count(
                t.source.glidepath_armed and not t.target.glidepath_armed
                for t in transitions
                if t.event in ("heading", "course", "course_capture")
            )
            == 78
        )

    def test_the_same_key_does_different_things(self, transitions: tuple[Transition, ...]) -> None:
        """With guidance on. Four go-around presses more only bring the cues back."""
        pressed = [t for t in transitions if t.source.guidance]
        changes = Counter(t.event for t in pressed if active(t.target) != active(t.source))
        arming = Counter(
            t.event for t in pressed
            if active(t.target) == active(t.source) and modes(t.target) != modes(t.source)
        )  # fmt: skip
        ignored = Counter(t.event for t in pressed if t.target == t.source)
        assert (arming["course"], changes["course"]) == (330, 52)
        assert (arming["approach"], changes["approach"]) == (272, 110)
        assert (changes["go_around"], ignored["go_around"]) == (258, 120)

    @pytest.mark.parametrize(
        ("leaves_cues", "ignored"),
        [
            (("glidepath",), 845),
            (("glidepath", "vertical_speed"), 859),
            (("glidepath", "pitch"), 860),
            (("glidepath", "vertical_speed", "pitch"), 874),
        ],
    )
    def test_where_the_wheel_shows_the_cues(
        self, leaves_cues: tuple[str, ...], ignored: int
    ) -> None:
        """The text leaves open where the wheel brings hidden cues back; the count (859) tells."""
        guard = Not(In("vertical", frozenset(leaves_cues)))
        runner = Ordered(with_rule(oracle_chart(), "cues_by_wheel", guard=guard))
        found = explore(runner, OFF)
        assert len(found) == 8043
        assert ignored == count(t.event in SWITCHES and t.target == t.source for t in found)


def test_the_machine_settles_on_its_own_start() -> None:
    machine = ModeMachine(oracle_chart())
    assert machine.settle(machine.initial, 0).microsteps == ()
