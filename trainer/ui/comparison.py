"""The outcome of a prediction in words, cell by cell. No Qt here."""

from __future__ import annotations

from typing import NamedTuple

from trainer.assessment.prediction import Confidence, Score
from trainer.ui.words import CELL_TITLES, StripWords


class ComparedCell(NamedTuple):
    """One line of the comparison."""

    cell: str
    title: str
    said: str
    read: str
    is_right: bool


def compared_cells(score: Score, words: StripWords) -> tuple[ComparedCell, ...]:
    """Return the comparison of a prediction with what happened, in words."""
    return tuple(
        ComparedCell(
            result.cell,
            CELL_TITLES[result.cell],
            words.content(result.cell, result.predicted),
            words.content(result.cell, result.actual),
            result.is_right,
        )
        for result in score.cells
    )


def verdict(score: Score, confidence: Confidence) -> str:
    """Return the verdict in a sentence that takes the confidence into account."""
    wrong = len(score.wrong_cells)
    if wrong == 0:
        return {
            "sure": "Right, and you were sure.",
            "think_so": "Right.",
            "guess": "Right, though you guessed: read why below.",
        }[confidence]
    cells = f"{wrong} cell{'s' if wrong > 1 else ''} not so"
    if confidence == "sure":
        return f"{cells}, and you were sure: worth a second look."
    return f"{cells}."
