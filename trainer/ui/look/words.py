"""Words for what windows name beside the strip's own. No Qt here."""

from __future__ import annotations

import re

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
    "SURE_WANTED",
    "Choice",
    "StripWords",
    "capitalised",
    "cell_title",
    "event_label",
    "unbroken",
    "with_design",
    "words_of_chart",
]
SURE_WANTED = "Still to say: how sure"
"""What is wanted where an answer is built; the question itself stands beside the three words."""
_SLASH = re.compile(r"(?<=[a-z])/(?=[a-z])")
_JOINER = "\N{WORD JOINER}"
FORM_TITLES = {"choice": "Choice", "number": "Number"}
"""The plain name of the one cell in which a choice or a number is scored."""


def unbroken(words: str) -> str:
    r"""Return words in which no unit is broken at its slash: a line would end after it.

    Example:
        >>> unbroken("at 500 ft/min") == "at 500 ft/\N{WORD JOINER}min"
        True
    """
    return _SLASH.sub(f"/{_JOINER}", words)


def cell_title(cell: str) -> str:
    """Return the plain name of a cell, or of what stands for one in a score."""
    return CELL_TITLES.get(cell) or FORM_TITLES.get(cell, capitalised(cell.replace("_", " ")))


def event_label(chart: ChartSpec, event: str) -> str:
    """Return the chart's words for an event, or its id with spaces."""
    spec = chart.events.get(event)
    return capitalised(spec.label if spec else event.replace("_", " "))
