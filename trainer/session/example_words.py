"""The three lines of an example, worded from what was flown: before, action, after."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.charts.spec import ChartSpec
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.session.example import Action, Flown, Moment
from trainer.session.faults import FAULTS
from trainer.session.record import StepRecord

_CELLS = {
    "engagement": "engagement",
    "lateral_active": "lateral active",
    "lateral_armed": "lateral armed",
    "vertical_active": "vertical active",
    "vertical_armed": "vertical armed",
    "alert": "alert",
    "protection": "speed protection",
}


@dataclass(frozen=True, slots=True)
class ExampleStep:
    """One line, and the strip that goes with it."""

    line: str
    annunciation: Annunciation
    marks: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ExampleSide:
    """What one answer does: three lines."""

    key: str
    """The choice's id, or the words for a value."""
    title: str
    steps: tuple[ExampleStep, ExampleStep, ExampleStep]
    moment: Moment
    """Where it begins."""


@dataclass(frozen=True, slots=True)
class Example:
    """One situation, seen with each answer."""

    subject: str
    """Id of the option or limit."""
    sides: tuple[ExampleSide, ...]
    given: str = ""
    """What else had to be so for the answers to differ; empty: nothing."""


def side_of(
    key: str, title: str, words: str,
    *, moment: Moment, action: Action, flown: Flown, chart: ChartSpec,
    rule_ids: frozenset[str] = frozenset(), with_numbers: bool = False,
) -> ExampleSide:  # fmt: skip
    """Return the three lines of what was flown.

    Args:
        key: The choice or value.
        title: Its words.
        words: The situation's words.
        moment: Where the flight began.
        action: What was done.
        flown: What came of it.
        chart: The generic chart, for the names of keys that aren't fitted too.
        rule_ids: Rules whose reason is told before any other's.
        with_numbers: The answers differ in how the aircraft flies, so say that.
    """
    sample = flown.before_sample
    last = result_words(flown, chart, rule_ids, with_numbers=with_numbers)
    numbers = f"{thousands(sample.altitude_ft)} ft, {sample.airspeed_kt:.0f} kt"
    if flown.before.lateral.active == "heading_select":
        heading, selected = sample.heading_deg, flown.selected_heading_deg
        numbers += f", heading {heading:03.0f}, {selected:03.0f} selected"
    first = f"{_capital(words)} ({numbers}). The strip reads: {strip_words(flown.before, chart)}."
    return ExampleSide(
        key,
        title,
        (
            ExampleStep(first, flown.before),
            ExampleStep(action_words(action, flown, chart), flown.before),
            ExampleStep(last, flown.after, flown.marks),
        ),
        moment,
    )


def strip_words(shown: Annunciation, chart: ChartSpec) -> str:
    """Return an annunciation in the chart's words."""
    parts = [chart.mode_label(shown.engagement)]
    for axis in (shown.lateral, shown.vertical):
        if axis.active != "none":
            armed = ", ".join(chart.mode_label(mode) for mode in axis.armed)
            parts.append(chart.mode_label(axis.active) + (f" ({armed} armed)" if armed else ""))
    parts += [chart.mode_label(shown.alert)] if shown.alert != "quiet" else []
    parts += [chart.mode_label(shown.protection)] if shown.protection != "none" else []
    return ", ".join(parts)


def action_words(action: Action, flown: Flown, chart: ChartSpec) -> str:
    """Return what is done, in one sentence."""
    watched = f" Watch for {action.watch_s:.0f} s." if action.watch_s >= 1.0 else ""
    match action.kind:
        case "press":
            key = _capital(chart.events[action.name].label)
            if flown.is_missing:
                return f"Look for the key {key}."
            many = f" {action.times} times" if action.times > 1 else ""
            return f"Press {key}{many}.{watched}"
        case "let_go":
            return f"Press the button and let it go: {chart.events[action.name].label}.{watched}"
        case "select":
            altitude = thousands(flown.selected_altitude_ft)
            return f"Turn the selected altitude to {altitude} ft.{watched}"
        case "source":
            return f"Take another navigation source.{watched}"
        case "fault":
            return f"{FAULTS[action.name]} happens.{watched}"
    return f"Do nothing for {action.watch_s:.0f} s."


def result_words(
    flown: Flown, chart: ChartSpec, rule_ids: frozenset[str], *, with_numbers: bool
) -> str:
    """Return what came of it, with the rule's own reason."""
    if flown.is_missing:
        return "There is no such key in this aircraft, so the strip stays as it is."
    lines: list[str] = []
    record = flown.record
    if record is not None and record.refusal is not None:
        lines.append(f"Refused: {record.refusal.reason}. {record.refusal.because}")
    elif record is not None and record.has_changed:
        lines.append(_record_words(record, chart, rule_ids))
    for change in flown.changes:
        what = _record_words(change.record, chart, rule_ids)
        lines.append(f"After {change.t_s:.0f} s, at {thousands(change.altitude_ft)} ft: {what}")
    if not lines:
        lines.append("The strip doesn't change.")
    if with_numbers:
        sample = flown.after_sample
        lines.append(
            f"At the end: {thousands(sample.altitude_ft)} ft, vertical speed"
            f" {thousands(sample.vertical_speed_fpm)} ft/min, pitch {sample.pitch_deg:.1f} deg,"
            f" {sample.airspeed_kt:.0f} kt."
        )
    return " ".join(lines)


def _record_words(record: StepRecord, chart: ChartSpec, rule_ids: frozenset[str]) -> str:
    what = _change_words(record.before, record.after, chart)
    telling = [rule for rule in record.rules if rule.id in rule_ids] or list(record.rules)
    return f"{what} {telling[0].because}" if telling else what


def _change_words(before: Annunciation, after: Annunciation, chart: ChartSpec) -> str:
    parts = []
    for cell in changed_cells(before, after):
        parts.append(f"{_CELLS[cell]}: {_cell_words(after.cell(cell), chart)}")
    return _capital("; ".join(parts)) + "."


def _cell_words(value: str | tuple[str, ...], chart: ChartSpec) -> str:
    if isinstance(value, tuple):
        return ", ".join(chart.mode_label(mode) for mode in value) or "nothing"
    return "nothing" if value in ("none", "quiet") else chart.mode_label(value)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def thousands(value: float) -> str:
    """Return a whole number with its thousands set off; never a minus zero."""
    return f"{round(value):,}"
