"""Wrong rules made from a chart itself, for charts that nobody has written misconceptions for.

Two ways in which mental models get simpler than the logic (Javaux, from memory): a condition
that is almost always true drops out (frequential), and a rule is carried over to a similar key
(inferential). What comes out are candidates; an instructor confirms or drops them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from trainer.assessment.wrong_rules.misconception import Add, Drop, Misconception, Operation, Relax
from trainer.charts.guard import Configuration, regions_in, signals_in
from trainer.charts.kernel import AUTOMATIC, Kernel, holds
from trainer.charts.spec import (
    All,
    ChartSpec,
    EventSpec,
    Guard,
    In,
    Not,
    RegionSpec,
    RuleSpec,
    Signal,
)

Occurrence = tuple[Configuration, int, str]
"""Configuration, signal bits and event (or `automatic`) as they come up in practice."""

RARELY_FALSE = 0.8
"""A condition true in at least this share of the occurrences of its rule may drop out."""


def dropped_conditions(
    chart: ChartSpec,
    occurrences: Iterable[Occurrence],
    least_share: float = RARELY_FALSE,
) -> tuple[Misconception, ...]:
    """Return candidates that leave out a condition which is rarely false in practice.

    Args:
        chart: The installation's specialised chart.
        occurrences: What comes up in practice, for instance the situations of an item bank.
        least_share: Share of a rule's occurrences in which the condition holds.
    """
    kernel = Kernel(chart)
    by_event: dict[str, list[tuple[Configuration, int]]] = {}
    for configuration, bits, event in occurrences:
        by_event.setdefault(event, []).append((configuration, bits))
    found: list[Misconception] = []
    for rule in chart.rules.values():
        index = kernel.region_index[rule.region]
        met = [
            pair
            for event in rule.events or (AUTOMATIC,)
            for pair in by_event.get(event, ())
            if pair[0][index] in rule.sources
        ]
        for part in _parts(rule.guard):
            tests = kernel.tests(part)
            times = sum(holds(tests, kernel.pack(here), bits) for here, bits in met)
            if met and least_share <= times / len(met) < 1.0:
                found.append(_without(rule, part, chart))
    return tuple(found)


def carried_over_rules(chart: ChartSpec) -> tuple[Misconception, ...]:
    """Return candidates in which one key does what another key of its group does.

    Args:
        chart: The installation's specialised chart.
    """
    keys = [event for event in chart.events.values() if event.kind == "key"]
    own = {key.id: _own_mode(chart, key.id) for key in keys}
    found: dict[tuple[object, ...], Misconception] = {}
    for rule in chart.rules.values():
        for source in keys:
            if source.id not in rule.events:
                continue
            for other in keys:
                if other.group != source.group or other.id in rule.events:
                    continue
                for one in _carried(rule, source, other, own, chart):
                    added = one.operations[0]
                    assert isinstance(added, Add)
                    assert added.rule is not None
                    made = added.rule
                    key = (made.region, made.events, made.sources, made.target, made.guard)
                    found.setdefault(key, one)
    return tuple(found.values())


def dropped_rules(chart: ChartSpec) -> tuple[Misconception, ...]:
    """Return candidates that don't know one rule or refusal of the chart.

    Args:
        chart: The installation's specialised chart.
    """
    rules = [
        Misconception(
            f"unknown_{rule.id}", f"Not so: {rule.because}", "", "automatic", "rule not known",
            (Drop(rules=(rule.id,)),),
        )
        for rule in chart.rules.values()
    ]  # fmt: skip
    refusals = [
        Misconception(
            f"unknown_{one.id}", f"Not refused: {one.reason}", "", "automatic", "rule not known",
            (Drop(refusals=(one.id,)),),
        )
        for one in chart.refusals.values()
    ]  # fmt: skip
    return (*rules, *refusals)


def forgotten_conditions(chart: ChartSpec) -> tuple[Misconception, ...]:
    """Return candidates that leave out any one condition of a rule, however often it is false.

    Args:
        chart: The installation's specialised chart.
    """
    return tuple(
        _without(rule, part, chart) for rule in chart.rules.values() for part in _parts(rule.guard)
    )


def _parts(guard: Guard) -> Iterator[Guard]:
    if isinstance(guard, All):
        for part in guard.parts:
            yield from _parts(part)
    elif isinstance(guard, Signal | In | Not):
        yield guard


def _without(rule: RuleSpec, part: Guard, chart: ChartSpec) -> Misconception:
    names = signals_in(part) | regions_in(part)
    operations: tuple[Operation, ...] = (Relax((rule.id,), names),)
    words = " and ".join(_label(name, chart) for name in sorted(names))
    sentence = f"Without regard to this: {words}. {rule.because}"
    name = f"dropped_{rule.id}_{'_'.join(sorted(names))}"
    return Misconception(name, sentence, "", "automatic", "condition rarely false", operations)


def _label(name: str, chart: ChartSpec) -> str:
    signal = chart.signals.get(name)
    return signal.label if signal is not None else chart.regions[name].label.lower()


def _own_mode(chart: ChartSpec, key: str) -> str:
    """Return the mode that a key is for: what it mostly makes active, or what it arms."""
    targets: Counter[str] = Counter()
    for rule in chart.rules.values():
        region = chart.regions[rule.region]
        if key not in rule.events:
            continue
        if region.kind == "armed" and rule.target != region.initial:
            targets[region.arms] += 2
        elif region.kind == "active" and rule.target not in rule.sources:
            targets[rule.target] += len(rule.sources)
    return targets.most_common(1)[0][0] if targets else ""


def _outcome_words(region: RegionSpec, target: str) -> str:
    """Return what becomes of a region; the states of an armed one say it by themselves."""
    label = region.states[target].label
    return label if region.kind == "armed" else f"{region.label.lower()} becomes {label}"


def _carried(
    rule: RuleSpec, source: EventSpec, other: EventSpec, own: Mapping[str, str], chart: ChartSpec
) -> Iterator[Misconception]:
    """Yield the rule of one key carried over to the other, its own mode put in place."""
    states = chart.regions[rule.region].states
    mode, analogue = own[source.id], own[other.id]
    target = analogue if rule.target == mode and analogue in states else rule.target
    if mode in rule.sources and len(rule.sources) == 1 and analogue in states:
        sources: tuple[str, ...] = (analogue,)
    else:
        sources = tuple(state for state in rule.sources if state != target)
    if not sources or target in sources or (rule.target == mode and target == mode and analogue):
        return
    name = f"carried_{rule.id}_{other.id}"
    sentence = (
        f"The {other.label.lower()} key works as the {source.label.lower()} key does: "
        f"{_outcome_words(chart.regions[rule.region], target)}."
    )
    made = replace(
        rule, id=f"believed_{name}", events=(other.id,), sources=sources, target=target,
        because=sentence, source="believed", before=(), needs=(), reasons=(),
    )  # fmt: skip
    yield Misconception(
        name, sentence, "", "automatic", f"carried over from '{rule.id}'", (Add(rule=made),)
    )
