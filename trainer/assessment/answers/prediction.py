"""A trainee's answer and its comparison with what happened, cell by cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.lesson.answer import Answer
from trainer.lesson.question import Prompt
from trainer.session.annunciation import CELLS, Annunciation

Confidence = Literal["sure", "think_so", "guess"]
CONFIDENCES: tuple[Confidence, ...] = ("sure", "think_so", "guess")


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the trainee answered, in the form of the prompt, and how sure they were."""

    annunciation: Annunciation
    """The strip they built; for a choice or a number it isn't looked at."""
    confidence: Confidence
    choice: str = ""
    """Id of the option chosen, for a prompt that offers options."""
    number: float | None = None
    """The number said, in the prompt's unit, for a prompt that asks for one."""


@dataclass(frozen=True, slots=True)
class CellResult:
    """One cell compared.

    Example:
        >>> CellResult("lateral_active", "heading_select", "course_track").is_right
        False
    """

    cell: str
    predicted: str | tuple[str, ...]
    actual: str | tuple[str, ...]
    is_near_enough: bool = False
    """True for a number inside its tolerance."""

    @property
    def is_right(self) -> bool:
        """True if the trainee's cell equals what happened, or is as near as was asked."""
        return self.is_near_enough or self.predicted == self.actual


@dataclass(frozen=True, slots=True)
class Score:
    """All cells of one prediction compared with the annunciation that came.

    Example:
        >>> score(Annunciation("director"), Annunciation("autopilot")).is_right
        False
    """

    cells: tuple[CellResult, ...]

    @property
    def is_right(self) -> bool:
        """True if every cell is right: the answer counts as a whole."""
        return all(cell.is_right for cell in self.cells)

    @property
    def wrong_cells(self) -> tuple[str, ...]:
        """Names of the cells that were wrong, in reading order."""
        return tuple(cell.cell for cell in self.cells if not cell.is_right)


def score(prediction: Annunciation, actual: Annunciation) -> Score:
    """Return the comparison of a predicted with an actual annunciation.

    Example:
        >>> score(Annunciation(), Annunciation(alert="disconnect_sounding")).wrong_cells
        ('alert',)
    """
    return Score(
        tuple(CellResult(name, prediction.cell(name), actual.cell(name)) for name in CELLS)
    )


def score_answer(prompt: Prompt, prediction: Prediction, answer: Answer) -> Score:
    """Return the score of a prediction in the form that its prompt asked for.

    A choice or a number is scored as a single cell of that name; its content is the option's id,
    or the number with its unit.

    Example:
        >>> blank = Annunciation()
        >>> prompt = Prompt("level_off", "", "Where?", blank, 60.0, 1, 1, "number", (), "ft")
        >>> answer = Answer(blank, blank, (), 9.0, number=3950.0, tolerance=25.0)
        >>> said = Prediction(blank, "sure", number=3940.0)
        >>> score_answer(prompt, said, answer).is_right
        True
    """
    if prompt.form == "choice":
        said = prediction.choice
        right = said if said in answer.accepted else next(iter(answer.accepted), "")
        return Score((CellResult("choice", said, right),))
    if prompt.form == "number":
        number, right_number = prediction.number, answer.number or 0.0
        said = "" if number is None else f"{number:.0f} {prompt.unit}"
        near = number is not None and abs(number - right_number) <= answer.tolerance
        return Score((CellResult("number", said, f"{right_number:.0f} {prompt.unit}", near),))
    return score(prediction.annunciation, answer.after)
