"""What the page 'Write' says about a lesson's flight. No Qt here."""

from __future__ import annotations

from typing import Literal

from trainer.charts.spec import ChartSpec
from trainer.lesson.spec import (
    Condition,
    Do,
    Inject,
    Predict,
    PromptKind,
    Say,
    Set,
    Wait,
    WaitUntil,
)
from trainer.lesson.story import Moment, Story
from trainer.session.faults import fault_words
from trainer.session.selectors import SELECTORS
from trainer.ui.lesson.practice_words import clock_words
from trainer.ui.look.words import cell_title, event_label, words_of_chart

MarkKind = Literal["key", "set", "fault", "say", "wait", "question", "change"]
KIND_LABELS: dict[PromptKind, str] = {
    "next_change": "The strip after its next change",
    "after_key": "The strip after a key",
    "after_set": "The strip after a setting",
    "after_fault": "The strip after a fault",
    "after_time": "The strip some seconds later",
    "first_capture": "What captures first",
    "which_key": "Which key brings this strip",
    "level_off": "Where the level-off begins",
    "is_allowed": "Whether a key is accepted",
    "what_to_do": "What to do to reach a goal",
}
NO_QUESTION = "No question"
EMPTY_WORDS = (
    "The flight of this lesson comes here once its text reads well. To begin with a flight of your"
    " own: Record a flight, fly, then press Ctrl+L."
)
_LONGEST_WORDS = 60
_UNITS = {
    "ft": "ft", "kt": "kt", "fpm": "ft/min", "deg": "deg", "s": "s", "nm": "NM", "percent": "%",
}  # fmt: skip


def mark_kind(moment: Moment, story: Story) -> MarkKind:
    """Return what a moment is on the timeline."""
    if moment.is_change:
        return "change"
    match story.lesson.steps[moment.step]:
        case Do():
            return "key"
        case Set():
            return "set"
        case Inject():
            return "fault"
        case Say():
            return "say"
        case Predict():
            return "question"
    return "wait"


def moment_line(moment: Moment, story: Story, chart: ChartSpec) -> str:
    """Return a moment of the timeline in one line."""
    words = _change_words(moment, chart) if moment.is_change else _step_words(moment, story, chart)
    return f"{clock_words(moment.t_s)}  {words}"


def _change_words(moment: Moment, chart: ChartSpec) -> str:
    words = words_of_chart(chart)
    changed = ", ".join(
        f"{cell_title(cell).lower()} {words.content(cell, value).lower()}"
        for cell, value in moment.shows
    )
    return f"By itself: {changed or 'a change'}"


def _step_words(moment: Moment, story: Story, chart: ChartSpec) -> str:
    match story.lesson.steps[moment.step]:
        case Do(event):
            tails = {"nothing": ": did nothing", "refused": ": refused"}
            return f"Key: {event_label(chart, event)}{tails.get(moment.did, '')}"
        case Set(values):
            return "Set: " + ", ".join(_value_words(name, value) for name, value in values)
        case Inject(fault, on):
            words = fault_words(fault)
            return f"Fault: {words}" if on else f"Fault ends: {words}"
        case Say(text):
            return f"Say: {_short(text)}"
        case WaitUntil(condition):
            return f"Wait until {condition_words(condition, chart)}"
        case Wait(seconds):
            return f"Wait {seconds:g} s"
        case Predict() as asked:
            return f"Question: {_question_words(asked, chart)}"
    return ""


def _question_words(asked: Predict, chart: ChartSpec) -> str:
    words = KIND_LABELS[asked.kind]
    about = ""
    if asked.key:
        about = event_label(chart, asked.key)
    elif asked.values:
        about = ", ".join(_value_words(name, value) for name, value in asked.values)
    elif asked.fault:
        about = fault_words(asked.fault)
    elif asked.goal_words:
        about = asked.goal_words
    return f"{words}: {_short(about)}" if about else words


def condition_words(condition: Condition, chart: ChartSpec) -> str:
    """Return what a wait waits for."""
    parts = ["the strip changes"] if condition.change else []
    parts += [f"{chart.mode_label(mode).lower()} is active" for mode in condition.active]
    parts += [f"{mode.replace('_', ' ')} is armed" for mode in condition.armed]
    parts += [
        f"{name} reads {chart.mode_label(state).lower()}"
        for name, state in (("engagement", condition.engagement), ("the alert", condition.alert))
        if state
    ]
    if condition.signal:
        parts.append(chart.signals[condition.signal].label)
    parts += [_bound_words(name, "above", value) for name, value in condition.above]
    parts += [_bound_words(name, "below", value) for name, value in condition.below]
    return " and ".join(parts)


def dead_key_words(count: int) -> str:
    """Return that keys which did nothing were left out of a recorded flight."""
    keys = "1 key that" if count == 1 else f"{count} keys that"
    return f"Left out: {keys} did nothing."


def _bound_words(name: str, side: str, value: float) -> str:
    words, _, unit = name.rpartition("_")
    if unit not in _UNITS:
        words, unit = name, ""
    return f"{words.replace('_', ' ')} is {side} {value:g} {_UNITS.get(unit, '')}".rstrip()


def _value_words(name: str, value: float | str) -> str:
    selector = SELECTORS.get(name)
    if selector is None or isinstance(value, str):
        return f"{name.replace('_', ' ')} {value or 'none'}"
    return f"{selector.label.lower()} {value:g} {selector.unit}".rstrip()


def _short(text: str) -> str:
    if len(text) <= _LONGEST_WORDS:
        return text
    return text[:_LONGEST_WORDS].rsplit(" ", 1)[0] + " \N{HORIZONTAL ELLIPSIS}"
