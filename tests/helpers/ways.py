"""Ends of the cubes beside those of single valuations, and small charts made up to compare them."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, Outcome, UnsettledError
from trainer.charts.smallest import lamp
from trainer.charts.spec import (
    All,
    Any,
    ChartSpec,
    Guard,
    In,
    Not,
    RefusalSpec,
    RegionSpec,
    RuleSpec,
    Signal,
    StateSpec,
)
from trainer.charts.symbolic import Symbolic, Ways


class End(NamedTuple):
    """Where it ends, by which rules, in how many rounds of settling, and which refusal stood."""

    configuration: Configuration
    rules: tuple[str, ...]
    rounds: int
    refusal: str


def end_of(outcome: Outcome) -> End:
    """Return the end of an outcome under one valuation."""
    rounds = sum(step.event == AUTOMATIC and bool(step.firings) for step in outcome.steps)
    rules = tuple(firing.rule.id for firing in outcome.firings)
    refusal = outcome.refusal.id if outcome.refusal is not None else ""
    return End(outcome.configuration, rules, rounds, refusal)


def end_at(symbolic: Symbolic, ways: Ways, row: int) -> End:
    """Return the end of one way."""
    number = int(ways.refusal[row])
    return End(
        symbolic.configuration(int(ways.place[row])),
        tuple(rule.id for rule in symbolic.rules(int(ways.fired[row]))),
        int(ways.rounds[row]),
        symbolic.refusals[number].id if number >= 0 else "",
    )


def end_under(symbolic: Symbolic, ways: Ways, bits: int, origin: int = 0) -> End:
    """Return the only end of a batch's member whose cube holds a valuation."""
    rows = [
        row
        for row in range(len(ways))
        if ways.origin[row] == origin
        and not ways.cube(row)[0] & ~bits
        and not ways.cube(row)[1] & bits
    ]
    assert len(rows) == 1, "cubes must cover every valuation once"
    return end_at(symbolic, ways, rows[0])


def bare_chart(regions: Mapping[str, Iterable[str]], signals: Iterable[str]) -> ChartSpec:
    """Return a chart with these regions and signals, the event `press`, and no rules."""
    chart = lamp()
    region = chart.regions["lamp"]
    made: dict[str, RegionSpec] = {}
    for name, states in regions.items():
        own = {state: StateSpec(state, state, state) for state in states}
        made[name] = replace(region, id=name, initial=next(iter(own)), states=own)
    powered = chart.signals["powered"]
    named = {name: replace(powered, id=name) for name in signals}
    return replace(chart, regions=made, signals=named, rules={}, refusals={}, invariants={})


REGIONS = {"first": ("a", "b", "c"), "second": ("x", "y"), "third": ("m", "n")}


def random_chart(chance: random.Random, signal_count: int) -> ChartSpec:
    """Return a chart made up by chance: rules, several refusals and physical constraints.

    Half of the automatic rules lead on to a later state only, so that most charts settle.
    """
    names = [f"s{number}" for number in range(signal_count)]
    chart = bare_chart(REGIONS, names)
    signals = dict(chart.signals)
    for name, other in zip(names, names[1:], strict=False):
        if chance.random() < 0.2:
            signals[name] = replace(signals[name], implies=(other,))
        elif chance.random() < 0.2:
            signals[name] = replace(signals[name], excludes=(other,))
    press = chart.events["press"]
    turn = replace(press, id="turn", kind="selector", changes=tuple(names[:2]))
    chart = replace(chart, signals=signals, events={"press": press, "turn": turn})
    rules = [_rule(chance, chart, number) for number in range(chance.randint(2, 9))]
    refusals = [_refusal(chance, chart, number) for number in range(chance.randint(0, 3))]
    return replace(
        chart,
        rules={rule.id: rule for rule in rules},
        refusals={refusal.id: refusal for refusal in refusals},
    )


def _rule(chance: random.Random, chart: ChartSpec, number: int) -> RuleSpec:
    region = chance.choice(list(chart.regions.values()))
    states = list(region.states)
    events = chance.choice([(), (), ("press",), ("turn",), ("press", "turn")])
    target = chance.choice(states)
    sources = [state for state in states if state != target]
    if not events and chance.random() < 0.5:
        sources = states[: states.index(target)] or sources
    base = lamp().rules["fails"]
    return replace(
        base, id=f"r{number}", region=region.id, events=events, sources=tuple(sources),
        target=target, guard=_guard(chance, chart, 3),
    )  # fmt: skip


def _refusal(chance: random.Random, chart: ChartSpec, number: int) -> RefusalSpec:
    events = chance.choice([("press",), ("turn",), ("press", "turn")])
    base = lamp().refusals["dead"]
    return replace(base, id=f"refusal{number}", events=events, guard=_guard(chance, chart, 2))


def _guard(chance: random.Random, chart: ChartSpec, depth: int) -> Guard:
    kind = chance.random()
    if depth == 0 or kind < 0.35:
        if chance.random() < 0.6:
            return Signal(chance.choice(list(chart.signals)))
        region = chance.choice(list(chart.regions.values()))
        states = chance.sample(list(region.states), chance.randint(1, len(region.states)))
        return In(region.id, frozenset(states))
    if kind < 0.5:
        return Not(_guard(chance, chart, depth - 1))
    parts = tuple(_guard(chance, chart, depth - 1) for _ in range(chance.randint(1, 3)))
    return All(parts) if chance.random() < 0.5 else Any(parts)


def lead(kernel: Kernel, configuration: Configuration, bits: int, event: str) -> End | None:
    """Return the end of an event (or `automatic`) as it is, at once; None: it never rests."""
    try:
        if event == AUTOMATIC:
            return end_of(kernel.settle(configuration, bits))
        return end_of(kernel.send(configuration, bits, event, settle_first=False))
    except UnsettledError:
        return None
