"""A lesson flown from start to end without a trainee: its prompts, answers and records."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.lesson.answer import Answer
from trainer.lesson.runner import LessonRunner, Prompt
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session

LONGEST_LEAP_S = 1.0


@dataclass(frozen=True, slots=True)
class FlownPrompt:
    """One prompt as it was put and what then happened."""

    prompt: Prompt
    answer: Answer
    asked_s: float
    """When it was asked [s]."""


@dataclass(frozen=True, slots=True)
class FlownLesson:
    """Everything that one flight of a lesson shows."""

    prompts: tuple[FlownPrompt, ...]
    records: tuple[StepRecord, ...]
    configurations: tuple[tuple[str, ...], ...]
    """The settled configurations come to, in order, the start's first; none twice in a row.

    Looked at when records have come in: one that lasted less than a leap of `LONGEST_LEAP_S` is in
    the records only."""
    ended_s: float
    """When the lesson was over [s]."""


def fly(runner: LessonRunner, watch: Callable[[Session], None] | None = None) -> FlownLesson:
    """Fly a lesson to its end, committing every prompt at once.

    Args:
        runner: A run at its start.
        watch: Called with the session whenever something has happened.

    Raises:
        FileError: A wait of the lesson was not over in its time.
    """
    prompts: list[FlownPrompt] = []
    records: list[StepRecord] = []
    configurations = [runner.session.configuration]
    asked_s = 0.0

    def note(new: tuple[StepRecord, ...]) -> None:
        records.extend(new)
        if runner.session.configuration != configurations[-1]:
            configurations.append(runner.session.configuration)
        if watch is not None and new:
            watch(runner.session)

    note(runner.advance(0.0))
    while runner.phase != "finished":
        if runner.phase == "asking":
            asked_s = runner.session.t_s
            had = len(runner.played)
            runner.commit()
            # A prompt about a key is over at once; its record is in the answer only.
            note(runner.played[-1].records if len(runner.played) > had else ())
        elif runner.phase == "explained":
            assert runner.prompt is not None
            prompts.append(FlownPrompt(runner.prompt, runner.played[-1], asked_s))
            note(runner.proceed())
        else:
            # One step at a time while something may happen would be exact for `watch`, but slow.
            note(runner.advance(STEP_S if watch else LONGEST_LEAP_S))
    return FlownLesson(tuple(prompts), tuple(records), tuple(configurations), runner.session.t_s)
