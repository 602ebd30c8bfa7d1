"""Whether a design's words can be read in the narrowest strip that the program shows."""

from __future__ import annotations

from PySide6.QtGui import QFont

from trainer.session.strip_content import chips_of
from trainer.session.strip_design import DesignFinding, StripDesign
from trainer.session.strip_fit import contents_of, fit_chips
from trainer.session.strip_layout import SIDE_PX, strip_boxes
from trainer.session.strip_words import CELL_TITLES, StripWords, with_design
from trainer.ui.strip.strip_paint import measure_with

NARROWEST_PX = 374
"""Three strips side by side, in the attempts of a window of the least size."""


def unfit_findings(design: StripDesign, words: StripWords, font: QFont) -> list[DesignFinding]:
    """Return a finding for each cell in which a word has to be broken over several lines."""
    own, measure = with_design(words, design), measure_with(font)
    findings = []
    for cell, box in strip_boxes(design, NARROWEST_PX).items():
        for value in contents_of(own, cell):
            chips = chips_of(cell, value, own)
            room_px = box.width - 2 * SIDE_PX
            if chips and not fit_chips(chips, room_px, design.scale, measure).is_whole:
                findings.append(
                    DesignFinding(
                        f"{CELL_TITLES[cell]}: '{own.content(cell, value)}' takes several lines"
                        " in a narrow strip",
                        "use a shorter word, a smaller size or more lanes",
                        "both",
                    )
                )
                break
    return findings
