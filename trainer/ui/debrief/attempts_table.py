"""Stored answers as lines of words. No Qt here."""

from __future__ import annotations

from typing import NamedTuple

from trainer.charts.spec import ChartSpec
from trainer.lesson.question import FORMS
from trainer.records.attempt import Attempt
from trainer.ui.lesson.comparison import said_words
from trainer.ui.look.words import cell_title

HEADS = ("When (UTC)", "Lesson", "Question", "Answer", "Confidence", "Not so")
_CONFIDENCE = {"sure": "sure", "think_so": "think so", "guess": "guess"}
NO_RULE = "No rule acted: nothing changed by what was asked about."
GONE = "The aircraft isn't here any more."
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


def where_line(attempt: Attempt) -> str:
    """Return where it was asked and what was wrong, whole: the table's columns may be narrow."""
    line = attempt_line(attempt)
    where = f"{line.lesson}, question {attempt.prompt_number}"
    return f"{where}.  Not so: {line.not_so}." if attempt.wrong_cells else f"{where}."


def reasons(attempt: Attempt, chart: ChartSpec | None) -> tuple[str, ...]:
    """Return the sentences of the rules behind an answer, each once.

    Args:
        attempt: The answer, with the ids of its rules.
        chart: The aircraft as it is now; None: it isn't here any more. A rule that it doesn't
            have any more is named by its id.
    """
    if not attempt.rule_ids:
        return (NO_RULE,)
    if chart is None:
        return (f"{GONE} Rules: {', '.join(attempt.rule_ids)}.",)
    told: dict[str, None] = {}
    for name in attempt.rule_ids:
        if name in chart.rules:
            told[chart.rules[name].because] = None
        elif name in chart.refusals:
            refusal = chart.refusals[name]
            told[f"Refused: {refusal.reason}. {refusal.because}"] = None
        else:
            told[f"The rule {name}, which the aircraft doesn't have any more."] = None
    return tuple(told)


def summary(attempts: list[Attempt]) -> str:
    """Return the one-line sum of some attempts."""
    if not attempts:
        return "No answers yet"
    right = sum(attempt.is_right for attempt in attempts)
    sure_wrong = sum(attempt.is_sure_and_wrong for attempt in attempts)
    count = len(attempts)
    words = f"{count} answer{'s' if count > 1 else ''}, {right} right"
    return f"{words}, {sure_wrong} not so although sure"
