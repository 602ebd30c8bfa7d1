"""A lesson in the making: its text, its recording, and what is wrong with it. No Qt here.

The text is the lesson. A change on the timeline rewrites the steps that it touches and leaves
every other line, comments too, as it stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trainer.charts.spec import ChartSpec
from trainer.document import parse_document
from trainer.errors import FileError, FileProblem, TrainerError
from trainer.lesson import recording
from trainer.lesson.loader import read_lesson
from trainer.lesson.recording import Entry, Timeline, to_lesson
from trainer.lesson.spec import Lesson, PromptKind
from trainer.lesson.step_text import with_steps_of
from trainer.lesson.writer import write_lesson
from trainer.ui.timeline_data import timeline_from_data, timeline_to_data

MOVE_S = 5.0
FORM = """\
# Everything after a number sign is a note to yourself; it is kept.
format: lesson/1
title: My lesson
summary: One sentence on what it is about.
installation: {installation}
objectives:
  - Say what the strip reads after the key.
competencies: [lateral_selection]
minutes: 3
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  selected: {{altitude_ft: 4000, heading_deg: 120}}
  modes: {{engagement: director, lateral: roll_hold, vertical: pitch_hold}}
steps:
  - say: Level at 3,000 ft with the director on.
  - wait: 5
  - predict: {{kind: after_key, key: heading_select}}
"""
TITLE = "A recorded flight"
OBJECTIVE = "Say what the strip reads next, as it was flown."
SUMMARY = "A practice flight with questions."


@dataclass(frozen=True, slots=True)
class Problem:
    """Something wrong, and where."""

    line: int
    message: str

    @property
    def words(self) -> str:
        """The problem in a line of a list."""
        return f"Line {self.line}: {self.message}"


class Writing:
    """One lesson being written.

    Attributes:
        text: The lesson as YAML.
        timeline: The recorded flight behind it, or None.
        stem: Name of the file that it was saved as or opened from; empty: a new lesson.
        problems: What is wrong, in order of lines.
        lesson: The lesson that the text is, or None.
        is_saved: False while there is something to lose.
    """

    def __init__(self, charts: dict[str, ChartSpec]) -> None:
        self._charts = charts
        self.text = ""
        self.timeline: Timeline | None = None
        self.stem = ""
        self.problems: tuple[Problem, ...] = ()
        self.lesson: Lesson | None = None
        self.is_saved = True
        self.open(FORM.format(installation=next(iter(charts))), "")

    @property
    def path(self) -> str:
        """The name that messages give the text."""
        return f"{self.stem or 'new lesson'}.yaml"

    def open(self, text: str, stem: str) -> None:
        """Take up a lesson from its text."""
        self.timeline, self.stem = None, stem
        self.set_text(text)
        self.is_saved = True

    def begin_from(self, timeline: Timeline) -> None:
        """Begin a new lesson from a recorded flight."""
        self.timeline, self.stem = timeline, ""
        self.set_text(self._written(timeline))

    def set_text(self, text: str) -> None:
        """Take another text and see what is wrong with it."""
        self.is_saved = self.is_saved and text == self.text
        self.text = text
        try:
            self.lesson = read_lesson(
                parse_document(text, self.path), self.stem or "draft", self._charts
            )
            self.problems = ()
        except FileError as error:
            self.lesson = None
            self.problems = tuple(problem_of(one) for one in error.problems)
        except TrainerError as error:
            self.lesson = None
            self.problems = (Problem(1, str(error)),)

    def saved_as(self, stem: str) -> None:
        """Note that the text is on the disk."""
        self.stem, self.is_saved = stem, True

    def move(self, index: int, by_s: float) -> int:
        """Move an entry of the timeline; return its new place."""
        timeline = self._timeline()
        what = timeline.entries[index].what
        self._edit(recording.moved(timeline, index, by_s))
        return next(n for n, entry in enumerate(self.entries) if entry.what is what)

    def remove(self, index: int) -> None:
        """Take an entry away."""
        self._edit(recording.removed(self._timeline(), index))

    def end_at(self, index: int) -> None:
        """Cut the flight off after an entry."""
        timeline = self._timeline()
        ended_s = timeline.entries[index].t_s + MOVE_S
        self._edit(recording.trimmed(timeline, ended_s))

    def say(self, t_s: float, text: str) -> None:
        """Add narration."""
        if text.strip():
            self._edit(recording.narrated(self._timeline(), t_s, text))

    def ask(self, index: int, kind: PromptKind | None) -> None:
        """Make an entry a prompt of a kind; None: none."""
        self._edit(recording.asked(self._timeline(), index, kind is not None, kind))

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The entries of the timeline."""
        return self.timeline.entries if self.timeline is not None else ()

    def to_data(self) -> dict[str, Any]:
        """Return everything as JSON values, for the draft."""
        flight = None if self.timeline is None else timeline_to_data(self.timeline)
        return {"text": self.text, "stem": self.stem, "flight": flight}

    def restore(self, data: Mapping[str, Any]) -> None:
        """Take up what `to_data` gave; a flight that can't be read is left out."""
        self.open(str(data["text"]), str(data.get("stem", "")))
        self.timeline = timeline_from_data(data.get("flight"), self._charts)
        self.is_saved = False

    def _timeline(self) -> Timeline:
        if self.timeline is None:
            raise TrainerError("There is no recorded flight behind this text; edit its steps.")
        return self.timeline

    def _edit(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.set_text(with_steps_of(self.text, self._written(timeline)))

    @staticmethod
    def _written(timeline: Timeline) -> str:
        return write_lesson(to_lesson(timeline, "draft", TITLE, [OBJECTIVE], summary=SUMMARY))


def problem_of(one: FileProblem) -> Problem:
    """Return a file's problem for the list."""
    tail = f"; accepted: {one.accepted}" if one.accepted else ""
    return Problem(one.line, f"{one.found}{tail}")
