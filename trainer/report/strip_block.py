"""A strip in a trainee's design as a part of a report: the picture, and the same as text."""

from __future__ import annotations

from trainer.report.page import StripPicture
from trainer.session.strip_design import StripDesign
from trainer.session.strip_svg import StripLook, StripShown, strip_svg
from trainer.session.strip_words import CELL_TITLES, StripWords, with_design

_ROOM = "____________"
_EMPTY = "–"
_SIGNS = {"right": " (right)", "wrong": " (not so)", "": ""}


def paper_look(words: StripWords, design: StripDesign) -> StripLook:
    """Return how a design looks on paper: in its light colours."""
    return StripLook(design, with_design(words, design), design.light)


def strip_picture(
    caption: str, shown: StripShown, look: StripLook, share: float = 1.0
) -> StripPicture:
    """Return a strip for a report.

    Args:
        caption: What it is.
        shown: What it shows.
        look: How it looks.
        share: Of the width of the page.
    """
    lanes = tuple(
        "| " + " | ".join(_cell(cell, shown, look.words) for cell in lane) + " |"
        for lane in look.design.lanes
    )
    return StripPicture(caption, strip_svg(shown, look), lanes, share)


def _cell(cell: str, shown: StripShown, words: StripWords) -> str:
    if shown.annunciation is None:
        return f"{CELL_TITLES[cell]}: {_ROOM}"
    content = words.content(cell, shown.annunciation.cell(cell))
    is_empty = content == words.content(cell, ())
    sign = _SIGNS[shown.verdicts.get(cell, "")]
    return f"{CELL_TITLES[cell]}: {_EMPTY if is_empty else content}{sign}"
