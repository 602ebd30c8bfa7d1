"""What the form for a question asks for, kind by kind, and the question made of it. No Qt here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations

from trainer.charts.spec import ChartSpec
from trainer.lesson.questioning import goal_words
from trainer.lesson.spec import Condition, Predict, PromptKind
from trainer.session.annunciation import CELLS
from trainer.session.faults import FAULTS, SELECTOR_FAULTS, STUCK, fault_words
from trainer.session.selectors import SELECTORS
from trainer.ui.look.words import StripWords, event_label, words_of_chart

GOAL_CELLS = CELLS[:5]
FIELDS: Mapping[PromptKind, tuple[str, ...]] = {
    "next_change": ("seconds",),
    "after_key": ("key",),
    "after_set": ("selector",),
    "after_fault": ("fault",),
    "after_time": ("seconds",),
    "first_capture": ("seconds",),
    "which_key": ("cells",),
    "level_off": ("seconds",),
    "is_allowed": ("key",),
    "what_to_do": ("seconds", "cells", "goal_words"),
}
"""Kind -> the fields that it has beside its words and what is hidden."""
SECONDS_WORDS: Mapping[PromptKind, str] = {
    "next_change": "Look ahead for at most",
    "after_time": "Asks about the strip after",
    "first_capture": "Look ahead for at most",
    "level_off": "Look ahead for at most",
    "what_to_do": "The goal must hold after",
}
ANY = None


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that a picker offers."""

    value: object
    label: str


def keys_of(chart: ChartSpec) -> list[Choice]:
    """Return the keys of an aircraft."""
    keys = [event for event in chart.events.values() if event.kind == "key"]
    return [Choice(key.id, event_label(chart, key.id)) for key in keys]


def faults_of(chart: ChartSpec) -> list[Choice]:
    """Return the malfunctions that can begin."""
    stuck = [f"{STUCK}{key.value}" for key in keys_of(chart)]
    return [Choice(name, fault_words(name)) for name in (*FAULTS, *SELECTOR_FAULTS, *stuck)]


def selectors_of() -> list[Choice]:
    """Return the selectors that take a number."""
    return [
        Choice(name, f"{one.label} [{one.unit}]" if one.unit else one.label)
        for name, one in SELECTORS.items()
    ]


def contents_of(chart: ChartSpec, cell: str) -> list[Choice]:
    """Return what a cell may be asked to read, `any` first."""
    words: StripWords = words_of_chart(chart)
    states = [choice.id for choice in words.cells[cell]]
    values: list[object] = list(states)
    if cell.endswith("_armed"):
        groups = [group for size in (0, 1, 2) for group in combinations(states, size)]
        values = [tuple(sorted(group)) for group in groups]
    return [Choice(ANY, "any"), *(Choice(v, words.content(cell, v)) for v in values)]


def cells_of(question: Predict) -> dict[str, object]:
    """Return which cells a question names, with what they are to read."""
    if question.kind == "which_key":
        return dict(question.shows)
    goal = question.goal or Condition()
    found: dict[str, object] = {}
    if goal.engagement is not None:
        found["engagement"] = goal.engagement
    return found


def cells_of_goal(question: Predict, chart: ChartSpec) -> dict[str, object]:
    """Return the cells of a goal, its modes put on their axes."""
    found = cells_of(question)
    goal = question.goal
    if question.kind != "what_to_do" or goal is None:
        return found
    words = words_of_chart(chart)
    for axis in ("lateral", "vertical"):
        active = {choice.id for choice in words.cells[f"{axis}_active"]}
        armed = {choice.id for choice in words.cells[f"{axis}_armed"]}
        modes = [mode for mode in goal.active if mode in active]
        if modes:
            found[f"{axis}_active"] = modes[0]
        waiting = tuple(sorted(mode for mode in goal.armed if mode in armed))
        if waiting:
            found[f"{axis}_armed"] = waiting
    return found


def with_cells(question: Predict, cells: Mapping[str, object], chart: ChartSpec) -> Predict:
    """Return a question that asks for these cells: what the key brings, or the goal."""
    named = {cell: cells[cell] for cell in CELLS if cells.get(cell) is not ANY}
    if question.kind == "which_key":
        return replace(question, shows=tuple(named.items()))  # type: ignore[arg-type]
    active = tuple(str(named[c]) for c in ("lateral_active", "vertical_active") if c in named)
    armed = [named[cell] for cell in ("lateral_armed", "vertical_armed") if cell in named]
    old = question.goal or Condition()
    goal = replace(
        old,
        active=active,
        armed=tuple(mode for modes in armed for mode in modes),  # type: ignore[attr-defined]
        engagement=str(named["engagement"]) if "engagement" in named else None,
    )
    words = question.goal_words
    if not words or words == goal_words(old, chart):
        words = goal_words(goal, chart)
    return replace(question, goal=goal, goal_words=words)


def missing(question: Predict) -> str:
    """Return what a question still lacks, in words; empty: nothing."""
    if question.kind == "which_key" and not question.shows:
        return "Say what at least one cell of the strip is to read."
    if question.kind == "what_to_do":
        if question.goal in (None, Condition()):
            return "Say what the strip is to read when the goal is reached."
        if not question.goal_words.strip():
            return "Say the goal in words."
    if question.kind == "after_set" and not question.values:
        return "Say what is set."
    if question.kind == "after_fault" and not question.fault:
        return "Say which malfunction begins."
    return ""
