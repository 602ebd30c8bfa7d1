"""A trainee's answer and its comparison with what happened, cell by cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.annunciation import CELLS, Annunciation

Confidence = Literal["sure", "think_so", "guess"]
CONFIDENCES: tuple[Confidence, ...] = ("sure", "think_so", "guess")


@dataclass(frozen=True, slots=True)
class Prediction:
    """The strip that the trainee built, and how sure they were."""

    annunciation: Annunciation
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class CellResult:
    """One cell compared."""

    cell: str
    predicted: str | tuple[str, ...]
    actual: str | tuple[str, ...]

    @property
    def is_right(self) -> bool:
        """True if the trainee's cell equals what happened."""
        return self.predicted == self.actual


@dataclass(frozen=True, slots=True)
class Score:
    """All cells of one prediction compared with the annunciation that came."""

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
