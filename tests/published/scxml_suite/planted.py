"""Engines and charts that are wrong on purpose, to show that the comparison can fail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tests.helpers.charts import microstep
from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, MAXIMUM_ROUNDS, Firing, Microstep, Outcome
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ALWAYS, ChartSpec, Not, RuleSpec

Micro = tuple[Configuration, tuple[Firing, ...]]


class WrongCoordinator:
    """Runs a machine's microsteps as it should; each child does one thing otherwise."""

    def __init__(self, machine: ModeMachine) -> None:
        self.machine = machine

    def micro(self, configuration: Configuration, bits: int, event: str) -> Micro:
        return microstep(self.machine, configuration, bits, event)

    def step(
        self, configuration: Configuration, bits: int, event: str
    ) -> tuple[Microstep, Configuration]:
        after, fired = self.micro(configuration, bits, event)
        return Microstep(event, self.machine.kernel.pack(configuration), fired), after

    def settle(self, configuration: Configuration, bits: int) -> Outcome:
        steps: list[Microstep] = []
        for _ in range(MAXIMUM_ROUNDS):
            step, after = self.step(configuration, bits, AUTOMATIC)
            if not step.firings:
                break
            steps.append(step)
            configuration = after
        return Outcome(configuration, tuple(steps))

    def send(self, configuration: Configuration, bits: int, event: str) -> Outcome:
        first = self.settle(configuration, bits)
        refusal = self.machine.kernel.refusal(first.configuration, bits, event)
        if refusal is not None:
            return replace(first, refusal=refusal)
        return self.take(first, bits, event)

    def take(self, first: Outcome, bits: int, event: str) -> Outcome:
        step, after = self.step(first.configuration, bits, event)
        last = self.settle(after, bits)
        return Outcome(last.configuration, (*first.steps, step, *last.steps))


class SequentialGuards(WrongCoordinator):
    """A region's guards see what the regions before it have just done."""

    reverse = False

    def micro(self, configuration: Configuration, bits: int, event: str) -> Micro:
        fired: list[Firing] = []
        regions = self.machine.region_ids
        for region in reversed(regions) if self.reverse else regions:
            _, all_fired = microstep(self.machine, configuration, bits, event)
            for firing in all_fired:
                if firing.rule.region == region:
                    fired.append(firing)
                    after = list(configuration)
                    after[regions.index(region)] = firing.entered
                    configuration = tuple(after)
        return configuration, tuple(fired)


class SequentialGuardsBackwards(SequentialGuards):
    """The same with the regions in the opposite order: the order would decide."""

    reverse = True


class OneRegionAtATime(WrongCoordinator):
    """Only the first region with an enabled rule moves in a microstep."""

    def micro(self, configuration: Configuration, bits: int, event: str) -> Micro:
        _, fired = microstep(self.machine, configuration, bits, event)
        if not fired:
            return configuration, ()
        after = list(configuration)
        after[self.machine.region_index[fired[0].rule.region]] = fired[0].entered
        return tuple(after), fired[:1]


class NoSettlingBefore(WrongCoordinator):
    """The event is taken before what a change of signals has already enabled."""

    def send(self, configuration: Configuration, bits: int, event: str) -> Outcome:
        refusal = self.machine.kernel.refusal(configuration, bits, event)
        if refusal is not None:
            return replace(self.settle(configuration, bits), refusal=refusal)
        return self.take(Outcome(configuration, ()), bits, event)


class NoSettlingAfter(WrongCoordinator):
    """What the event enables waits for the next event."""

    def take(self, first: Outcome, bits: int, event: str) -> Outcome:
        step, after = self.step(first.configuration, bits, event)
        return Outcome(after, (*first.steps, step))


class OneRound(WrongCoordinator):
    """Settling stops after one round, whatever that round enables."""

    def settle(self, configuration: Configuration, bits: int) -> Outcome:
        step, after = self.step(configuration, bits, AUTOMATIC)
        return Outcome(after, (step,))


class RefusalsBeforeSettling(WrongCoordinator):
    """Refusals are judged on the configuration before it has settled."""

    def send(self, configuration: Configuration, bits: int, event: str) -> Outcome:
        refusal = self.machine.kernel.refusal(configuration, bits, event)
        first = self.settle(configuration, bits)
        if refusal is not None:
            return replace(first, refusal=refusal)
        return self.take(first, bits, event)


class NoRefusals(WrongCoordinator):
    """Every event is taken."""

    def send(self, configuration: Configuration, bits: int, event: str) -> Outcome:
        return self.take(self.settle(configuration, bits), bits, event)


class EventTwice(WrongCoordinator):
    """An event stays for a second microstep."""

    def take(self, first: Outcome, bits: int, event: str) -> Outcome:
        return super().take(super().take(first, bits, event), bits, event)


WRONG_COORDINATORS: tuple[type[WrongCoordinator], ...] = (
    SequentialGuards, SequentialGuardsBackwards, OneRegionAtATime, NoSettlingBefore,
    NoSettlingAfter, OneRound, RefusalsBeforeSettling, NoRefusals, EventTwice,
)  # fmt: skip


def mutants(chart: ChartSpec) -> Iterator[tuple[str, ChartSpec]]:
    """Yield (what was done, chart) for every rule and refusal, one fault each."""
    for rule in chart.rules.values():
        yield f"{rule.id}: dropped", _without(chart, rule)
        if rule.guard != ALWAYS:
            yield f"{rule.id}: unguarded", _with(chart, replace(rule, guard=ALWAYS))
            yield f"{rule.id}: guard denied", _with(chart, replace(rule, guard=Not(rule.guard)))
        other = next(s for s in chart.regions[rule.region].states if s != rule.target)
        yield f"{rule.id}: goes to {other}", _with(chart, replace(rule, target=other))
        if rule.before:
            yield f"{rule.id}: tried last", _tried_last(chart, rule)
    for refusal in chart.refusals.values():
        kept = {name: one for name, one in chart.refusals.items() if name != refusal.id}
        yield f"{refusal.id}: no longer refused", replace(chart, refusals=kept)


def _without(chart: ChartSpec, rule: RuleSpec) -> ChartSpec:
    return replace(chart, rules={k: v for k, v in chart.rules.items() if k != rule.id})


def _with(chart: ChartSpec, rule: RuleSpec) -> ChartSpec:
    return replace(chart, rules={**chart.rules, rule.id: rule})


def _tried_last(chart: ChartSpec, rule: RuleSpec) -> ChartSpec:
    rules = sorted(ordered_rules(chart.rules), key=lambda one: one.id == rule.id)
    return replace(chart, rules={one.id: replace(one, before=()) for one in rules})
