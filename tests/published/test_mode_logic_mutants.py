"""The comparison with the published tables can fail: rules of the chart are spoilt one at a time.

A mutant is killed by one transition whose settled result differs or never comes. Source of the
tables: [MOD-01] in SOURCES.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from tests.published.mode_logic_explorer import (
    Snapshot,
    Transition,
    oracle_chart,
    oracle_transitions,
    with_rule,
    without,
)
from tests.published.mode_logic_tables import expected
from trainer.charts.kernel import UnsettledError
from trainer.charts.spec import ALWAYS, ChartSpec, RuleSpec

# Spoilt rules that another published guard makes good before the state settles.
BACKED_UP = {
    "overspeed shows the cues again": ("cues_off: no guard",),
    "overspeed selects level change again": ("level_change_again: no guard",),
    "go-around left on one axis is left on the other": (
        "lateral_off: not from go_around", "vertical_off: not from go_around",
        "lateral_go_around_ends: deleted", "lateral_go_around_ends: not on autopilot_engaged",
        "lateral_go_around_ends: not on synchronise", "lateral_transfer: not from go_around",
        "vertical_go_around_ends: deleted", "vertical_go_around_ends: not on autopilot_engaged",
        "vertical_go_around_ends: not on synchronise", "vertical_transfer: not from go_around",
    ),
    "go-around on one axis alone falls back to the basic mode": (
        "heading_again: to go_around", "course_again: to go_around", "approach_again: to go_around",
        "lateral_go_around_ends: to go_around", "lateral_source: to go_around",
        "lateral_transfer: to go_around", "vertical_speed_again: to go_around",
        "level_change_again: to go_around", "altitude_hold_again: to go_around",
        "changed_in_capture: to go_around", "vertical_go_around_ends: to go_around",
        "vertical_transfer: to go_around", "glidepath_lost: to go_around",
    ),
    "the glidepath goes with the lateral approach": (
        "vertical_off: not from glidepath", "vertical_transfer: not from glidepath",
        "vertical_transfer: to glidepath", "glidepath_armed: no guard",
        "glidepath_disarmed: deleted", "glidepath_disarmed: to armed",
        "glidepath_arm_source: deleted", "glidepath_arm_source: not on source_changed",
        "glidepath_arm_source: not on frequency_changed", "glidepath_arm_source: not on transfer",
        "glidepath_arm_source: to armed",
    ),
    "lateral approach and vertical go-around are never active together": (
        "glidepath_captured: not from go_around",
    ),
}  # fmt: skip
EQUIVALENT = frozenset(name for names in BACKED_UP.values() for name in names)


@dataclass(frozen=True, slots=True)
class Mutant:
    """A chart with one rule spoilt."""

    name: str
    rule: RuleSpec
    chart: ChartSpec


def mutants() -> Iterator[Mutant]:
    chart = oracle_chart()
    for rule in chart.rules.values():
        yield Mutant(f"{rule.id}: deleted", rule, without(chart, rule.id))
        for name, changes in spoilt(chart, rule):
            yield Mutant(f"{rule.id}: {name}", rule, with_rule(chart, rule.id, **changes))


def spoilt(chart: ChartSpec, rule: RuleSpec) -> Iterator[tuple[str, dict[str, object]]]:
    if rule.guard != ALWAYS:
        yield "no guard", {"guard": ALWAYS}
    for state in rule.sources if len(rule.sources) > 1 else ():
        yield f"not from {state}", {"sources": tuple(s for s in rule.sources if s != state)}
    for event in rule.events if len(rule.events) > 1 else ():
        yield f"not on {event}", {"events": tuple(e for e in rule.events if e != event)}
    for state in chart.regions[rule.region].states:
        if state != rule.target and (rule.events or state not in rule.sources):
            yield f"to {state}", {"target": state}


def kill(mutant: Mutant) -> Transition | None:
    """Return the first transition that shows the mutant, those that the rule works in first."""
    runner, rule = Snapshot(mutant.chart), mutant.rule
    for t in sorted(
        oracle_transitions(), key=lambda t: (rule.id not in t.rules, t.event not in rule.events)
    ):
        try:
            target = runner.run(t.source, t.event).target
        except UnsettledError:
            return t
        if target != expected(t.source, t.event)[0]:
            return t
    return None


def test_every_deleted_rule_is_caught() -> None:
    deleted = [one for one in mutants() if one.name.endswith(": deleted")]
    assert len(deleted) == len(oracle_chart().rules)
    tried = [mutant for mutant in deleted if mutant.name not in EQUIVALENT]
    assert len(tried) == len(deleted) - 4
    assert [mutant.name for mutant in tried if kill(mutant) is None] == []


@pytest.mark.long
def test_every_spoilt_rule_is_caught() -> None:
    tried = [mutant for mutant in mutants() if mutant.name not in EQUIVALENT]
    assert len(tried) == 321
    assert [mutant.name for mutant in tried if kill(mutant) is None] == []


@pytest.mark.long
def test_those_backed_up_by_another_rule_change_no_result() -> None:
    left = [mutant for mutant in mutants() if mutant.name in EQUIVALENT]
    assert {mutant.name for mutant in left} == EQUIVALENT
    assert len(left) == 37
    assert [mutant.name for mutant in left if kill(mutant) is not None] == []
