"""Sequences of signal changes and events, random and directed, and their comparison.

A step changes any number of signals at once and then sends one event. Signals stay physically
possible, as the chart's `implies` and `excludes` say. A directed walk tries several steps on our
engine and takes the one whose rules have fired least so far, so that rare rules are reached; it
decides only which way to go, never what is right.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Protocol

from tests.published.scxml_suite.engines import NOTHING, ReferenceEngine
from trainer.charts.conflicts import signal_constraints
from trainer.charts.guard import Configuration
from trainer.charts.kernel import Outcome
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec

CANDIDATES = 12


@dataclass(frozen=True, slots=True)
class Step:
    """Signals that are true from here on, then an event."""

    true: frozenset[str]
    event: str


Walk = tuple[Step, ...]


class Coordinator(Protocol):
    """What runs a chart: ours, or a wrong one."""

    def settle(self, configuration: Configuration, bits: int) -> Outcome: ...

    def send(self, configuration: Configuration, bits: int, event: str) -> Outcome: ...


def possible(chart: ChartSpec, wanted: Iterable[str], random: Random) -> frozenset[str]:
    """Return the wanted signals made physically possible: some are added, some dropped."""
    implies, excludes = signal_constraints(chart)
    order = sorted(wanted)
    random.shuffle(order)
    true: set[str] = set()
    for name in order:
        added = {name, *implies[name]}
        if not any(excludes[one] & true for one in added):
            true |= added
    return frozenset(true)


def random_walk(chart: ChartSpec, length: int, seed: int) -> Walk:
    """Return a walk that knows nothing: few flips at a time, any event."""
    random = Random(seed)
    events, signals = sorted(chart.events), sorted(chart.signals)
    true: frozenset[str] = possible(chart, random.sample(signals, len(signals) // 2), random)
    walk: list[Step] = []
    for _ in range(length):
        flips = set(random.sample(signals, random.choice((0, 0, 1, 1, 2, 5))))
        true = possible(chart, true ^ flips, random)
        walk.append(Step(true, random.choice(events)))
    return tuple(walk)


def directed_walk(
    machine: ModeMachine, length: int, seed: int, fired: Counter[str] | None = None
) -> Walk:
    """Return a walk that leans towards rules and refusals seldom met; `fired` is counted on."""
    random, counts = Random(seed), Counter[str]() if fired is None else fired
    chart, configuration = machine.chart, machine.initial
    events, signals = sorted(chart.events), sorted(chart.signals)
    true: frozenset[str] = frozenset()
    walk: list[Step] = []
    for _ in range(length):
        best: tuple[float, Step, Outcome, list[str]] | None = None
        for _ in range(CANDIDATES):
            flips = set(random.sample(signals, random.choice((0, 1, 1, 2, 3))))
            step = Step(possible(chart, true ^ flips, random), random.choice(events))
            outcome = machine.send(configuration, machine.bits(step.true), step.event)
            met = [one.rule.id for one in outcome.firings]
            met += [outcome.refusal.id] if outcome.refusal else []
            rarity = min((counts[one] for one in met), default=10**6) + random.random()
            if best is None or rarity < best[0]:
                best = (rarity, step, outcome, met)
        assert best is not None
        _, step, outcome, met = best
        counts.update(met)
        configuration, true = outcome.configuration, step.true
        walk.append(step)
    return tuple(walk)


@dataclass(frozen=True, slots=True)
class Trace:
    """What a reference engine did on a walk: configurations after settling and after the event."""

    walk: Walk
    start: Configuration
    settled: tuple[Configuration, ...]
    after: tuple[Configuration, ...]
    fired: tuple[tuple[str, ...], ...] = ()


def record(engine: ReferenceEngine, walk: Walk) -> Trace:
    """Return what a reference engine does on a walk, from its start."""
    engine.restart()
    start = engine.configuration()
    settled: list[Configuration] = []
    after: list[Configuration] = []
    fired: list[tuple[str, ...]] = []
    true: frozenset[str] = frozenset()
    for step in walk:
        first: tuple[str, ...] = ()
        if step.true != true:
            true = step.true
            engine.set_signals(true)
            engine.send(NOTHING)
            first = tuple(getattr(engine, "fired", ()))
        settled.append(engine.configuration())
        engine.send(step.event)
        fired.append((*first, *getattr(engine, "fired", ())))
        after.append(engine.configuration())
    seen = tuple(fired) if hasattr(engine, "fired") else ()
    return Trace(walk, start, tuple(settled), tuple(after), seen)


@dataclass(frozen=True, slots=True)
class Difference:
    """A step where our engine and a reference engine part."""

    step: int
    event: str
    ours: Configuration
    theirs: Configuration
    what: str


def differences(
    machine: ModeMachine, coordinator: Coordinator, trace: Trace, *, stop_at_first: bool = False
) -> list[Difference]:
    """Return where our engine parts from a trace; after a difference it goes on from theirs."""
    found: list[Difference] = []
    configuration = coordinator.settle(machine.initial, 0).configuration
    if configuration != trace.start:
        found.append(Difference(-1, "", configuration, trace.start, "start"))
    configuration = trace.start
    for index, step in enumerate(trace.walk):
        bits = machine.bits(step.true)
        settled = coordinator.settle(configuration, bits).configuration
        outcome = coordinator.send(configuration, bits, step.event)
        pairs: Sequence[tuple[str, Configuration, Configuration]] = (
            ("settled", settled, trace.settled[index]),
            ("after", outcome.configuration, trace.after[index]),
        )
        for what, ours, theirs in pairs:
            if ours != theirs:
                found.append(Difference(index, step.event, ours, theirs, what))
        if trace.fired:
            ours_fired = tuple(sorted(one.rule.id for one in outcome.firings))
            if ours_fired != tuple(sorted(trace.fired[index])):
                found.append(Difference(index, step.event, ours_fired, trace.fired[index], "fired"))
        if found and stop_at_first:
            return found
        configuration = trace.after[index]
    return found
