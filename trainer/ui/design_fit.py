"""Whether a design's words can be read in the narrowest strip that the program shows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from PySide6.QtGui import QFont

from trainer.session.strip_design import DesignFinding, StripDesign
from trainer.ui.cell_content import chips_of
from trainer.ui.strip_layout import strip_boxes
from trainer.ui.strip_paint import Look, is_fitting
from trainer.ui.words import CELL_TITLES, StripWords, with_design

NARROWEST_PX = 374
"""Three strips side by side, in the attempts of a window of the least size."""
_ARMED_AT_ONCE = 2


def unfit_findings(design: StripDesign, words: StripWords, font: QFont) -> list[DesignFinding]:
    """Return a finding for each cell in which something can't be written without cutting it."""
    own = with_design(words, design)
    look = Look(design, design.light, font)
    findings = []
    for cell, box in strip_boxes(design, NARROWEST_PX).items():
        for value in contents_of(own, cell):
            chips = chips_of(cell, value, own)
            if chips and not is_fitting(chips, box.width, look):
                words_cut = own.content(cell, value)
                findings.append(
                    DesignFinding(
                        f"{CELL_TITLES[cell]}: '{words_cut}' is cut in a narrow strip",
                        "use a shorter word, a smaller size or more lanes",
                        "both",
                    )
                )
                break
    return findings


def contents_of(words: StripWords, cell: str) -> Iterator[str | tuple[str, ...]]:
    """Yield all that a cell can show; of armed modes, at most two at once."""
    states = [choice.id for choice in words.cells.get(cell, ())]
    if not cell.endswith("_armed"):
        yield from states
        return
    for count in range(_ARMED_AT_ONCE + 1):
        yield from (tuple(sorted(group)) for group in combinations(states, count))
