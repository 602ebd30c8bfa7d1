"""What an item speaks for: its competency, its difficulty band, and whether it is critical.

Decided from the rulebook's sections of the rules that fire, so that it holds for any chart that
numbers its rules by the same rulebook.
"""

from __future__ import annotations

from collections.abc import Iterable

from trainer.assessment.items.item import Band, Item
from trainer.charts.guard import Configuration
from trainer.charts.kernel import REFUSALS, Row
from trainer.charts.spec import ChartSpec, RuleSpec
from trainer.session.annunciation import changed_cells

_BY_SECTION = {
    1: "engaging_and_disengaging",
    2: "engaging_and_disengaging",
    3: "engaging_and_disengaging",
    4: "engaging_and_disengaging",
    5: "level_recovery_and_upset",
    7: "arming_and_capture",
    8: "arming_and_capture",
    9: "approach",
    10: "arming_and_capture",
    11: "arming_and_capture",
    12: "vertical_selection",
    13: "go_around",
    14: "lateral_selection",
    15: "reversion_and_loss_of_signal",
    16: "limits_and_minimum_heights",
    17: "limits_and_minimum_heights",
}
_REFUSED_ENGAGEMENT, _LEVEL_RECOVERY, _MINIMUM_USE_HEIGHT = 3, 5, 16
_SELECTION = 6
_MODE_KINDS = ("engagement", "active", "armed")
# Rules of these sections only follow from another one that says more.
_MINOR_SECTIONS = (1, 10)
_CHANGES, _WHILE = " changes ", " while "
WATCHING = "verification_and_vigilance"
DIRECTOR_ONLY = "director_without_autopilot"

Moment = tuple[str, tuple[str, ...]]
"""An event, and what was so when it came."""


def competency_of(item: Item, chart: ChartSpec) -> str:
    """Return the competency that an item speaks for."""
    sections = _sections(item, chart)
    refused = [rule for rule in item.rules if rule in chart.refusals]
    if refused and chart.refusals[refused[0]].section == _REFUSED_ENGAGEMENT:
        return "limits_and_minimum_heights"
    if not item.rules:
        return WATCHING
    by_selection = item.stimulus.kind == "key" and _SELECTION in sections
    if by_selection and item.before.engagement in ("no_guidance", "director"):
        return DIRECTOR_ONLY
    telling = [s for s in sections if s not in _MINOR_SECTIONS] or sections
    if telling[0] in _BY_SECTION:
        return _BY_SECTION[telling[0]]
    event = chart.events.get(item.stimulus.key)
    is_vertical = event is not None and event.group in ("vertical", "reference")
    return "vertical_selection" if is_vertical else "lateral_selection"


def competency_of_rule(rule: RuleSpec, chart: ChartSpec) -> str:
    """Return the competency that a rule of a chart belongs to.

    Args:
        rule: The rule.
        chart: The chart that it stands in.
    """
    if rule.section in _BY_SECTION:
        return _BY_SECTION[rule.section]
    region, vertical = chart.regions[rule.region], chart.regions.get("vertical")
    is_vertical = vertical is not None and (region is vertical or region.arms in vertical.states)
    return "vertical_selection" if is_vertical else "lateral_selection"


def competencies_asked(chart: ChartSpec) -> frozenset[str]:
    """Return the competencies that an item of a chart can speak for; no other is ever checked.

    Args:
        chart: The specialised chart.
    """
    sections = {rule.section for rule in chart.rules.values()}
    sections |= {refusal.section for refusal in chart.refusals.values()}
    found = {_BY_SECTION[section] for section in sections if section in _BY_SECTION}
    if any(one.section == _REFUSED_ENGAGEMENT for one in chart.refusals.values()):
        found.add("limits_and_minimum_heights")
    if _SELECTION in sections:
        found |= {DIRECTOR_ONLY, "lateral_selection", "vertical_selection"}
    return frozenset(found | {WATCHING})


def _sections(item: Item, chart: ChartSpec) -> list[int]:
    return [
        chart.rules[name].section if name in chart.rules else chart.refusals[name].section
        for name in item.rules
    ]


def band_of(item: Item) -> Band:
    """Return the difficulty band.

    Plain: one cell changes, by the pilot's own key. Hard: nothing changes, the key is refused, or
    something changes that no key asked for. The rest lies between.
    """
    changed = changed_cells(item.before, item.true)
    if not changed or item.stimulus.kind == "wait":
        return "hard"
    return "plain" if len(changed) == 1 else "middle"


CRITICAL_GROUPS = ("disconnect", "level_recovery", "engagement_height", "minimum_use_height")
"""What must be right in a check whatever the rest."""


def critical_group(item: Item, chart: ChartSpec) -> str:
    """Return the critical group of an item, or an empty text: one of each group must be right.

    The groups: disconnecting, level recovery, the minimum height for engagement and that for use.
    Only where it is asked about: the key's own outcome, or what the wait leads to first. A caution
    that goes because another key leaves the approach isn't what that key is asked for. Several keys
    at once aren't critical either: a wrong answer may be about any of them.
    """
    if item.is_sequence:
        return ""
    key = item.stimulus.key
    if key == "disconnect" and item.before.engagement.startswith("autopilot"):
        return "disconnect"
    for place, name in enumerate(item.rules):
        if name in chart.refusals:
            refusal = chart.refusals[name]
            words = f"{name} {refusal.reason}".lower()
            if refusal.section in (_REFUSED_ENGAGEMENT, _LEVEL_RECOVERY) and "height" in words:
                return "engagement_height"
            continue
        rule = chart.rules[name]
        if rule.section == _LEVEL_RECOVERY and key in rule.events:
            return "level_recovery"
        is_first_by_itself = item.stimulus.kind == "wait" and place == 0
        if rule.section == _MINIMUM_USE_HEIGHT and is_first_by_itself:
            return "minimum_use_height"
    return ""


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
