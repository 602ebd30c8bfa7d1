"""Traps found in published mode logic, as regression tests of the engine and the shipped chart.

Source: [MOD-01], its two transcriptions [MOD-02] [MOD-03]. For each trap the wrong reading is
planted too, to show that it would be caught.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from tests.helpers.charts import microstep
from tests.helpers.situations import intercept, workspace
from tests.published.mode_logic_explorer import (
    CHART,
    Snapshot,
    Transition,
    added,
    oracle_chart,
    oracle_transitions,
    sources,
    with_rule,
    without,
)
from tests.published.mode_logic_tables import CAPTURES, CHANGES, OFF, SWITCHES, State, expected
from trainer.charts.explore import explore as explore_by_cubes
from trainer.charts.guard import conjunctions
from trainer.charts.kernel import Kernel, UnsettledError
from trainer.charts.loader import load_chart, read_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ALWAYS, All, ChartSpec, In, Not, RuleSpec, Signal
from trainer.document import parse_document
from trainer.errors import FileError
from trainer.flight import Environment, InitialCondition, NavigationSource
from trainer.resources import resource_folder
from trainer.session.session import Session
from trainer.session.situation import Selected, Start, StartModes

ALTITUDE_SELECT = frozenset({"altitude_capture", "altitude_track"})


def rule(rule_id: str, region: str, source: str, target: str, **more: object) -> RuleSpec:
    return RuleSpec(
        rule_id, region, more.pop("events", ()), (source,), target, more.pop("guard", ALWAYS),
        "Planted.", "planted", "automatic", 0, **more,
    )  # type: ignore[arg-type]  # fmt: skip


def in_state(region: str, *states: str) -> In:
    return In(region, frozenset(states))


def differences(chart: ChartSpec) -> list[Transition]:
    """Return the transitions of the oracle chart whose result the tables contradict."""
    runner = Snapshot(chart)
    again = [runner.run(t.source, t.event) for t in oracle_transitions()]
    return [t for t in again if t.target != expected(t.source, t.event)[0]]


class TestAltitudeArmsAndDisarmsForEver:
    """1. Select has no "guidance on" term but clear has one: armed and cleared in turn for ever."""

    def planted(self) -> ChartSpec:
        modes = in_state("vertical", "pitch", "vertical_speed", "level_change")
        return with_rule(oracle_chart(), "altitude_arms", guard=modes)

    def test_it_comes_to_rest_with_the_term(self) -> None:
        machine = ModeMachine(oracle_chart())
        assert machine.settle(machine.initial, 0).microsteps == ()

    def test_the_loop_is_named_without_the_term(self) -> None:
        machine = ModeMachine(self.planted())
        with pytest.raises(UnsettledError, match="altitude_arms") as caught:
            machine.settle(machine.initial, 0)
        assert set(caught.value.loop) == {"altitude_arms", "altitude_arm_off"}

    def test_the_explorer_finds_the_loop_too(self) -> None:
        with pytest.raises(UnsettledError, match="altitude_arm_off"):
            explore_by_cubes(Kernel(self.planted()))


class TestCaptureWithoutTheArmedTest:
    """2. "Will be activated" taken for true, whether the mode is armed or not."""

    def test_a_course_condition_leaves_heading_alone_if_course_is_not_armed(self) -> None:
        unarmed = [
            t for t in oracle_transitions()
            if t.event == "course_capture" and not t.source.course_armed
        ]  # fmt: skip
        assert len(unarmed) == 383 - 165
        assert not [t for t in unarmed if t.steps]

    def test_knocking_heading_out_is_caught(self) -> None:
        planted = rule("knocked", "lateral", "heading", "roll", guard=All((
            Signal("course_capture"), in_state("course_arm", "clear"))))  # fmt: skip
        found = differences(added(oracle_chart(), planted))
        assert {(t.event, t.source.lateral) for t in found} == {("course_capture", "heading")}
        assert not [t for t in found if t.source.course_armed]

    def test_capturing_unarmed_is_caught(self) -> None:
        guard = All((Signal("course_capture"), in_state("guidance", "on")))
        found = differences(with_rule(oracle_chart(), "course_captured", guard=guard))
        assert {t.event for t in found} == {"course_capture"}
        assert len(found) == 382 - 165 - 52, "all but those in which course is armed or active"

    def test_go_around_cancelled_by_a_second_press_is_caught(self) -> None:
        """The partner on the other axis then goes by itself."""
        planted = rule("cancelled", "lateral", "go_around", "roll", events=("go_around",))
        found = differences(added(oracle_chart(), planted))
        assert {(t.event, t.source.lateral) for t in found} == {("go_around", "go_around")}
        assert len(found) == 12

    def test_a_condition_that_stays_true_and_undoes_its_own_capture_is_caught(self) -> None:
        guard = Signal("altitude_capture")
        planted = rule("undone", "vertical", "altitude_capture", "pitch", guard=guard)
        runner = Snapshot(added(oracle_chart(), planted))
        state = OFF._replace(guidance=True, cues=True, altitude_armed=True)
        with pytest.raises(UnsettledError) as caught:
            runner.run(state, "altitude_capture")
        assert {"undone", "altitude_captured"} <= set(caught.value.loop)

    def test_the_shipped_chart_captures_only_what_is_armed(self) -> None:
        chart = load_chart(resource_folder("statecharts") / "generic.yaml")
        captures = captures_of(chart)
        assert len(captures) >= 5
        assert not unarmed_captures(chart)

    def test_a_shipped_capture_without_its_armed_test_is_caught(self) -> None:
        chart = load_chart(resource_folder("statecharts") / "generic.yaml")
        for one in captures_of(chart):
            assert unarmed_captures(with_rule(chart, one.id, guard=ALWAYS)) == [one.id]


def captures_of(chart: ChartSpec) -> list[RuleSpec]:
    """Return the automatic rules into a mode that can be armed."""
    can_be_armed = {region.arms for region in chart.regions.values()}
    return [
        one for one in chart.rules.values()
        if not one.events and one.target in can_be_armed
        and chart.regions[one.region].kind == "active"
    ]  # fmt: skip


def unarmed_captures(chart: ChartSpec) -> list[str]:
    """Return the captures that some configuration allows while the mode isn't armed."""
    states = {region.id: frozenset(region.states) for region in chart.regions.values()}
    arms = {region.arms: region for region in chart.regions.values() if region.arms}
    found = []
    for one in captures_of(chart):
        arm = arms[one.target]
        for _signals, regions in conjunctions(one.guard, states):
            if arm.initial in dict(regions).get(arm.id, states[arm.id]):
                found.append(one.id)
                break
    return found


