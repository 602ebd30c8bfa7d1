"""A recorded flight as JSON values, for the draft of a lesson. No Qt here."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.charts.spec import ChartSpec
from trainer.document import parse_document
from trainer.errors import TrainerError
from trainer.lesson.loader import read_lesson
from trainer.lesson.recording import Change, Entry, Noted, Timeline, to_lesson
from trainer.lesson.spec import Do, Inject, Say, Set, Wait
from trainer.lesson.writer import write_lesson


def timeline_to_data(timeline: Timeline) -> dict[str, Any]:
    """Return a timeline as JSON values; its start is kept as a lesson's text."""
    lesson = to_lesson(timeline, "start", "Start", ["Keep the start."])
    start_only = write_lesson(replace(lesson, steps=(Wait(1.0),)))
    return {
        "start": start_only,
        "ended_s": timeline.ended_s,
        "entries": [_entry_to_data(entry) for entry in timeline.entries],
    }


def timeline_from_data(data: Any, charts: dict[str, ChartSpec]) -> Timeline | None:
    """Return the timeline of `timeline_to_data`; None if it can't be read."""
    try:
        lesson = read_lesson(parse_document(data["start"], "draft"), "start", charts)
        entries = tuple(_entry_from_data(entry) for entry in data["entries"])
        return Timeline(lesson.installation, lesson.start, entries, float(data["ended_s"]))
    except (TrainerError, KeyError, TypeError, ValueError, AttributeError):
        return None


def _entry_to_data(entry: Entry) -> dict[str, Any]:
    what = entry.what
    match what:
        case Do(event):
            said: dict[str, Any] = {"do": event}
        case Set(values):
            said = {"set": [list(pair) for pair in values]}
        case Inject(fault, on):
            said = {"inject": fault, "on": on}
        case Say(text):
            said = {"say": text}
        case Change(rule_id):
            said = {"change": rule_id}
    shows = [[cell, list(v) if isinstance(v, tuple) else v] for cell, v in entry.shows]
    return {"t_s": entry.t_s, "asks": entry.asks, "kind": entry.kind, "shows": shows, **said}


def _entry_from_data(data: dict[str, Any]) -> Entry:
    what: Noted
    if "do" in data:
        what = Do(str(data["do"]))
    elif "set" in data:
        what = Set(tuple((str(name), value) for name, value in data["set"]))
    elif "inject" in data:
        what = Inject(str(data["inject"]), bool(data["on"]))
    elif "say" in data:
        what = Say(str(data["say"]))
    else:
        what = Change(str(data["change"]))
    shows = tuple((cell, tuple(v) if isinstance(v, list) else v) for cell, v in data["shows"])
    return Entry(float(data["t_s"]), what, bool(data["asks"]), data["kind"], shows)
