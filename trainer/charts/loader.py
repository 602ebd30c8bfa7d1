"""Chart file -> ChartSpec. Every name is resolved here; nothing unknown gets through.

Raises FileError with all problems found (file, line, what was found, what is accepted).
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any as AnyType

from trainer.charts.conflicts import check_conflicts
from trainer.charts.guard_reader import GuardReader, read_needs
from trainer.charts.spec import (
    ChartSpec,
    EventSpec,
    Guard,
    InvariantSpec,
    LimitSpec,
    OptionSpec,
    Reason,
    RefusalSpec,
    RegionSpec,
    RuleSpec,
    SignalSpec,
    StateSpec,
    Threshold,
)
from trainer.charts.vocabulary import (
    BOOLEAN_QUANTITIES,
    CRITICAL_GROUPS,
    EFFECTS,
    NUMBER_QUANTITIES,
)
from trainer.document import Mapping, near, parse_document, read_text

FORMAT = "chart/1"
_REGION_KINDS = ("active", "armed", "engagement", "alert", "protection", "internal")
_GROUPS = ("engagement", "lateral", "vertical", "both", "reference")


def load_chart(path: Path) -> ChartSpec:
    """Return the chart of a file.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: The file can't be read.

    Example:
        >>> from trainer.resources import resource_folder
        >>> chart = load_chart(resource_folder("statecharts") / "generic.yaml")
        >>> chart.rules["altitude_captured"].target
        'altitude_capture'
    """
    return _chart_of(str(path), read_text(path))


# Every installation of a club names the same chart, and reading it takes longer than anything else
# at the start; it is read again as soon as a letter of it changes.
@lru_cache(maxsize=4)
def _chart_of(path: str, text: str) -> ChartSpec:
    return read_chart(parse_document(text, path, is_file=True))


def read_chart(top: Mapping) -> ChartSpec:
    """Return the chart of an open document; errors as `load_chart`.

    Example:
        >>> from trainer.charts.smallest import SMALLEST_CHART
        >>> from trainer.document import parse_document
        >>> lamp = read_chart(parse_document(SMALLEST_CHART))
        >>> lamp.regions["lamp"].initial, tuple(lamp.rules)
        ('none', ('lights', 'goes_off', 'fails'))
    """
    top.text("format", choices=[FORMAT])
    chart_id = top.text("id")
    title = top.text("title")
    competencies = _competencies(top)
    options = _options(top)
    limits = _limits(top)
    signals = _signals(top, limits)
    events = _events(top, options, signals)
    regions = _regions(top, options)
    conditions: dict[str, Guard] = {}
    reader = GuardReader(regions, frozenset(signals), conditions)
    for name, entry in _section(top, "conditions", optional=True):
        conditions[name] = reader.read(entry)
        entry.text("label")
        entry.finish()
    rules = {
        rule.id: rule
        for entry in top.entries("rules")
        if (rule := _rule(entry, events, options, reader, competencies)) is not None
    }
    refusals = {
        refusal.id: refusal
        for entry in top.entries("refusals", default=())
        if (refusal := _refusal(entry, events, options, reader, competencies)) is not None
    }
    invariants = {
        one.id: one
        for entry in top.entries("invariants", default=())
        if (one := _invariant(entry, options, reader)) is not None
    }
    top.finish()
    chart = ChartSpec(
        chart_id, title, top.document.path, regions, events, signals, options, limits,
        rules, refusals, invariants, conditions, competencies,
    )  # fmt: skip
    _check_ids(top, chart)
    top.document.raise_if_problems()
    check_conflicts(chart)
    return chart


def _section(top: Mapping, key: str, *, optional: bool = False) -> tuple[tuple[str, Mapping], ...]:
    section = top.mapping(key, None) if optional else top.mapping(key)
    return section.children() if section is not None else ()


def _competencies(top: Mapping) -> tuple[str, ...]:
    names = top.texts("competencies")
    if top.has("competencies") and not names:
        top.problem("no competencies", "at least one id", key="competencies")
    return names


def _standing(entry: Mapping, competencies: tuple[str, ...]) -> tuple[str, str]:
    """Return the competency of a rule or refusal, and its critical group or an empty text."""
    competency = ""
    if entry.has("competency"):
        # None are known where their own section is missing or empty, which is told already.
        competency = entry.text("competency", choices=competencies or None)
    else:
        what = f"'competency' is missing in '{entry.text('id')}'"
        entry.problem(what, f"one of: {', '.join(competencies)}")
    return competency, entry.text("critical", "", choices=CRITICAL_GROUPS)


def _options(top: Mapping) -> dict[str, OptionSpec]:
    options: dict[str, OptionSpec] = {}
    for name, entry in _section(top, "options"):
        choices = entry.mapping("choices")
        texts = {key: choices.text(key) for key in choices} if choices else {}
        options[name] = OptionSpec(
            name, entry.text("question"), texts, entry.text("default", choices=texts),
            int(entry.number("section")), entry.line,
        )  # fmt: skip
        entry.finish()
    return options


def _limits(top: Mapping) -> dict[str, LimitSpec]:
    limits: dict[str, LimitSpec] = {}
    for name, entry in _section(top, "limits"):
        low, high = entry.number("low"), entry.number("high")
        limits[name] = LimitSpec(
            name, entry.text("label"), entry.text("unit"), entry.number("default", low=low,
            high=high), low, high, entry.line,
        )  # fmt: skip
        entry.finish()
    return limits


def _events(
    top: Mapping, options: dict[str, OptionSpec], signals: dict[str, SignalSpec]
) -> dict[str, EventSpec]:
    events: dict[str, EventSpec] = {}
    for name, entry in _section(top, "events"):
        kind: AnyType = entry.text("kind", choices=("key", "selector", "world"))
        group: AnyType = entry.text("group", choices=_GROUPS)
        changes = entry.texts("changes", (), choices=signals)
        if changes and kind != "selector":
            entry.problem(f"a {kind} that changes signals", "kind: selector", key="changes")
        events[name] = EventSpec(
            name, entry.text("label"), kind, group, read_needs(entry, options), changes, entry.line
        )
        entry.finish()
    return events


def _threshold(entry: Mapping, key: str, limits: dict[str, LimitSpec]) -> Threshold:
    try:
        inner = entry.mapping(key) if _is_mapping(entry, key) else None
    except KeyError:
        inner = None
    if inner is None:
        return Threshold(value=entry.number(key))
    limit = inner.text("limit", choices=limits)
    plus = inner.number("plus", 0.0)
    inner.finish()
    return Threshold(limit=limit, plus=plus)


def _is_mapping(entry: Mapping, key: str) -> bool:
    return any(k.value == key and v.id == "mapping" for k, v in entry.node.value)


def _signals(top: Mapping, limits: dict[str, LimitSpec]) -> dict[str, SignalSpec]:
    signals: dict[str, SignalSpec] = {}
    section = _section(top, "signals")
    names = [name for name, _ in section]
    for name, entry in section:
        label = entry.text("label")
        quantity = entry.text("quantity", choices=[*NUMBER_QUANTITIES, *BOOLEAN_QUANTITIES])
        implies = entry.texts("implies", (), choices=names)
        excludes = entry.texts("excludes", (), choices=names)
        on, off = Threshold(), Threshold()
        sense: AnyType = "true"
        if quantity in NUMBER_QUANTITIES:
            sense = "above" if entry.has("true_above") else "below"
            on = _threshold(entry, f"true_{sense}", limits)
            off = _threshold(entry, "false_below" if sense == "above" else "false_above", limits)
            _check_band(entry, sense, on, off)
        entry.finish()
        signals[name] = SignalSpec(
            name, label, quantity, sense, on, off, implies, excludes, entry.line
        )
    return signals


def _check_band(entry: Mapping, sense: str, on: Threshold, off: Threshold) -> None:
    if on.limit != off.limit:
        return
    gap = (on.value + on.plus) - (off.value + off.plus)
    if (gap if sense == "above" else -gap) < 0:
        entry.problem("the off threshold lies inside the on threshold", "a band, or the same value")


def _regions(top: Mapping, options: dict[str, OptionSpec]) -> dict[str, RegionSpec]:
    regions: dict[str, RegionSpec] = {}
    for name, entry in _section(top, "regions"):
        states: dict[str, StateSpec] = {}
        for state_id, state in _section(entry, "states"):
            label = state.text("label")
            states[state_id] = StateSpec(
                state_id, label, state.text("short", label),
                state.texts("enter", (), choices=EFFECTS), state.text("shown_as", ""),
                read_needs(state, options), state.line,
            )  # fmt: skip
            state.finish()
        kind: AnyType = entry.text("kind", choices=_REGION_KINDS)
        axis: AnyType = entry.text("axis", "none", choices=("lateral", "vertical", "none"))
        regions[name] = RegionSpec(
            name, entry.text("label"), kind, axis, entry.text("initial", choices=states),
            states, entry.text("arms", ""), read_needs(entry, options), entry.line,
        )  # fmt: skip
        entry.finish()
    return regions


def _rule(
    entry: Mapping,
    events: dict[str, EventSpec],
    options: dict[str, OptionSpec],
    reader: GuardReader,
    competencies: tuple[str, ...],
) -> RuleSpec | None:
    rule_id = entry.text("id")
    region = reader.regions.get(entry.text("region", choices=reader.regions))
    if region is None:
        return None
    if entry.has("from_all_but"):
        excluded = entry.texts("from_all_but", choices=region.states)
        sources = tuple(s for s in region.states if s not in excluded)
    else:
        sources = entry.texts("from", choices=region.states)
    target = entry.text("to", choices=region.states)
    triggers = entry.texts("on", (), choices=events)
    by: AnyType = entry.text(
        "by", "pilot" if triggers else "automatic", choices=("pilot", "automatic", "reversion")
    )
    effects = entry.texts("do", (), choices=EFFECTS)
    if not triggers and target in sources:
        entry.problem(f"automatic rule '{rule_id}' from '{target}' to itself", "another target")
    if not sources:
        entry.problem(f"rule '{rule_id}' starts nowhere", "at least one state", key="from")
    rule = RuleSpec(
        rule_id, region.id, triggers, sources, target, reader.read(entry), entry.text("because"),
        entry.text("source"), by, int(entry.number("section")), effects,
        entry.texts("before", ()), read_needs(entry, options), entry.line,
        _reasons(entry, triggers, reader), *_standing(entry, competencies),
    )  # fmt: skip
    entry.finish()
    return rule


def _refusal(
    entry: Mapping,
    events: dict[str, EventSpec],
    options: dict[str, OptionSpec],
    reader: GuardReader,
    competencies: tuple[str, ...],
) -> RefusalSpec | None:
    triggers = entry.texts("on", choices=events)
    refusal = RefusalSpec(
        entry.text("id"), triggers, reader.read(entry),
        entry.text("reason"), entry.text("because"), entry.text("source"),
        int(entry.number("section")), read_needs(entry, options), entry.line,
        _reasons(entry, triggers, reader), *_standing(entry, competencies),
    )  # fmt: skip
    entry.finish()
    return refusal


def _reasons(entry: Mapping, triggers: tuple[str, ...], reader: GuardReader) -> tuple[Reason, ...]:
    """Return the sentences by cause under `because_if`; each must name its cause."""
    found = []
    for one in entry.entries("because_if", default=()):
        if not any(one.has(key) for key in ("on", "in", "not_in", "when")):
            one.problem("a sentence without a cause", "'on', 'in', 'not_in' or 'when'")
        events = one.texts("on", (), choices=triggers)
        found.append(Reason(events, reader.read(one), one.text("says"), one.line))
        one.finish()
    return tuple(found)


def _invariant(
    entry: Mapping, options: dict[str, OptionSpec], reader: GuardReader
) -> InvariantSpec | None:
    if_: Guard = reader.read_list(entry, "if")
    invariant = InvariantSpec(
        entry.text("id"), entry.text("sentence"), if_, reader.read_list(entry, "then"),
        entry.text("source"), read_needs(entry, options), entry.line,
    )  # fmt: skip
    entry.finish()
    return invariant


def _check_ids(top: Mapping, chart: ChartSpec) -> None:
    """Ids of rules and refusals are unique, and every `before` names a rule."""
    seen: dict[str, int] = {}
    for section in ("rules", "refusals", "invariants"):
        for entry in top.entries(section, default=()):
            name = entry.text("id")
            if name in seen:
                entry.problem(f"id '{name}' already in line {seen[name]}", "an id of its own")
            seen[name] = entry.line
            for other in entry.texts("before", ()):
                if other not in chart.rules:
                    entry.problem(f"'{other}' is no rule", near(other, chart.rules), key="before")