class TestUnsettledStatesAreNeverShown:
    """3. What one axis does to the other comes a microstep later."""

    def test_every_outcome_is_settled(self) -> None:
        runner = Snapshot(oracle_chart())
        assert not [s for s in sources(oracle_transitions()) if runner.changes_at_rest(s)]

    def test_a_vertical_key_in_go_around_ends_both(self) -> None:
        out = [
            t for t in oracle_transitions()
            if t.source.lateral == "go_around" and t.event == "vertical_speed"
        ]  # fmt: skip
        assert len(out) == 12
        assert {t.first.lateral for t in out} == {"go_around"}, "unsettled"
        assert {t.target.lateral for t in out} == {"roll"}

    def test_showing_the_first_microstep_is_caught(self) -> None:
        early = [
            t for t in oracle_transitions() if t.first != expected(t.source, t.event)[0]
        ]  # fmt: skip
        assert len(early) == 1866
        assert len(early) == sum(t.steps > 1 for t in oracle_transitions())

    def test_a_session_shows_and_records_only_what_is_settled(self) -> None:
        session = intercept()
        session.press("approach")
        while session.annunciation.vertical.active != "glidepath":
            session.step()
        machine = session.logic.machine
        first, fired = microstep(machine, session.configuration, session.bits, "heading_select")
        assert fired
        unsettled = session.logic.annunciation(first)
        assert unsettled.lateral.active == "heading_select"
        assert unsettled.vertical.active == "glidepath", "half way"
        record = session.press("heading_select")
        assert record.after.vertical.active == "pitch_hold"
        assert session.annunciation == record.after
        assert not machine.settle(session.configuration, session.bits).microsteps
        assert unsettled not in [one.after for one in session.trace.records]


