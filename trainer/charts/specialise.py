"""A chart for one installation: only what its options leave, so that guards need no options.

States, regions, events, rules and refusals whose needs the chosen options don't meet are taken
out, and guards that named them are simplified.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from operator import is_
from typing import TypeVar

from trainer.charts.spec import (
    All,
    Any,
    ChartSpec,
    Guard,
    In,
    InvariantSpec,
    Not,
    OptionNeeds,
    Reason,
    RefusalSpec,
    RegionSpec,
    RuleSpec,
)

Part = TypeVar("Part")


def needs_met(needs: OptionNeeds, options: Mapping[str, str]) -> bool:
    """Return True if the chosen options satisfy the needs.

    Example:
        >>> needs_met((("key_again", ("off",)),), {"key_again": "ignored"})
        False
    """
    return all(options[name] in choices for name, choices in needs)


def specialise(
    chart: ChartSpec, options: Mapping[str, str], like: tuple[ChartSpec, ChartSpec] | None = None
) -> ChartSpec:
    """Return the chart that remains under the chosen options.

    Args:
        chart: A loaded chart.
        options: A choice for every option of the chart.
        like: Another chart and what these options leave of it. Rules and the like that the two
            charts share are taken from there, which is far quicker where little is patched.

    Example:
        >>> from trainer.charts.smallest import SMALLEST_CHART
        >>> from trainer.document import parse_document
        >>> from trainer.charts.loader import read_chart
        >>> lamp = read_chart(parse_document(SMALLEST_CHART))
        >>> tuple(specialise(lamp, {"key_again": "ignored"}).rules)  # `goes_off` is gone
        ('lights', 'fails')
    """
    regions = fitted_regions(chart, options)
    events = {e.id: e for e in chart.events.values() if needs_met(e.needs, options)}
    if like is None or (like[0].regions, like[0].events) != (chart.regions, chart.events):
        nothing = replace(chart, rules={}, refusals={}, invariants={}, conditions={})
        like = nothing, nothing
    before, after = like
    return replace(
        chart,
        regions=regions,
        events=events,
        rules=_kept(
            chart.rules, before.rules, after.rules,
            lambda rule: _rule(rule, regions, events, chart, options),
        ),
        refusals=_kept(
            chart.refusals, before.refusals, after.refusals,
            lambda refusal: _refusal(refusal, regions, events, chart, options),
        ),
        invariants=_kept(
            chart.invariants, before.invariants, after.invariants,
            lambda one: _invariant(one, regions, chart, options),
        ),
        conditions=_kept(
            chart.conditions, before.conditions, after.conditions,
            lambda guard: simplify(guard, regions, chart),
        ),
    )  # fmt: skip


def _kept(
    parts: Mapping[str, Part],
    before: Mapping[str, Part],
    after: Mapping[str, Part],
    specialised: Callable[[Part], Part | None],
) -> dict[str, Part]:
    """Return what remains of parts of a chart, by id.

    Args:
        parts: The parts.
        before: Those of the chart that this one is like.
        after: What remained of those.
        specialised: Gives what remains of one part; None if nothing does.
    """
    kept = {
        name: after.get(name) if before.get(name) is part else specialised(part)
        for name, part in parts.items()
    }
    return {name: part for name, part in kept.items() if part is not None}


def fitted_regions(chart: ChartSpec, options: Mapping[str, str]) -> dict[str, RegionSpec]:
    """Return the regions that remain under the chosen options, each with the states that do."""
    return {
        region.id: replace(
            region,
            states={s.id: s for s in region.states.values() if needs_met(s.needs, options)},
        )
        for region in chart.regions.values()
        if needs_met(region.needs, options)
    }


def _refusal(
    refusal: RefusalSpec,
    regions: Mapping[str, RegionSpec],
    events: Mapping[str, object],
    chart: ChartSpec,
    options: Mapping[str, str],
) -> RefusalSpec | None:
    triggers = tuple(e for e in refusal.events if e in events)
    if not triggers or not needs_met(refusal.needs, options):
        return None
    return replace(
        refusal,
        events=triggers,
        guard=simplify(refusal.guard, regions, chart),
        reasons=_reasons(refusal.reasons, regions, chart),
    )


def _invariant(
    one: InvariantSpec,
    regions: Mapping[str, RegionSpec],
    chart: ChartSpec,
    options: Mapping[str, str],
) -> InvariantSpec | None:
    if not needs_met(one.needs, options):
        return None
    if_, then = (simplify(guard, regions, chart) for guard in (one.if_, one.then))
    return replace(one, if_=if_, then=then)


def _rule(
    rule: RuleSpec,
    regions: Mapping[str, RegionSpec],
    events: Mapping[str, object],
    chart: ChartSpec,
    options: Mapping[str, str],
) -> RuleSpec | None:
    region = regions.get(rule.region)
    if region is None or rule.target not in region.states or not needs_met(rule.needs, options):
        return None
    sources = tuple(s for s in rule.sources if s in region.states)
    triggers = tuple(e for e in rule.events if e in events)
    guard = simplify(rule.guard, regions, chart)
    if not sources or (rule.events and not triggers) or _is_never(guard):
        return None
    reasons = _reasons(rule.reasons, regions, chart)
    if guard is rule.guard and (sources, triggers, reasons) == (
        rule.sources, rule.events, rule.reasons,
    ):  # fmt: skip
        return rule
    return replace(rule, sources=sources, events=triggers, guard=guard, reasons=reasons)


def _reasons(
    reasons: tuple[Reason, ...], regions: Mapping[str, RegionSpec], chart: ChartSpec
) -> tuple[Reason, ...]:
    simpler = [replace(one, guard=simplify(one.guard, regions, chart)) for one in reasons]
    return tuple(one for one in simpler if not _is_never(one.guard))


def simplify(guard: Guard, regions: Mapping[str, RegionSpec], chart: ChartSpec) -> Guard:
    """Return the guard with states and regions that aren't fitted resolved to always or never."""
    match guard:
        case In(region, states):
            if region not in regions:
                return All() if chart.regions[region].initial in states else Any()
            kept = frozenset(states & regions[region].states.keys())
            if not kept:
                return Any()
            if len(kept) == len(regions[region].states):
                return All()
            return guard if kept == states else In(region, kept)
        case Not(part):
            inner = simplify(part, regions, chart)
            if _is_always(inner):
                return Any()
            if _is_never(inner):
                return All()
            return guard if inner is part else Not(inner)
        case All(parts):
            return _joined(guard, [simplify(part, regions, chart) for part in parts], All)
        case Any(parts):
            return _joined(guard, [simplify(part, regions, chart) for part in parts], Any)
        case _:
            return guard


def _joined(guard: All | Any, parts: list[Guard], kind: type[All] | type[Any]) -> Guard:
    """Return the guard with its parts simplified; itself if none of them has changed."""
    decides, adds_nothing = (_is_never, _is_always) if kind is All else (_is_always, _is_never)
    kept = []
    for part in parts:
        if decides(part):
            return part
        if not adds_nothing(part):
            kept.append(part)
    if len(kept) == 1:
        return kept[0]
    is_same = len(kept) == len(guard.parts) and all(map(is_, kept, guard.parts))
    return guard if is_same else kind(tuple(kept))


def _is_always(guard: Guard) -> bool:
    return isinstance(guard, All) and not guard.parts


def _is_never(guard: Guard) -> bool:
    return isinstance(guard, Any) and not guard.parts
