"""Runs a chart of the published mode logic over all its states and single events.

`Snapshot` is this project's engine: in a microstep every region reads the configuration before
it. `Ordered` runs the same chart as the published model runs: in each pass the axes are evaluated
in order and each reads what the ones before it have just done.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from tests.published.mode_logic_tables import CAPTURES, EVENTS, State, possible
from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, evaluate
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec, RuleSpec

CHART = Path(__file__).with_name("mode_logic_oracle.yaml")
# The published order: cues, annunciations, lateral, vertical. Altitude select follows the other
# vertical modes, since it waits for what they do.
AXES = (
    ("autopilot",), ("cues",), ("guidance",), ("lateral", "course_arm", "approach_arm"),
    ("vertical", "glidepath_arm"), ("altitude_arm",),
)  # fmt: skip
MAXIMUM_PASSES = 20


@dataclass(frozen=True, slots=True)
class Transition:
    """One event in one settled state. `steps` counts the microsteps that changed something."""

    source: State
    event: str
    target: State
    steps: int
    rules: tuple[str, ...] = ()
    first: State = State()
    """The configuration after the first microstep: shown only if it is the last one too."""


@cache
def oracle_chart() -> ChartSpec:
    """Return the published model as a chart."""
    return load_chart(CHART)


def without(chart: ChartSpec, *rule_ids: str) -> ChartSpec:
    """Return the chart without some of its rules."""
    assert set(rule_ids) <= set(chart.rules)
    return replace(chart, rules={k: r for k, r in chart.rules.items() if k not in rule_ids})


def with_rule(chart: ChartSpec, rule_id: str, **changes: object) -> ChartSpec:
    """Return the chart with one rule changed."""
    changed = replace(chart.rules[rule_id], **changes)  # type: ignore[arg-type]
    return replace(chart, rules={**chart.rules, rule_id: changed})


def added(chart: ChartSpec, rule: RuleSpec) -> ChartSpec:
    """Return the chart with a rule added."""
    assert rule.id not in chart.rules
    return replace(chart, rules={**chart.rules, rule.id: rule})


class Snapshot:
    """The chart on the project's own machine."""

    def __init__(self, chart: ChartSpec) -> None:
        self.machine = ModeMachine(chart)

    def configuration(self, state: State) -> Configuration:
        """Return the configuration that stands for a state."""
        return self.machine.configuration(configuration_words(state))

    def state(self, configuration: Configuration, overspeed: bool) -> State:
        """Return the state that a configuration stands for."""
        return state_of(dict(zip(self.machine.region_ids, configuration, strict=True)), overspeed)

    def initial(self) -> State:
        """Return the settled state in which the chart begins."""
        outcome = self.machine.settle(self.machine.initial, 0)
        return self.state(outcome.configuration, False)

    def run(self, state: State, event: str) -> Transition:
        """Let one event happen in a settled state, and settle."""
        bits, overspeed = event_bits(self.machine, state, event)
        before = self.configuration(state)
        if event in self.machine.chart.events:
            outcome = self.machine.send(before, bits, event)
        else:
            outcome = self.machine.settle(before, bits)
        first = list(before)
        for firing in outcome.microsteps[0] if outcome.microsteps else ():
            first[self.machine.region_index[firing.rule.region]] = firing.entered
        return Transition(
            state, event, self.state(outcome.configuration, overspeed), len(outcome.microsteps),
            tuple(firing.rule.id for firing in outcome.firings),
            self.state(tuple(first), overspeed),
        )  # fmt: skip

    def changes_at_rest(self, state: State) -> bool:
        """Return True if the state isn't settled."""
        bits = self.machine.bits(["overspeed"] if state.overspeed else [])
        return bool(self.machine.settle(self.configuration(state), bits).microsteps)