class TestWhatBecomesOfAltitudeSelect:
    """4. Taken over from while active it goes to cleared or to armed; settled, both agree."""

    def test_both_transcriptions_settle_alike(self) -> None:
        for t, mine in zip(armed_at_once(), oracle_transitions(), strict=True):
            assert t.target == mine.target

    def test_they_do_differ_before_they_settle(self) -> None:
        other = [
            t for t, mine in zip(armed_at_once(), oracle_transitions(), strict=True)
            if t.first != mine.first
        ]  # fmt: skip
        assert other
        assert {t.source.vertical for t in other} == ALTITUDE_SELECT

    def test_armed_without_being_cleared_again_is_caught(self) -> None:
        found = differences(without(armed_at_once_chart(), "altitude_arm_done"))
        assert any(
            t.event == "altitude_hold" and t.source.vertical in ALTITUDE_SELECT for t in found
        )


def armed_at_once_chart() -> ChartSpec:
    """Return the chart of the one transcription: armed at once, cleared again where it must be."""
    keys = (
        "vertical_speed", "level_change", "altitude_hold", "wheel", "go_around", "transfer",
        "altitude_changed",
    )  # fmt: skip
    guard = In("vertical", ALTITUDE_SELECT)
    planted = rule("armed_at_once", "altitude_arm", "clear", "armed", events=keys, guard=guard)
    return added(oracle_chart(), planted)


@cache
def armed_at_once() -> tuple[Transition, ...]:
    runner = Snapshot(armed_at_once_chart())
    return tuple(runner.run(t.source, t.event) for t in oracle_transitions())


SAME_EVENT = """
format: chart/1
id: same_event
title: A clear and a capture on the same event
competencies: [logic]
options: {}
limits: {}
events:
  station_changed: {label: Station changed, kind: selector, group: lateral}
signals:
  in_band: {label: in the band, quantity: course_intercept_margin, true_below: 0, false_above: 0}
regions:
  course:
    label: Course
    kind: internal
    initial: cleared
    states: {cleared: {label: Cleared}, armed: {label: Armed}, active: {label: Active}}
rules:
  - {id: clear, section: 0, competency: logic, region: course, on: station_changed, from: [armed, active], to: cleared, because: Cleared., source: planted, CLEAR}
  - {id: capture, section: 0, competency: logic, region: course, on: station_changed, from: armed, to: active, when: [in_band], because: Captured., source: planted, CAPTURE}
"""  # noqa: E501


class TestClearAndCaptureTogether:
    """5. The outer clear wins over the inner capture; the other way round is another logic."""

    def load(self, clear: str = "", capture: str = "") -> ChartSpec:
        text = SAME_EVENT.replace(", CLEAR", clear).replace(", CAPTURE", capture)
        return read_chart(parse_document(text, "same_event.yaml"))

    def after(self, chart: ChartSpec) -> str:
        machine = ModeMachine(chart)
        before = machine.configuration({"course": "armed"})
        return machine.send(before, machine.bits(["in_band"]), "station_changed").configuration[0]

    def test_a_chart_that_leaves_it_open_does_not_load(self) -> None:
        with pytest.raises(FileError, match=r"'clear' and 'capture'.*can fire together"):
            self.load()

    def test_the_clear_wins_where_the_chart_says_so(self) -> None:
        assert self.after(self.load(clear=", before: [capture]")) == "cleared"

    def test_the_other_order_gives_the_other_logic(self) -> None:
        assert self.after(self.load(capture=", before: [clear]")) == "active"

    def test_not_clear_in_the_capture_needs_no_order(self) -> None:
        chart = self.load(clear=", before: [capture]")
        never = All((Signal("in_band"), Not(in_state("course", "armed"))))
        assert self.after(with_rule(chart, "capture", guard=never)) == "cleared"

    @pytest.mark.parametrize("rule_id", ["lateral_off", "vertical_off", "course_arm_off"])
    def test_the_oracle_chart_does_not_load_without_its_orders(self, rule_id: str) -> None:
        lines = CHART.read_text(encoding="utf-8").split("\n")
        cut = [
            line[: line.index("before:")] + line[line.index("because:") :]
            if f"id: {rule_id}," in line else line
            for line in lines
        ]  # fmt: skip
        with pytest.raises(FileError, match=f"'{rule_id}' and '"):
            read_chart(parse_document("\n".join(cut), "cut.yaml"))


