"""Lesson file -> Lesson. Names are resolved against the installation that the lesson flies.

No answer is ever read from a file: a `predict` step only says what is asked and how far to look.
"""

from __future__ import annotations

from pathlib import Path

from trainer.charts.spec import ChartSpec
from trainer.document import Mapping, read_document
from trainer.lesson.prompt_reader import ALTITUDE_QUANTITY, PROMPT_KINDS, PromptReader
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
from trainer.session.situation import Start

FORMAT = "lesson/1"
LESSON_KEYS = (
    "format", "title", "summary", "installation", "objectives", "competencies", "prerequisites",
    "minutes", "start", "steps",
)  # fmt: skip
STEP_KEYS = ("say", "do", "set", "wait", "wait_until", "inject", "clear", "predict")
__all__ = [
    "ALTITUDE_QUANTITY", "FORMAT", "LESSON_KEYS", "PROMPT_KINDS", "STEP_KEYS", "load_lesson",
    "read_lesson",
]  # fmt: skip


def load_lesson(path: Path, charts: dict[str, ChartSpec]) -> Lesson:
    """Return the lesson of a file.

    Args:
        path: The lesson file.
        charts: Specialised chart of each installation that can be flown, by installation id.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: The file can't be read.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> path = next(workspace.lessons_folder.glob("01-*.yaml"))
        >>> lesson = load_lesson(path, workspace.charts)
        >>> lesson.title, lesson.installation
        ('Heading and altitude, and what the strip says', 'ship_amber')
    """
    return read_lesson(read_document(path), path.stem, charts)


def read_lesson(top: Mapping, lesson_id: str, charts: dict[str, ChartSpec]) -> Lesson:
    """Return the lesson of an open document; errors as `load_lesson`.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.document import parse_document
        >>> text = "{format: lesson/1, title: Wait, installation: ship_amber, objectives: [Wait.],"
        >>> text += "start: {altitude_ft: 3000, heading_deg: 90, airspeed_kt: 105},"
        >>> text += "steps: [{wait: 2}]}"
        >>> read_lesson(parse_document(text), "wait", Workspace().charts).steps
        (Wait(seconds=2.0, line=1),)
    """
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
        self._prompts = PromptReader(chart, [source.id for source in start.sources])

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
        return Do(entry.text("do", choices=self._prompts.keys), entry.line)

    def _wait(self, entry: Mapping) -> Step:
        return Wait(entry.number("wait", low=0, high=3600), entry.line)

    def _inject(self, entry: Mapping) -> Step:
        return Inject(self._prompts.fault(entry, "inject"), True, entry.line)

    def _clear(self, entry: Mapping) -> Step:
        return Inject(self._prompts.fault(entry, "clear"), False, entry.line)

    def _set(self, entry: Mapping) -> Step:
        return Set(self._prompts.values(entry), entry.line)

    def _wait_until(self, entry: Mapping) -> Step:
        inner = entry.mapping("wait_until")
        if inner is None:
            return WaitUntil(Condition(change=True), line=entry.line)
        within_s = inner.number("within_s", 300.0, 0.1, 7200)
        condition = self._prompts.condition(inner)
        return WaitUntil(condition, within_s, entry.line)

    def _predict(self, entry: Mapping) -> Step:
        inner = entry.mapping("predict")
        if inner is None:
            return Predict("next_change", line=entry.line)
        return self._prompts.predict(inner, entry.line)
