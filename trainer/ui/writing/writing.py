"""A lesson in the making: its text, what is wrong with it, and its flight. No Qt here.

The text is the lesson. What the timeline shows is the text's lesson as it is flown; a change on
the timeline rewrites the steps that it touches and leaves every other line, comments too, as it
stands.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from trainer.charts.spec import ChartSpec
from trainer.document import parse_document
from trainer.errors import FileError, FileProblem, TrainerError
from trainer.lesson import rewrite
from trainer.lesson.lesson_text import with_minutes, with_start, with_steps
from trainer.lesson.loader import read_lesson
from trainer.lesson.questioning import usual_question
from trainer.lesson.recording import LEAST_MINUTES, Timeline, to_lesson
from trainer.lesson.rewrite import Edit
from trainer.lesson.spec import Lesson, Predict, PromptKind
from trainer.lesson.story import Moment, Story
from trainer.lesson.writer import write_lesson
from trainer.session.session import Session
from trainer.session.situation import Start

Begin = Callable[[Start], Session]
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
COMPETENCY = "verification_and_vigilance"


@dataclass(frozen=True, slots=True)
class Problem:
    """Something wrong, and where."""

    line: int
    message: str

    @property
    def words(self) -> str:
        """The problem in a line of a list."""
        return f"Line {self.line}: {self.message}"


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text was read as: a lesson, or what is wrong with it."""

    text: str
    lesson: Lesson | None
    problems: tuple[Problem, ...]


