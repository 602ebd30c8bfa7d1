"""The prediction in the making: an empty strip that the trainee fills cell by cell. No Qt here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from types import MappingProxyType

from trainer.assessment.answers.prediction import Confidence, Prediction
from trainer.session.annunciation import CELLS, Annunciation
from trainer.ui.look.words import SURE_WANTED, StripWords

CellValue = str | tuple[str, ...]
EMPTY: Mapping[str, CellValue] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Draft:
    """What has been said so far."""

    words: StripWords
    now: Annunciation
    """What the strip shows while the question is asked."""
    cells: Mapping[str, CellValue] = field(default_factory=lambda: EMPTY)
    confidence: Confidence | None = None

    @property
    def missing(self) -> tuple[str, ...]:
        """Cells not said yet, in reading order."""
        return tuple(cell for cell in CELLS if cell not in self.cells)

    @property
    def is_complete(self) -> bool:
        """True if every cell and the confidence are said."""
        return not self.missing and self.confidence is not None

    def options(self, cell: str) -> tuple[CellValue, ...]:
        """Return all that a cell can be set to, in the order in which the arrow keys go."""
        choices = tuple(choice.id for choice in self.words.cells.get(cell, ()))
        if not cell.endswith("_armed"):
            return choices
        return tuple(
            tuple(sorted(group))
            for size in range(len(choices) + 1)
            for group in combinations(choices, size)
        )

    def with_cell(self, cell: str, value: CellValue) -> Draft:
        """Return the draft with a cell set."""
        if isinstance(value, tuple):
            value = tuple(sorted(value))
        return replace(self, cells=MappingProxyType({**self.cells, cell: value}))

    def without_cell(self, cell: str) -> Draft:
        """Return the draft with a cell empty again."""
        kept = {name: value for name, value in self.cells.items() if name != cell}
        return replace(self, cells=MappingProxyType(kept))

    def cycled(self, cell: str, step: int) -> Draft:
        """Return the draft with a cell moved to the next (+1) or previous (-1) option."""
        options = self.options(cell)
        if not options:
            return self
        if cell not in self.cells or self.cells[cell] not in options:
            return self.with_cell(cell, options[0 if step > 0 else -1])
        place = (options.index(self.cells[cell]) + step) % len(options)
        return self.with_cell(cell, options[place])

    def chosen(self, cell: str, state: str) -> Draft:
        """Return the draft with a state picked; in an armed cell it is put in or taken out.

        The empty text empties an armed cell: nothing armed.
        """
        if not cell.endswith("_armed"):
            return self.with_cell(cell, state)
        if not state:
            return self.with_cell(cell, ())
        armed = set(self.cells.get(cell, ()))
        return self.with_cell(cell, tuple(armed ^ {state}))

    def typed(self, cell: str, letter: str) -> Draft:
        """Return the draft with the next choice whose words begin with a letter.

        The words counted are those that the choices show, "nothing" too.
        """
        start = letter.casefold()
        picks = [pick for pick in picks_of(self, cell) if pick.label.casefold().startswith(start)]
        if not picks:
            return self
        if cell.endswith("_armed"):
            return self.chosen(cell, picks[0].state)
        states = [pick.state for pick in picks]
        current = self.cells.get(cell)
        place = states.index(str(current)) + 1 if current in states else 0
        return self.chosen(cell, states[place % len(states)])

    def as_now(self, cell: str) -> Draft:
        """Return the draft with a cell said to stay as it is."""
        return self.with_cell(cell, self.now.cell(cell))

    def rest_as_now(self) -> Draft:
        """Return the draft with every cell not said yet said to stay as it is."""
        draft = self
        for cell in self.missing:
            draft = draft.as_now(cell)
        return draft

    def nothing_changes(self) -> Draft:
        """Return the draft that says that every cell stays as it is."""
        draft = self
        for cell in CELLS:
            draft = draft.as_now(cell)
        return draft

    def with_confidence(self, confidence: Confidence) -> Draft:
        """Return the draft with the confidence said."""
        return replace(self, confidence=confidence)

    def prediction(self) -> Prediction:
        """Return the finished prediction.

        Raises:
            ValueError: If something isn't said yet.
        """
        if self.confidence is None or self.missing:
            raise ValueError("the prediction isn't complete")
        annunciation = Annunciation()
        for cell, value in self.cells.items():
            annunciation = annunciation.with_cell(cell, value)
        return Prediction(annunciation, self.confidence)


@dataclass(frozen=True, slots=True)
class Pick:
    """One word button for a cell."""

    state: str
    """State to pick; empty: nothing armed."""
    label: str
    is_on: bool


def picks_of(draft: Draft, cell: str) -> tuple[Pick, ...]:
    """Return the word buttons for a cell, in order."""
    value = draft.cells.get(cell)
    if not cell.endswith("_armed"):
        return tuple(
            Pick(choice.id, pick_label(choice.id, choice.label), value == choice.id)
            for choice in draft.words.cells.get(cell, ())
        )
    armed = value if isinstance(value, tuple) else ()
    picks = [Pick("", "Nothing armed", value == ())]
    picks += [Pick(c.id, c.label, c.id in armed) for c in draft.words.cells.get(cell, ())]
    return tuple(picks)


def pick_label(state: str, label: str) -> str:
    """Return the words on a button: the cell's quiet states read `Nothing shown`."""
    return "Nothing shown" if state in ("none", "quiet") else label


def progress(draft: Draft) -> str:
    """Return what is still to be said, in one line."""
    count = len(draft.missing)
    if count:
        return f"{count} cell{'s' if count > 1 else ''} still to call"
    return SURE_WANTED if draft.confidence is None else "Ready"
