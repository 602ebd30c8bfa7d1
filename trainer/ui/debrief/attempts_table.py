"""Stored answers as lines of words. No Qt here."""

from __future__ import annotations

from typing import NamedTuple

from trainer.lesson.question import FORMS
from trainer.records.attempt import Attempt
from trainer.ui.lesson.comparison import said_words
from trainer.ui.look.words import cell_title

HEADS = ("When (UTC)", "Lesson", "Question", "Answer", "Confidence", "Not so")
_CONFIDENCE = {"sure": "sure", "think_so": "think so", "guess": "guess"}
EMPTY_WORDS = (
    "No answers yet.\n\nStart a lesson: every answer is kept here as soon as it is given, with what"
    " was asked, what you said and what happened."
)


class AttemptLine(NamedTuple):
    """One line of the table."""

    when: str
    lesson: str
    question: str
    answer: str
    confidence: str
    not_so: str


def attempt_line(attempt: Attempt) -> AttemptLine:
    """Return an attempt as a line of words."""
    when = attempt.at_utc.replace("T", " ")[:16]
    return AttemptLine(
        when,
        attempt.lesson_title,
        f"{attempt.prompt_number}: {attempt.question}",
        "✓ right" if attempt.is_right else "✗ not so",
        _CONFIDENCE.get(attempt.confidence, attempt.confidence),
        ", ".join(cell_title(cell).lower() for cell in attempt.wrong_cells) or "—",
    )


def said_line(attempt: Attempt) -> str:
    """Return what was said and what was right for a choice or a number; empty for a strip."""
    if not attempt.said and not attempt.expected:
        return ""
    form = FORMS.get(attempt.prompt_kind, "choice")
    said, right = (said_words(form, value) for value in (attempt.said, attempt.expected))
    return f"You said: {said or 'nothing'}.  Right: {right}."


def summary(attempts: list[Attempt]) -> str:
    """Return the one-line sum of some attempts."""
    if not attempts:
        return "No answers yet"
    right = sum(attempt.is_right for attempt in attempts)
    sure_wrong = sum(attempt.is_sure_and_wrong for attempt in attempts)
    count = len(attempts)
    words = f"{count} answer{'s' if count > 1 else ''}, {right} right"
    return f"{words}, {sure_wrong} not so although sure"
