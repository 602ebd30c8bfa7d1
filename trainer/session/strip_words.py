"""The chart's own words for what a strip can show, cell by cell, and a design's in their place."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.charts.spec import ChartSpec, RegionSpec
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_design import StripDesign

CELL_TITLES = {
    "engagement": "Engagement",
    "lateral_active": "Lateral active",
    "lateral_armed": "Lateral armed",
    "vertical_active": "Vertical active",
    "vertical_armed": "Vertical armed",
    "alert": "Alert",
    "protection": "Speed protection",
}
"""The plain name of each cell."""
QUIET_STATES = frozenset({"none", "quiet"})
"""States of a cell that shows nothing."""
NOTHING = "Nothing"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing a cell can show."""

    id: str
    label: str
    short: str


@dataclass(frozen=True, slots=True)
class StripWords:
    """What each cell can show, in the chart's order, and the words for it."""

    cells: Mapping[str, tuple[Choice, ...]]
    """Cell -> choices. For an armed cell: the modes that can be armed."""

    def label(self, cell: str, state: str) -> str:
        """Return the whole words for a state in a cell; the id with spaces if unknown."""
        return self._find(cell, state).label

    def short(self, cell: str, state: str) -> str:
        """Return the words for a narrow cell."""
        return self._find(cell, state).short

    def content(self, cell: str, value: str | tuple[str, ...]) -> str:
        """Return a cell's content in words: several armed modes joined, an empty one `nothing`."""
        if isinstance(value, tuple):
            return ", ".join(self.label(cell, mode) for mode in value) or NOTHING
        return NOTHING if value in QUIET_STATES else self.label(cell, value)

    def sentence(self, annunciation: Annunciation) -> str:
        """Return the whole annunciation in words, for a screen reader."""
        return "; ".join(
            f"{CELL_TITLES[cell]}: {self.content(cell, annunciation.cell(cell))}" for cell in CELLS
        )

    def _find(self, cell: str, state: str) -> Choice:
        for choice in self.cells.get(cell, ()):
            if choice.id == state:
                return choice
        plain = state.replace("_", " ").capitalize()
        return Choice(state, plain, plain)


def words_of_chart(chart: ChartSpec) -> StripWords:
    """Return what the strip of an installation can show, from its specialised chart."""
    cells: dict[str, list[Choice]] = {cell: [] for cell in CELLS}
    for region in chart.regions.values():
        cell = _cell_of(region)
        if cell is not None and region.kind == "armed":
            cells[cell].append(_armed_choice(chart, region))
        elif cell is not None:
            cells[cell].extend(_choice(s.id, s.label, s.short) for s in region.states.values())
        for state in region.states.values():
            if state.shown_as:
                cells["engagement"].append(_choice(state.shown_as, state.label, state.short))
    return StripWords({cell: tuple(choices) for cell, choices in cells.items()})


def with_design(words: StripWords, design: StripDesign) -> StripWords:
    """Return the words with a design's own in their place.

    A word that would make two states of a cell read the same isn't taken in that cell: the chart's
    own stays, so that no strip is ever ambiguous.
    """
    return StripWords({cell: _own(choices, design) for cell, choices in words.cells.items()})


def capitalised(words: str) -> str:
    """Return the words with the first letter large and the others untouched."""
    return words[:1].upper() + words[1:]


def _own(choices: tuple[Choice, ...], design: StripDesign) -> tuple[Choice, ...]:
    own = list(choices)
    for place, choice in enumerate(choices):
        word = design.words.get(choice.id)
        if word is None:
            continue
        others = (*own[:place], *choices[place + 1 :])
        taken = {seen(text) for other in others for text in (other.label, other.short)}
        if seen(word) and seen(word) not in taken:
            own[place] = Choice(choice.id, word, word)
    return tuple(own)


def seen(word: str) -> str:
    """Return what the eye keeps of a word: no difference of case, blanks or invisible signs.

    Example:
        >>> seen(" Turn \u200b TO ")
        'turn to'
    """
    visible = "".join(sign for sign in word if unicodedata.category(sign) not in ("Cf", "Cn"))
    return " ".join(unicodedata.normalize("NFKC", visible).split()).casefold()


def _cell_of(region: RegionSpec) -> str | None:
    if region.kind in ("active", "armed") and region.axis in ("lateral", "vertical"):
        return f"{region.axis}_{region.kind}"
    return region.kind if region.kind in ("engagement", "alert", "protection") else None


def _armed_choice(chart: ChartSpec, region: RegionSpec) -> Choice:
    mode = region.arms or region.id
    for other in chart.regions.values():
        if other.kind == "active" and other.axis == region.axis and mode in other.states:
            state = other.states[mode]
            return _choice(mode, state.label, state.short)
    return _choice(mode, mode.replace("_", " "), "")


def _choice(state: str, label: str, short: str) -> Choice:
    return Choice(state, capitalised(label), capitalised(short or label))
