"""Charts with one rule spoiled, made systematically, and what tells them from the true chart.

A mutant changes a single rule or refusal: the rule dropped, a part of its guard dropped or negated,
a state of a guard, a source, an event, an order or an effect dropped, the target changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from tests.helpers.charts import Case, machine_for, read_cases, run_case, run_event, states_of
from trainer.charts.conflicts import check_conflicts, ordered_rules
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, RefusalSpec, RuleSpec, Signal
from trainer.errors import FileError

Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Mutant:
    """The generic chart with one rule changed; `rule` None: taken out."""

    chart: ChartSpec
    name: str
    operator: str
    original: RuleSpec | RefusalSpec
    rule: RuleSpec | RefusalSpec | None

    @cached_property
    def spoiled(self) -> ChartSpec:
        """The whole chart with the change."""
        section = "rules" if isinstance(self.original, RuleSpec) else "refusals"
        kept = {
            one.id: (self.rule if one.id == self.original.id else one)
            for one in getattr(self.chart, section).values()
        }
        return replace(self.chart, **{section: {k: v for k, v in kept.items() if v is not None}})

    @property
    def needed_options(self) -> dict[str, str]:
        """Choices other than the defaults under which the rule is there."""
        options = self.chart.options
        return {
            name: choices[0]
            for name, choices in self.original.needs
            if options[name].default not in choices
        }

    def keeps_the_order(self) -> bool:
        """True if the rules come in the same order as before, so that the machines are the same.

        The guards that the order stood for exclude each other, or another order says it too.
        """
        if self.operator != "drop an order":
            return False
        mine = [rule.id for rule in ordered_rules(self.spoiled.rules)]
        return mine == [rule.id for rule in ordered_rules(self.chart.rules)]

    def refused_when_loading(self) -> bool:
        """True if the loader's own checks don't accept the changed chart."""
        rule = self.rule
        if isinstance(rule, RuleSpec) and not rule.events and rule.target in rule.sources:
            return True
        try:
            check_conflicts(self.spoiled)
        except FileError:
            return True
        return False


def all_mutants(chart: ChartSpec) -> list[Mutant]:
    """Return every mutant of every rule and refusal, in file order."""
    return [
        Mutant(chart, f"{rule.id}: {what}", operator, rule, changed)
        for rule in (*chart.rules.values(), *chart.refusals.values())
        for operator, what, changed in _changes(rule, chart)
    ]


Change = tuple[str, str, RuleSpec | RefusalSpec | None]


def _changes(rule: RuleSpec | RefusalSpec, chart: ChartSpec) -> Iterator[Change]:
    yield "drop rule", "dropped", None
    if rule.guard != All() and not isinstance(rule.guard, All):
        yield "drop guard part", "no guard", replace(rule, guard=All())
    for operator, what, guard in _guard_changes(rule.guard):
        yield operator, what, replace(rule, guard=guard)
    if len(rule.events) > 1:
        for event in rule.events:
            left = tuple(one for one in rule.events if one != event)
            yield "drop an event", f"not on {event}", replace(rule, events=left)
    if isinstance(rule, RuleSpec):
        yield from _rule_changes(rule, chart)


def _rule_changes(rule: RuleSpec, chart: ChartSpec) -> Iterator[Change]:
    states = list(chart.regions[rule.region].states)
    others = [one for one in states if one != rule.target and one not in rule.sources]
    later = [one for one in others if states.index(one) > states.index(rule.target)]
    if others:
        target = (later or others)[0]
        yield "change target", f"to {target}", replace(rule, target=target)
    if len(rule.sources) > 1:
        for source in rule.sources:
            left = tuple(one for one in rule.sources if one != source)
            yield "drop a source", f"not from {source}", replace(rule, sources=left)
    for name in rule.before:
        left = tuple(one for one in rule.before if one != name)
        yield "drop an order", f"not before {name}", replace(rule, before=left)
    for name in rule.effects:
        left = tuple(one for one in rule.effects if one != name)
        yield "drop an effect", f"without {name}", replace(rule, effects=left)


def _guard_changes(guard: Guard) -> Iterator[tuple[str, str, Guard]]:
    """Yield the guard with one part of it, at any depth, dropped or negated."""
    match guard:
        case Signal(name):
            yield "negate a guard part", f"not {name}", Not(guard)
        case In(region, states):
            yield "negate a guard part", f"not in {region}", Not(guard)
            for state in sorted(states) if len(states) > 1 else ():
                left = In(region, states - {state})
                yield "drop a guard state", f"without {region} {state}", left
        case Not(part):
            for operator, what, changed in _guard_changes(part):
                yield operator, f"in not: {what}", Not(changed)
        case All(parts) | Any(parts):
            kind = type(guard)
            for index, part in enumerate(parts):
                rest = (*parts[:index], *parts[index + 1 :])
                if parts and (len(parts) > 1 or kind is All):
                    yield "drop guard part", f"without part {index + 1}", kind(rest)
                for operator, what, changed in _guard_changes(part):
                    one = kind((*parts[:index], changed, *parts[index + 1 :]))
                    yield operator, f"part {index + 1} {what}", one


class Judge:
    """Runs the behaviour cases on mutants; a case that the true chart fails judges nothing."""

    def __init__(self, chart: ChartSpec, cases: Iterable[Case] | None = None) -> None:
        found = read_cases() if cases is None else cases
        self.cases = [case for case in found if not case.disagrees]
        self._true: dict[Options, ModeMachine] = {}
        self._fired: dict[str, frozenset[str]] = {}
        self.chart = chart
        for case in self.cases:
            self._fired[case.name] = self._watch(case)

    def killer(self, mutant: Mutant) -> str:
        """Return the name of a case that the mutant fails, or an empty text."""
        machines: dict[Options, ModeMachine] = {}
        rule = mutant.original.id
        for case in sorted(self.cases, key=lambda one: rule not in self._fired[one.name]):
            options = _key(case.options)
            if not self._has(options, rule):
                continue
            machine = machines.get(options)
            if machine is None:
                machine = machines[options] = machine_for(mutant.spoiled, case.options)
            if run_case(case, machine):
                return case.name
        return ""

    def _machine(self, options: Options) -> ModeMachine:
        if options not in self._true:
            self._true[options] = machine_for(self.chart, dict(options))
        return self._true[options]

    def _has(self, options: Options, rule: str) -> bool:
        chart = self._machine(options).chart
        return rule in chart.rules or rule in chart.refusals

    def _watch(self, case: Case) -> frozenset[str]:
        machine = self._machine(_key(case.options))
        assert run_case(case, machine) == "", case.name
        if case.no_such_key:
            return frozenset()
        start = machine.configuration(states_of(case.start, machine.chart))
        bits = machine.bits(case.after)
        outcome = run_event(machine, start, bits, case.event)
        names = {firing.rule.id for firing in outcome.firings}
        return frozenset(names | ({outcome.refusal.id} if outcome.refusal else set()))


def _key(options: Mapping[str, str]) -> Options:
    return tuple(sorted(options.items()))