class Writing:
    """One lesson being written.

    Attributes:
        text: The lesson as YAML.
        stem: Name of the file that it was saved as or opened from; empty: a new lesson.
        problems: What is wrong, in order of lines.
        lesson: The lesson that the text is, or None.
        story: The lesson as flown; None: not flown yet, or no lesson.
        left_out: How many keys that did nothing were left out of the recorded flight.
        is_saved: False while there is something to lose.
    """

    def __init__(self, charts: dict[str, ChartSpec]) -> None:
        self._charts = charts
        self._recorded: Timeline | None = None
        self.text = ""
        self.stem = ""
        self.problems: tuple[Problem, ...] = ()
        self.lesson: Lesson | None = None
        self.story: Story | None = None
        self.left_out = 0
        self.is_saved = True
        self.open(FORM.format(installation=next(iter(charts))), "")

    @property
    def path(self) -> str:
        """The name that messages give the text."""
        return f"{self.stem or 'new lesson'}.yaml"

    @property
    def chart(self) -> ChartSpec:
        """The chart of the aircraft that the lesson flies."""
        name = self.lesson.installation if self.lesson is not None else next(iter(self._charts))
        return self._charts[name]

    @property
    def moments(self) -> tuple[Moment, ...]:
        """What there is on the timeline."""
        return self.story.moments if self.story is not None else ()

    def use_charts(self, charts: dict[str, ChartSpec]) -> bool:
        """Use the aircraft as they are now; True if they are others, and the text is read again."""
        if {name: id(one) for name, one in charts.items()} == {
            name: id(one) for name, one in self._charts.items()
        }:
            return False
        self._charts, self.story, self.lesson = charts, None, None
        self.set_text(self.text)
        return True

    def open(self, text: str, stem: str) -> None:
        """Take up a lesson from its text."""
        self._recorded, self.left_out, self.stem = None, 0, stem
        self.set_text(text)
        self.is_saved = True

    def begin_from(self, timeline: Timeline) -> None:
        """Begin a new lesson from a recorded flight, without the keys that did nothing."""
        self.stem = ""
        self._recorded = timeline
        self.left_out = sum(entry.is_dead for entry in timeline.entries)
        self.set_text(_written(timeline.without_dead_keys()))
        self.is_saved = False

    def put_back(self) -> None:
        """Begin again from the recorded flight, with the keys that did nothing."""
        if self._recorded is not None and self.left_out:
            self.left_out = 0
            self.set_text(_written(self._recorded))

    @property
    def can_put_back(self) -> bool:
        """True while the text is still the recorded flight without keys that did nothing."""
        return self._recorded is not None and self.left_out > 0

    def read(self, text: str) -> Reading:
        """Return what a text is, changing nothing; may be done in another thread."""
        try:
            document = parse_document(text, self.path)
            return Reading(text, read_lesson(document, self.stem or "draft", self._charts), ())
        except FileError as error:
            return Reading(text, None, tuple(problem_of(one) for one in error.problems))
        except TrainerError as error:
            return Reading(text, None, (Problem(1, str(error)),))

    def set_text(self, text: str) -> None:
        """Take another text and see what is wrong with it."""
        self.take(self.read(text))

    def take(self, reading: Reading) -> None:
        """Take another text that has been read."""
        self.is_saved = self.is_saved and reading.text == self.text
        if reading.text != self.text or reading.lesson is None:
            self.story = None
        elif self.story is not None and self.lesson is not None:
            return  # the same text again: its story still holds
        self.text, self.lesson, self.problems = reading.text, reading.lesson, reading.problems

    def take_story(self, story: Story) -> bool:
        """Take the flight of the lesson in hand; False if it is of another one."""
        if story.lesson is not self.lesson:
            return False
        self.story = story
        return True

    def saved_as(self, stem: str) -> None:
        """Note that the text is on the disk."""
        self.stem, self.is_saved = stem, True

    def move(self, moment: Moment, by_s: float) -> int:
        """Move a step; return its new number. A change that came by itself can't be moved."""
        return self._edit(rewrite.moved(self._flown(), moment.step, by_s))

    def remove(self, moment: Moment) -> int:
        """Take a step away."""
        return self._edit(rewrite.removed(self._flown(), moment.step))

    def remove_dead_keys(self) -> int:
        """Take away every key that does nothing."""
        return self._edit(Edit(rewrite.without_dead_keys(self._flown()), 0))

    def end_at(self, moment: Moment) -> int:
        """Cut the flight off after a moment."""
        return self._edit(rewrite.cut_after(self._flown(), moment))

    def begin_at(self, moment: Moment, begin: Begin) -> int:
        """Let the lesson begin at a moment.

        Raises:
            TrainerError: A flight can't begin at that moment.
        """
        return self._edit(rewrite.cut_before(self._flown(), moment, begin))

    def say(self, moment: Moment, text: str) -> int:
        """Add narration at a moment, or change that which is there."""
        return self._edit(rewrite.narrated(self._flown(), moment, text))

    def ask(self, moment: Moment, kind: PromptKind | None) -> int:
        """Ask a question of a kind, in its usual form, at a moment; None: ask none."""
        story = self._flown()
        if kind is None:
            return self._edit(rewrite.unquestioned(story, moment.step))
        return self.put_question(moment, usual_question(kind, moment, story, self.chart))

    def put_question(self, moment: Moment, question: Predict) -> int:
        """Put a question at a moment, in place of what it is about."""
        return self._edit(rewrite.questioned(self._flown(), moment, question))

    def ask_throughout(self) -> int:
        """Ask about every change and key that matters, up to a whole lesson's number."""
        return self._edit(rewrite.asked_throughout(self._flown(), self.chart))

    def to_data(self) -> dict[str, Any]:
        """Return everything as JSON values, for the draft."""
        return {"text": self.text, "stem": self.stem}

    def restore(self, data: Mapping[str, Any]) -> None:
        """Take up what `to_data` gave."""
        self.open(str(data["text"]), str(data.get("stem", "")))
        self.is_saved = False

    def _flown(self) -> Story:
        if self.story is None:
            raise TrainerError("The lesson is still being flown; try again in a moment.")
        return self.story

    def _edit(self, edit: Edit) -> int:
        assert self.lesson is not None
        text = with_steps(self.text, self.lesson, edit.steps)
        if edit.start is not None:
            text = with_start(text, replace(self.lesson, steps=edit.steps), edit.start)
        if edit.left < 1.0:
            half_minutes = round(2.0 * self.lesson.minutes * edit.left)
            text = with_minutes(text, max(LEAST_MINUTES, half_minutes / 2.0))
        self.left_out = 0
        self.set_text(text)
        return edit.at


def has_steps(timeline: Timeline) -> bool:
    """Return False for a flight that has not begun: a lesson of it would have no steps."""
    return bool(_lesson_of(timeline.without_dead_keys()).steps)


def _written(timeline: Timeline) -> str:
    return write_lesson(_lesson_of(timeline))


def _lesson_of(timeline: Timeline) -> Lesson:
    return to_lesson(
        timeline, "draft", TITLE, [OBJECTIVE], summary=SUMMARY, competencies=(COMPETENCY,)
    )


def problem_of(one: FileProblem) -> Problem:
    """Return a file's problem for the list."""
    tail = f"; accepted: {one.accepted}" if one.accepted else ""
    return Problem(one.line, f"{one.found}{tail}")