class Ordered:
    """The same chart, axis after axis, as the published model is evaluated."""

    def __init__(self, chart: ChartSpec) -> None:
        self.machine = ModeMachine(chart)
        self._axes: list[list[tuple[int, list[RuleSpec]]]] = [
            [(self.machine.region_index[region], self._rules(region)) for region in axis]
            for axis in AXES
        ]

    def _rules(self, region: str) -> list[RuleSpec]:
        """Rules in the order of evaluation: the event's own first."""
        rules = {k: r for k, r in self.machine.chart.rules.items() if r.region == region}
        automatic = [rule for rule in ordered_rules(rules) if not rule.events]
        return [rule for rule in rules.values() if rule.events] + automatic

    def run(self, state: State, event: str) -> Transition:
        """Run passes until one changes nothing; the event is seen by the first pass only."""
        bits, overspeed = event_bits(self.machine, state, event)
        true = frozenset(self.machine.signal_names(bits))
        now = list(self.machine.configuration(configuration_words(state)))
        steps, seen = 0, event
        for _ in range(MAXIMUM_PASSES):
            if not self._pass(now, true, seen):
                words = dict(zip(self.machine.region_ids, now, strict=True))
                return Transition(state, event, state_of(words, overspeed), steps)
            steps, seen = steps + 1, ""
        raise AssertionError(f"{event} never settles from {state}")

    def _pass(self, now: list[str], true: frozenset[str], event: str) -> bool:
        changed = False
        for axis in self._axes:
            before = dict(zip(self.machine.region_ids, now, strict=True))
            for index, rules in axis:
                for rule in rules:
                    wanted = event in rule.events or not rule.events
                    is_here = before[rule.region] in rule.sources
                    if wanted and is_here and evaluate(rule.guard, before, true):
                        now[index] = rule.target
                        changed = True
                        break
        return changed


def configuration_words(state: State) -> dict[str, str]:
    """Return region -> state of the chart for a state of the tables."""
    arms = {True: "armed", False: "clear"}
    return {
        "autopilot": "engaged" if state.autopilot else "disengaged",
        "cues": "shown" if state.cues else "hidden",
        "guidance": "on" if state.guidance else "off",
        "lateral": state.lateral,
        "course_arm": arms[state.course_armed],
        "approach_arm": arms[state.approach_armed],
        "vertical": state.vertical,
        "glidepath_arm": arms[state.glidepath_armed],
        "altitude_arm": arms[state.altitude_armed],
    }


def state_of(words: dict[str, str], overspeed: bool) -> State:
    """Return the state of the tables for region -> state of the chart."""
    return State(
        words["guidance"] == "on", words["cues"] == "shown", words["autopilot"] == "engaged",
        overspeed, words["lateral"], words["vertical"], words["course_arm"] == "armed",
        words["approach_arm"] == "armed", words["glidepath_arm"] == "armed",
        words["altitude_arm"] == "armed",
    )  # fmt: skip


def event_bits(machine: ModeMachine, state: State, event: str) -> tuple[int, bool]:
    """Return the signals during the event, and whether there is overspeed after it."""
    overspeed = {"overspeed_begins": True, "overspeed_ends": False}.get(event, state.overspeed)
    true = ["overspeed"] if overspeed else []
    if event in CAPTURES:
        true.append(event)
    return machine.bits(true), overspeed


def explore(runner: Snapshot | Ordered, initial: State) -> list[Transition]:
    """Return every transition from every state that single events reach."""
    found: list[Transition] = []
    known, waiting = {initial}, [initial]
    while waiting:
        state = waiting.pop()
        for event in EVENTS:
            if possible(state, event):
                transition = runner.run(state, event)
                found.append(transition)
                if transition.target not in known:
                    known.add(transition.target)
                    waiting.append(transition.target)
    return found


@cache
def oracle_transitions() -> tuple[Transition, ...]:
    """Return every transition of the oracle chart on the project's own machine."""
    runner = Snapshot(oracle_chart())
    return tuple(explore(runner, runner.initial()))


def sources(transitions: Iterable[Transition]) -> frozenset[State]:
    """Return the states from which the transitions start."""
    return frozenset(transition.source for transition in transitions)