def both_orders(runner: Snapshot, state: State, event: str, capture: str) -> tuple[State, State]:
    """Return what comes of a press and a capture in one cycle: press first, capture first."""
    press_first = runner.run(runner.run(state, event).target, capture).target
    bits = runner.machine.bits([capture, *(["overspeed"] if state.overspeed else [])])
    outcome = runner.machine.send(runner.configuration(state), bits, event)
    return press_first, runner.state(outcome.configuration, state.overspeed)


def wrong_orders(events: tuple[str, ...], captures: tuple[str, ...]) -> Counter[tuple[str, str]]:
    """Return for how many states a press and a capture give something else if captured first."""
    runner = Snapshot(oracle_chart())
    found: Counter[tuple[str, str]] = Counter()
    for state in sources(oracle_transitions()):
        for event in events:
            for capture in captures:
                press_first, capture_first = both_orders(runner, state, event, capture)
                assert press_first == expected(expected(state, event)[0], capture)[0]
                if press_first != capture_first:
                    found[event, capture] += 1
    return found


class TestPressAndCaptureInOneCycle:
    """The published press wins and the capture waits. `send` settles first: hand it old signals."""

    def test_a_source_change_in_the_cycle_of_a_capture(self) -> None:
        runner = Snapshot(oracle_chart())
        state = OFF._replace(
            guidance=True, cues=True, lateral="heading", course_armed=True, altitude_armed=True
        )
        press_first, capture_first = both_orders(runner, state, "source_changed", "course_capture")
        assert (press_first.lateral, capture_first.lateral) == ("heading", "roll")
        assert press_first == expected(state, "source_changed")[0]

    def test_what_settling_first_would_change_is_caught(self) -> None:
        assert wrong_orders(("source_changed",), ("course_capture",)) == {
            ("source_changed", "course_capture"): 58
        }

    @pytest.mark.long
    def test_where_the_order_matters(self) -> None:
        """All presses and changes with all captures, 26,810 pairs from the 383 states."""
        found = wrong_orders((*SWITCHES, *CHANGES), CAPTURES)
        assert sum(found.values()) == 1248
        assert not {"director", "synchronise", "transfer"} & {event for event, _ in found}

    def test_a_mode_disarmed_in_time_does_not_capture(self) -> None:
        """T09 in a session: a key takes the signals of the step before it."""
        session = intercept()
        session.press("approach")
        while (ahead := session.fork()).step() is None:
            session.step()
        assert ahead.annunciation.lateral.active == "approach_course"
        session.press("approach")
        session.step()
        assert session.annunciation.lateral.active == "heading_select"
        assert session.annunciation.lateral.armed == ()

    def test_another_source_disarms_course_and_heading_stays(self) -> None:
        """T21: heading is kept and the arm goes off, even with the new source's course at hand."""
        session = two_beacons()
        record = session.select("source", "near")
        assert record is not None
        assert record.after.lateral.armed == ()
        assert record.after.lateral.active == "heading_select"


def two_beacons() -> Session:
    """Heading active, course armed on a distant beacon; another beacon's course is right here."""
    modes = StartModes("autopilot", "heading_select", "altitude_hold", ("course_track",))
    start = Start(
        InitialCondition(altitude_ft=2000, heading_deg=90, airspeed_kt=100),
        Environment(),
        modes,
        Selected(altitude_ft=2000, heading_deg=90, source="far"),
        (
            NavigationSource("far", "beacon", "Far", 90.0, 10.0, 30.0),
            NavigationSource("near", "beacon", "Near", 90.0, 0.0, 12.0),
        ),
    )
    return workspace().begin("ship_amber", start)
