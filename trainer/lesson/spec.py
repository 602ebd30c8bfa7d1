"""Lessons as values: what a lesson file says, with the line of every step for messages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.situation import Selected, Start, StartModes

__all__ = [
    "Condition", "Do", "Inject", "Lesson", "Predict", "PromptKind", "Say", "Selected", "Set",
    "Start", "StartModes", "Step", "Wait", "WaitUntil",
]  # fmt: skip

PromptKind = Literal[
    "next_change", "after_key", "after_set", "after_fault", "after_time",
    "first_capture", "which_key", "level_off", "is_allowed", "what_to_do",
]  # fmt: skip
"""The first five are answered by building a strip; the others by a choice or a number."""
HIDEABLE = ("plan", "profile", "attitude", "numbers", "strip")
"""What a prompt can hide while it is open."""


@dataclass(frozen=True, slots=True)
class Say:
    """Narration."""

    text: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class Do:
    """A key pressed by the script; `by` the pilot unless the instructor's hand does it."""

    event: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class Set:
    """A selector, lever or the scene changed: name -> value (names in `lesson.loader`)."""

    values: tuple[tuple[str, float | str], ...]
    line: int = 0


@dataclass(frozen=True, slots=True)
class Wait:
    """Let time run [s]."""

    seconds: float
    line: int = 0


@dataclass(frozen=True, slots=True)
class WaitUntil:
    """Let time run until a condition holds; `within_s` bounds it, or the lesson is wrong."""

    condition: Condition
    within_s: float = 300.0
    line: int = 0


@dataclass(frozen=True, slots=True)
class Condition:
    """All parts that are set must hold at once."""

    change: bool = False
    """The annunciation has changed since the step began."""
    active: tuple[str, ...] = ()
    """Each of these modes is active on its axis."""
    armed: tuple[str, ...] = ()
    engagement: str | None = None
    alert: str | None = None
    signal: str | None = None
    above: tuple[tuple[str, float], ...] = ()
    """Quantity name and value: true when the quantity is above it."""
    below: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Inject:
    """A malfunction started or ended by the instructor."""

    fault: str
    on: bool = True
    line: int = 0


@dataclass(frozen=True, slots=True)
class Predict:
    """A question. The answer is never in the file: the session forks, runs and computes it."""

    kind: PromptKind
    key: str = ""
    """For `after_key`: the event pressed when the answer is in."""
    horizon_s: float = 120.0
    """`next_change`: how long to look ahead; `after_time`: when to compare."""
    question: str = ""
    """Empty: worded from the kind."""
    line: int = 0
    shows: tuple[tuple[str, str | tuple[str, ...]], ...] = ()
    """`which_key`: cells that the strip is to read, each with its content."""
    values: tuple[tuple[str, float | str], ...] = ()
    """`after_set`: what is set when the answer is in, as in a `set` step."""
    fault: str = ""
    """`after_fault`: the malfunction that begins when the answer is in."""
    goal: Condition | None = None
    """`what_to_do`: what must hold `horizon_s` after the right key."""
    goal_words: str = ""
    """`what_to_do`: the goal in words, for the question."""
    then: tuple[str, ...] = ()
    """For `after_key`: further keys pressed at once after it, before the strip is compared."""
    hide: tuple[str, ...] = ()
    """What isn't seen while the question is open: names of `HIDEABLE`."""


Step = Say | Do | Set | Wait | WaitUntil | Inject | Predict


@dataclass(frozen=True, slots=True)
class Lesson:
    """A loaded, checked lesson."""

    id: str
    path: str
    title: str
    installation: str
    objectives: tuple[str, ...]
    competencies: tuple[str, ...]
    start: Start
    steps: tuple[Step, ...]
    minutes: float = 5.0
    summary: str = ""
    prerequisites: tuple[str, ...] = ()
    start_line: int = 1
