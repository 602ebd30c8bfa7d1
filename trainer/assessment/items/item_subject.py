"""What an item speaks for: its competency, its difficulty band, and whether it is critical.

The chart says it: each rule and refusal names its competency, and its critical group if it has one.
An item speaks for its telling rule. The only exceptions are two competencies that the situation of
the question decides, whatever the rule: that nothing happens (`WATCHING`), and a mode chosen by key
while the autopilot is off (`DIRECTOR_ONLY`).
"""

from __future__ import annotations

from collections.abc import Iterable

from trainer.assessment.items.item import Band, Item
from trainer.charts.guard import Configuration
from trainer.charts.kernel import REFUSALS, Row
from trainer.charts.spec import ChartSpec, RefusalSpec, RuleSpec
from trainer.session.annunciation import changed_cells

_MODE_KINDS = ("engagement", "active", "armed")
_CHANGES, _WHILE = " changes ", " while "
WATCHING = "verification_and_vigilance"
DIRECTOR_ONLY = "director_without_autopilot"
_SELECTION = ("lateral_selection", "vertical_selection")
"""Of which a choice by key counts for `DIRECTOR_ONLY` while the autopilot is off."""

Moment = tuple[str, tuple[str, ...]]
"""An event, and what was so when it came."""


def competency_of(item: Item, chart: ChartSpec) -> str:
    """Return the competency that an item speaks for."""
    if not item.rules:
        return WATCHING
    competency = telling_rule(item, chart).competency
    is_director_only = item.before.engagement in ("no_guidance", "director")
    if competency in _SELECTION and item.stimulus.kind == "key" and is_director_only:
        return DIRECTOR_ONLY
    return competency


def telling_rule(item: Item, chart: ChartSpec) -> RuleSpec | RefusalSpec:
    """Return the rule or refusal that an item is about: the first that answers what is done in it.

    What acts by itself only follows from that. Where nothing is done, or nothing answers it, the
    first that acts is the cause of the rest.

    Args:
        item: An item with rules.
        chart: The specialised chart.
    """
    known = chart.rules_and_refusals
    named = [known[name] for name in item.rules]
    answering = (one for one in named if not set(one.events).isdisjoint(item.stimulus.keys))
    return next(answering, named[0])


def competencies_asked(chart: ChartSpec) -> frozenset[str]:
    """Return the competencies that an item of a chart can speak for; no other is ever checked.

    Args:
        chart: The specialised chart.
    """
    own = {one.competency for one in chart.rules_and_refusals.values()}
    by_situation = {WATCHING} if own.isdisjoint(_SELECTION) else {WATCHING, DIRECTOR_ONLY}
    return frozenset(own | by_situation)


def competencies_resting_on(rule: RuleSpec | RefusalSpec) -> tuple[str, ...]:
    """Return the competencies that an answer about a rule may count for, its own first.

    What a change of the rule expires. That nothing happened rests on no rule: noticing it is a
    habit that no edit takes away, and a key that no longer does nothing has a rule of its own.
    """
    is_chosen_by_key = rule.competency in _SELECTION and rule.events
    return (rule.competency, DIRECTOR_ONLY) if is_chosen_by_key else (rule.competency,)


def rules_behind(competency: str, chart: ChartSpec) -> tuple[str, ...]:
    """Return the rules and refusals that an answer for a competency may rest on, as in the chart.

    Args:
        competency: Its id.
        chart: A chart, specialised or not.
    """
    known = chart.rules_and_refusals.items()
    return tuple(name for name, one in known if competency in competencies_resting_on(one))


def band_of(item: Item) -> Band:
    """Return the difficulty band.

    Plain: one cell changes, by the pilot's own key. Hard: nothing changes, the key is refused, or
    something changes that no key asked for. The rest lies between.
    """
    changed = changed_cells(item.before, item.true)
    if not changed or item.stimulus.kind == "wait":
        return "hard"
    return "plain" if len(changed) == 1 else "middle"


def critical_group(item: Item, chart: ChartSpec) -> str:
    """Return the critical group of an item, or an empty text: one of each group must be right.

    Only where it is asked about: what a critical rule answers is done, or it is what the wait leads
    to first. A caution that goes because another key leaves the approach isn't what that key is
    asked for. Several keys at once aren't critical either: a wrong answer may be about any of them.
    """
    if item.is_sequence:
        return ""
    known = chart.rules_and_refusals
    named = [known[name] for name in item.rules]
    asked = [one for one in named if item.stimulus.key in one.events]
    if item.stimulus.kind == "wait":
        asked = named[:1]
    return next((one.critical for one in asked if one.critical), "")


def topics_of(
    item: Item, rows: Iterable[Row], moments: Iterable[Moment], chart: ChartSpec
) -> tuple[str, ...]:
    """Return what an answer is about, for a wrong rule that isn't listed.

    The events, what they do to a region, in which state, and while what else is so; for one event
    also what it changes.

    Args:
        item: The item.
        rows: Rows of the chart that show in the answer.
        moments: The events with all that was so when they came.
        chart: The specialised chart.
    """
    regions = tuple(chart.regions)
    found: dict[str, None] = {}
    for event, region, state in rows:
        what = "refused" if region == REFUSALS else regions[region]
        for name in (event, f"{event}: {what}", f"{event}: {what}, {state}" if state else ""):
            if name:
                found[name] = None
    # The last key is asked about whatever it does: a refused one might be thought to work.
    asked = (*found, *item.stimulus.keys[-1:])
    for event, conditions in moments:
        if event in asked:
            found[event] = None
            found.update((f"{event}{_WHILE}{condition}", None) for condition in conditions)
    if not item.is_sequence:
        changed = "+".join(changed_cells(item.before, item.true)) or "nothing"
        found[f"{item.stimulus.id}{_CHANGES}{changed}"] = None
    return tuple(found)


def conditions_of(
    configuration: Configuration, unusual: Iterable[str], chart: ChartSpec
) -> list[str]:
    """Return what is so in a moment: the modes, and what isn't as it mostly is.

    Args:
        configuration: The states of the chart's regions.
        unusual: The signals that aren't as they mostly are, each with what it is.
        chart: The specialised chart.
    """
    return [
        f"{region.id} {state}"
        for region, state in zip(chart.regions.values(), configuration, strict=True)
        if state != region.initial or region.kind in _MODE_KINDS
    ] + list(unusual)


def topic_level(name: str) -> int:
    """Return how narrow a topic is, so that each sort of topic can be weighed alike."""
    for level, mark in enumerate((_WHILE, _CHANGES, ", ", ": "), 1):
        if mark in name:
            return level
    return 0
