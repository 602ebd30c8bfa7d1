"""Words for what windows name beside the strip's own. No Qt here."""

from __future__ import annotations

from trainer.charts.spec import ChartSpec
from trainer.session.strip_words import (
    CELL_TITLES,
    NOTHING,
    QUIET_STATES,
    Choice,
    StripWords,
    capitalised,
    with_design,
    words_of_chart,
)

__all__ = [
    "CELL_TITLES",
    "FORM_TITLES",
    "NOTHING",
    "QUIET_STATES",
    "Choice",
    "StripWords",
    "capitalised",
    "cell_title",
    "event_label",
    "with_design",
    "words_of_chart",
]
FORM_TITLES = {"choice": "Choice", "number": "Number"}
"""The plain name of the one cell in which a choice or a number is scored."""


def cell_title(cell: str) -> str:
    """Return the plain name of a cell, or of what stands for one in a score."""
    return CELL_TITLES.get(cell) or FORM_TITLES.get(cell, capitalised(cell.replace("_", " ")))


def event_label(chart: ChartSpec, event: str) -> str:
    """Return the chart's words for an event, or its id with spaces."""
    spec = chart.events.get(event)
    return capitalised(spec.label if spec else event.replace("_", " "))
