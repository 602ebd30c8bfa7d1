"""Lesson file -> Lesson. Names are resolved against the installation that the lesson flies.

No answer is ever read from a file: a `predict` step only says what is asked and how far to look.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.charts.spec import ChartSpec
from trainer.charts.vocabulary import NUMBER_QUANTITIES
from trainer.document import Mapping, near, read_document
from trainer.lesson.spec import (
    Condition,
    Do,
    Inject,
    Lesson,
    Predict,
    Say,
    Set,
    Step,
    Wait,
    WaitUntil,
)
from trainer.lesson.start_reader import read_start
from trainer.session.faults import FAULTS, STUCK
from trainer.session.selectors import SELECTORS, TEXT_SELECTORS
from trainer.session.situation import Start

FORMAT = "lesson/1"
STEP_KEYS = ("say", "do", "set", "wait", "wait_until", "inject", "clear", "predict")
PROMPT_KINDS = ("next_change", "after_key", "after_time")
ALTITUDE_QUANTITY = "altitude_ft"


def load_lesson(path: Path, charts: dict[str, ChartSpec]) -> Lesson:
    """Return the lesson of a file.

    Args:
        path: The lesson file.
        charts: Specialised chart of each installation that can be flown, by installation id.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: The file can't be read.
    """
    return read_lesson(read_document(path), path.stem, charts)


def read_lesson(top: Mapping, lesson_id: str, charts: dict[str, ChartSpec]) -> Lesson:
    """Return the lesson of an open document; errors as `load_lesson`."""
    top.text("format", choices=[FORMAT])
    title = top.text("title")
    installation = top.text("installation", choices=charts)
    summary = top.text("summary", "")
    objectives = top.texts("objectives")
    if not objectives and top.has("objectives"):
        top.problem("no objectives", "at least one line", key="objectives")
    competencies = top.texts("competencies", ())
    prerequisites = top.texts("prerequisites", ())
    minutes = top.number("minutes", 5.0, 0.5, 60)
    start_entry = top.mapping("start")
    start = read_start(start_entry) if start_entry is not None else Start()
    chart = charts.get(installation) or next(iter(charts.values()))
    reader = _StepReader(chart, start)
    entries = top.items("steps")
    steps = tuple(step for entry in entries if (step := reader.read(entry, top)) is not None)
    if not entries and top.has("steps"):
        top.problem("no steps", "at least one step", key="steps")
    top.finish()
    top.document.raise_if_problems()
    return Lesson(
        lesson_id, top.document.path, title, installation, objectives, competencies, start, steps,
        minutes, summary, prerequisites, start_entry.line if start_entry else 1,
    )  # fmt: skip


class _StepReader:
    """Reads steps; knows the names that the lesson's installation and scene have."""

    def __init__(self, chart: ChartSpec, start: Start) -> None:
        self._chart = chart
        self._sources = [source.id for source in start.sources]
        self._keys = [e.id for e in chart.events.values() if e.kind == "key"]
        self._modes = sorted(
            {s for r in chart.regions.values() if r.kind == "active" for s in r.states}
        )
        self._armed = sorted({r.arms for r in chart.regions.values() if r.arms})
        self._signals = list(chart.signals)

    def read(self, entry: Mapping | str, top: Mapping) -> Step | None:
        if isinstance(entry, str):
            top.problem(f"step '{entry}'", "a step such as 'say: ...'", key="steps")
            return None
        named = [key for key in entry if key in STEP_KEYS]
        if len(named) != 1:
            found = ", ".join(entry.keys())
            entry.problem(f"a step with keys {found}", "exactly one of " + ", ".join(STEP_KEYS))
            return None
        step: Step = getattr(self, f"_{named[0]}")(entry)
        entry.finish(STEP_KEYS)
        return step

    def _say(self, entry: Mapping) -> Step:
        return Say(" ".join(entry.text("say").split()), entry.line)

    def _do(self, entry: Mapping) -> Step:
        return Do(entry.text("do", choices=self._keys), entry.line)

    def _wait(self, entry: Mapping) -> Step:
        return Wait(entry.number("wait", low=0, high=3600), entry.line)

    def _inject(self, entry: Mapping) -> Step:
        return Inject(self._fault(entry, "inject"), True, entry.line)

    def _clear(self, entry: Mapping) -> Step:
        return Inject(self._fault(entry, "clear"), False, entry.line)

    def _fault(self, entry: Mapping, key: str) -> str:
        stuck = [f"{STUCK}{name}" for name in self._keys]
        return entry.text(key, choices=[*FAULTS, *stuck])

    def _set(self, entry: Mapping) -> Step:
        inner = entry.mapping("set")
        values: list[tuple[str, float | str]] = []
        for name in inner.keys() if inner else ():
            assert inner is not None
            if name in SELECTORS:
                selector = SELECTORS[name]
                values.append((name, inner.number(name, low=selector.low, high=selector.high)))
            elif name == "source":
                values.append((name, inner.text(name, choices=self._sources)))
            elif name in TEXT_SELECTORS:
                values.append((name, inner.text(name, choices=("attentive", "hands"))))
            else:
                inner.scalar(name)
                accepted = near(name, [*SELECTORS, *TEXT_SELECTORS])
                inner.problem(f"'{name}' can't be set", accepted, key=name)
        return Set(tuple(values), entry.line)

    def _wait_until(self, entry: Mapping) -> Step:
        inner = entry.mapping("wait_until")
        if inner is None:
            return WaitUntil(Condition(change=True), line=entry.line)
        within_s = inner.number("within_s", 300.0, 0.1, 7200)
        condition = Condition(
            change=inner.boolean("change", False),
            active=inner.texts("active", (), choices=self._modes),
            armed=inner.texts("armed", (), choices=self._armed),
            engagement=self._state(inner, "engagement"),
            alert=self._state(inner, "alert"),
            signal=inner.text("signal", "", choices=self._signals) or None
            if inner.has("signal")
            else None,
            above=self._bounds(inner, "above"),
            below=self._bounds(inner, "below"),
        )
        if condition == Condition():
            inner.problem("nothing to wait for", "change: true, active, armed, above, below, ...")
        inner.finish()
        return WaitUntil(condition, within_s, entry.line)

    def _state(self, inner: Mapping, region: str) -> str | None:
        if not inner.has(region):
            return None
        return inner.text(region, choices=self._chart.regions[region].states)

    def _bounds(self, inner: Mapping, key: str) -> tuple[tuple[str, float], ...]:
        bounds = inner.mapping(key, None)
        found = []
        for name in bounds.keys() if bounds else ():
            assert bounds is not None
            found.append((name, bounds.number(name)))
            if name not in (*NUMBER_QUANTITIES, ALTITUDE_QUANTITY):
                accepted = near(name, [ALTITUDE_QUANTITY, *NUMBER_QUANTITIES])
                bounds.problem(f"'{name}' can't be compared", accepted, key=name)
        return tuple(found)

    def _predict(self, entry: Mapping) -> Step:
        inner = entry.mapping("predict")
        if inner is None:
            return Predict("next_change", line=entry.line)
        kind: Any = inner.text("kind", choices=PROMPT_KINDS)
        key = inner.text("key", choices=self._keys) if kind == "after_key" else ""
        if kind == "after_time":
            horizon_s = inner.number("after_s", low=0.1, high=1800)
        elif kind == "next_change":
            horizon_s = inner.number("within_s", 120.0, 1, 1800)
        else:
            horizon_s = 0.0
        question = inner.text("question", "")
        inner.finish()
        return Predict(kind, key, horizon_s, " ".join(question.split()), entry.line)
