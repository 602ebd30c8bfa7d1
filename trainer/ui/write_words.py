"""What the page 'Write' says about a recorded flight. No Qt here."""

from __future__ import annotations

from trainer.charts.spec import ChartSpec
from trainer.lesson.recording import Change, Entry
from trainer.lesson.spec import Do, Inject, PromptKind, Say, Set
from trainer.session.faults import fault_words
from trainer.session.selectors import SELECTORS
from trainer.ui.practice_words import clock_words
from trainer.ui.words import cell_title, event_label, words_of_chart

KIND_LABELS: dict[PromptKind, str] = {
    "next_change": "The strip after its next change",
    "after_key": "The strip after the key",
    "after_set": "The strip after the setting",
    "after_fault": "The strip after the fault",
    "after_time": "The strip some seconds later",
    "first_capture": "What captures first",
    "which_key": "Which key brings this strip",
    "level_off": "Where the level-off begins",
    "is_allowed": "Whether the key is accepted",
    "what_to_do": "What to do",
}
NO_QUESTION = "No question"
EMPTY_WORDS = (
    "No recorded flight behind this text. Fly freely (F3), then press Ctrl+L: the flight comes here"
    " as a timeline. Or write the steps on the right; every mistake is named below them."
)


def entry_line(entry: Entry, chart: ChartSpec) -> str:
    """Return an entry of the timeline in one line."""
    ask = f"   ? {KIND_LABELS[entry.kind]}" if entry.asks and entry.kind else ""
    return f"{clock_words(entry.t_s)}  {_what_words(entry, chart)}{ask}"


def _what_words(entry: Entry, chart: ChartSpec) -> str:
    match entry.what:
        case Do(event):
            return f"Key: {event_label(chart, event)}"
        case Set(values):
            return "Set: " + ", ".join(_value_words(name, value) for name, value in values)
        case Inject(fault, on):
            words = fault_words(fault)
            return f"Fault: {words}" if on else f"Fault ends: {words}"
        case Say(text):
            return f"Say: {text}"
        case Change():
            words = words_of_chart(chart)
            changed = ", ".join(
                f"{cell_title(cell).lower()} {words.content(cell, value).lower()}"
                for cell, value in entry.shows
            )
            return f"By itself: {changed or 'a change'}"


def _value_words(name: str, value: float | str) -> str:
    selector = SELECTORS.get(name)
    if selector is None or isinstance(value, str):
        return f"{name.replace('_', ' ')} {value or 'none'}"
    return f"{selector.label.lower()} {value:g} {selector.unit}".rstrip()
