"""A misconception: a wrong rule in a member's head, executable as a patch on a chart.

Values and the one function that applies them. Rules that a patch adds come before the chart's
own, because a belief wins over the truth in the head that holds it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

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
)
from trainer.charts.specialise import fitted_regions, specialise
from trainer.errors import TrainerError

Evidence = Literal["documented", "derived", "automatic"]
"""documented: the confusion stands in the source named; derived: plausible, no study seen;
automatic: made by dropping or copying a rule of the chart."""


class PatchError(TrainerError):
    """A patch that can't be applied to a chart."""


@dataclass(frozen=True, slots=True)
class Drop:
    """Rules and refusals that the member doesn't know."""

    rules: tuple[str, ...] = ()
    refusals: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Add:
    """A rule or refusal that only the member believes in."""

    rule: RuleSpec | None = None
    refusal: RefusalSpec | None = None


@dataclass(frozen=True, slots=True)
class Retarget:
    """Rules that the member thinks lead elsewhere."""

    rules: tuple[str, ...]
    to: str


@dataclass(frozen=True, slots=True)
class Restrict:
    """Rules and refusals that the member ties to one condition more."""

    names: tuple[str, ...]
    guard: Guard


@dataclass(frozen=True, slots=True)
class Relax:
    """Rules and refusals whose condition on some signals or regions the member has dropped."""

    names: tuple[str, ...]
    drop: frozenset[str]


@dataclass(frozen=True, slots=True)
class ChooseOption:
    """The logic of another aircraft: one option set otherwise."""

    option: str
    choice: str


Operation = Drop | Add | Retarget | Restrict | Relax | ChooseOption


@dataclass(frozen=True, slots=True)
class Misconception:
    """One wrong rule.

    Attributes:
        id: Its name in results and files.
        sentence: The wrong rule in one plain sentence, as the member would say it.
        needs: Options under which it is wrong; elsewhere it isn't used.
        lesson: Id of the lesson that mends it; empty: none yet.
    """

    id: str
    sentence: str
    competency: str
    evidence: Evidence
    source: str
    operations: tuple[Operation, ...]
    needs: tuple[tuple[str, tuple[str, ...]], ...] = ()
    lesson: str = ""
    path: str = ""
    line: int = 0


def patched_chart(
    generic: ChartSpec,
    options: Mapping[str, str],
    operations: tuple[Operation, ...],
    truth: ChartSpec | None = None,
) -> ChartSpec:
    """Return the specialised chart as a member sees it who holds these wrong rules.

    Args:
        generic: The chart before specialisation.
        options: A choice for every option.
        operations: The patches, applied in order.
        truth: The specialised chart without them, if it is at hand: what no patch touches is taken
            from it.

    Raises:
        PatchError: The patched chart would show other regions or states than the aircraft has.
    """
    chosen = dict(options)
    for operation in operations:
        if isinstance(operation, ChooseOption):
            chosen[operation.option] = operation.choice
    patched = reduce(apply, operations, generic)
    like = (generic, truth) if truth is not None and chosen == options else None
    result = specialise(patched, chosen, like)
    if _shape(result.regions) != _shape(fitted_regions(generic, options)):
        raise PatchError("the wrong rule needs parts that this aircraft hasn't got")
    return result


def _shape(regions: Mapping[str, RegionSpec]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return tuple((region.id, tuple(region.states)) for region in regions.values())


def apply(chart: ChartSpec, operation: Operation) -> ChartSpec:
    """Return a chart with one patch applied; names that aren't there are left out."""
    match operation:
        case Drop(rules, refusals):
            return replace(
                chart,
                rules={k: v for k, v in chart.rules.items() if k not in rules},
                refusals={k: v for k, v in chart.refusals.items() if k not in refusals},
            )
        case Add(rule, refusal):
            own_rules = {rule.id: rule} if rule is not None else {}
            own_refusals = {refusal.id: refusal} if refusal is not None else {}
            return replace(
                chart, rules=own_rules | chart.rules, refusals=own_refusals | chart.refusals
            )
        case Retarget(names, to):
            moved = {name: replace(chart.rules[name], target=to) for name in _known(chart, names)}
            return replace(chart, rules=chart.rules | moved)
        case Restrict(names, guard):
            return _with_guards(chart, names, lambda old: All((old, guard)))
        case Relax(names, dropped):
            return _with_guards(chart, names, lambda old: relaxed(old, dropped))
        case ChooseOption():
            return chart


def _known(chart: ChartSpec, names: tuple[str, ...]) -> list[str]:
    return [name for name in names if name in chart.rules]


def _with_guards(
    chart: ChartSpec, names: tuple[str, ...], change: Callable[[Guard], Guard]
) -> ChartSpec:
    rules = {
        name: replace(chart.rules[name], guard=change(chart.rules[name].guard))
        for name in _known(chart, names)
    }
    refusals = {
        name: replace(chart.refusals[name], guard=change(chart.refusals[name].guard))
        for name in names
        if name in chart.refusals
    }
    return replace(chart, rules=chart.rules | rules, refusals=chart.refusals | refusals)


def relaxed(guard: Guard, dropped: frozenset[str]) -> Guard:
    """Return a guard whose parts on the named signals and regions always hold.

    Example:
        >>> relaxed(All((Signal("a"), Not(Signal("b")))), frozenset({"b"}))
        All(parts=(Signal(name='a'), All(parts=())))
    """
    match guard:
        case Signal(name):
            return All() if name in dropped else guard
        case In(region, _):
            return All() if region in dropped else guard
        case Not(Signal(name)) if name in dropped:
            return All()
        case Not(In(region, _)) if region in dropped:
            return All()
        case Not(part):
            return Not(relaxed(part, dropped))
        case All(parts):
            return All(tuple(relaxed(part, dropped) for part in parts))
        case Any(parts):
            return Any(tuple(relaxed(part, dropped) for part in parts))
