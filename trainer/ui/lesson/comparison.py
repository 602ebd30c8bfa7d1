"""The outcome of a prediction in words, cell by cell. No Qt here."""

from __future__ import annotations

from typing import NamedTuple

from trainer.assessment.answers.prediction import Confidence, Score
from trainer.lesson.question import Option
from trainer.ui.look.words import StripWords, capitalised, cell_title


class ComparedCell(NamedTuple):
    """One line of the comparison."""

    cell: str
    title: str
    said: str
    read: str
    is_right: bool


def compared_cells(
    score: Score, words: StripWords, options: tuple[Option, ...] = ()
) -> tuple[ComparedCell, ...]:
    """Return the comparison of a prediction with what happened, in words.

    Args:
        score: The comparison.
        words: The strip's words.
        options: What a prompt by choice offered.
    """
    labels = {option.id: option.label for option in options}

    def content(cell: str, value: str | tuple[str, ...]) -> str:
        if is_form(cell) and isinstance(value, str):
            return labels.get(value) or said_words(cell, value)
        return words.content(cell, value)

    return tuple(
        ComparedCell(
            result.cell,
            cell_title(result.cell),
            content(result.cell, result.predicted),
            content(result.cell, result.actual),
            result.is_right,
        )
        for result in score.cells
    )


def heads_of(cells: tuple[ComparedCell, ...]) -> tuple[str, str, str]:
    """Return the heads of the comparison: cells of a strip are read, other answers are right.

    Example:
        >>> heads_of((ComparedCell("number", "Altitude", "3900 ft", "4000 ft", False),))
        ('Asked for', 'You said', 'Right')
    """
    is_strip = not any(is_form(cell.cell) for cell in cells)
    return ("Cell", "You said", "It read") if is_strip else ("Asked for", "You said", "Right")


def is_form(cell: str) -> bool:
    """True for what stands for a choice or a number in a score."""
    return cell in ("choice", "number")


def said_words(cell: str, value: str) -> str:
    """Return a stored choice or number in words.

    Example:
        >>> said_words("choice", "altitude_hold"), said_words("number", "4000 ft")
        ('Altitude hold', '4000 ft')
    """
    return value if cell == "number" else capitalised(value.replace("_", " "))


def verdict(score: Score, confidence: Confidence) -> str:
    """Return the verdict in a sentence that takes the confidence into account."""
    wrong = len(score.wrong_cells)
    if wrong == 0:
        return {
            "sure": "Right, and you were sure.",
            "think_so": "Right.",
            "guess": "Right, though you guessed: read why below.",
        }[confidence]
    if is_form(score.wrong_cells[0]):
        cells = "Not so"
    else:
        cells = f"{wrong} cell{'s' if wrong > 1 else ''} not so"
    if confidence == "sure":
        return f"{cells}, and you were sure: worth a second look."
    return f"{cells}."
