"""Changes to a strip design, each a function from design to design. No Qt here."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from trainer.session.strip_design import DesignFinding, StripDesign, check_design
from trainer.session.strip_words import CELL_TITLES, Choice, StripWords, seen


def place_of(design: StripDesign, cell: str) -> tuple[int, int]:
    """Return the lane of a cell and its place in it."""
    for lane, cells in enumerate(design.lanes):
        if cell in cells:
            return lane, cells.index(cell)
    raise KeyError(cell)


def moved_to(design: StripDesign, cell: str, lane: int, place: int) -> StripDesign:
    """Return the design with a cell put at a place of a lane; empty lanes go.

    A lane one past the last makes a new one; a place past the end is the end.
    """
    lanes = [[other for other in cells if other != cell] for cells in design.lanes]
    if lane >= len(lanes):
        lanes.append([])
        lane = len(lanes) - 1
    lanes[lane].insert(max(0, place), cell)
    return replace(design, lanes=tuple(tuple(cells) for cells in lanes if cells))


def moved_onto(design: StripDesign, cell: str, target: str) -> StripDesign:
    """Return the design with a cell dropped on another one: it takes that one's place."""
    if cell == target:
        return design
    lane, place = place_of(design, target)
    return moved_to(design, cell, lane, place)


def nudged(design: StripDesign, cell: str, along: int, across: int) -> StripDesign:
    """Return the design with a cell moved one place along its lane, or to a neighbour lane."""
    lane, place = place_of(design, cell)
    if along:
        new = place + along
        return (
            design if not 0 <= new < len(design.lanes[lane]) else moved_to(design, cell, lane, new)
        )
    target = lane + across
    if target < 0 or (target >= len(design.lanes) and len(design.lanes[lane]) == 1):
        return design
    return moved_to(design, cell, target, place)


def with_word(design: StripDesign, state: str, word: str) -> StripDesign:
    """Return the design with the trainee's own word for a state; an empty one goes back."""
    words = {name: given for name, given in design.words.items() if name != state}
    if word.strip():
        words[state] = word.strip()
    return replace(design, words=MappingProxyType(words))


def with_colour(design: StripDesign, scheme: str, name: str, colour: str) -> StripDesign:
    """Return the design with a colour changed in its light or dark set."""
    colours = replace(getattr(design, scheme), **{name: colour})
    return replace(design, **{scheme: colours})


def repaired(design: StripDesign, finding: DesignFinding) -> StripDesign:
    """Return the design with the repair of a finding made, where it can be made by itself."""
    if not finding.colour or finding.scheme not in ("light", "dark"):
        return design
    return with_colour(design, finding.scheme, finding.colour, finding.mended)


def findings_of(design: StripDesign, words: StripWords) -> tuple[DesignFinding, ...]:
    """Return all that is hard to read or ambiguous, the chart's own words considered."""
    return (*check_design(design), *_same_words(_as_asked(words, design)))


def _as_asked(words: StripWords, design: StripDesign) -> StripWords:
    """Return the words with all of a design's own, those too that make two states read the same."""
    return StripWords(
        {
            cell: tuple(
                Choice(c.id, design.words[c.id], design.words[c.id]) if c.id in design.words else c
                for c in choices
            )
            for cell, choices in words.cells.items()
        }
    )


def _plain(state: str) -> str:
    return state.replace("_", " ")


def _same_words(words: StripWords) -> list[DesignFinding]:
    findings = []
    for cell, choices in words.cells.items():
        first: dict[str, str] = {}
        for choice in choices:
            for word in {seen(choice.label), seen(choice.short)}:
                other = first.setdefault(word, choice.id)
                if other != choice.id:
                    findings.append(
                        DesignFinding(
                            f"{CELL_TITLES[cell]}: {_plain(other)} and {_plain(choice.id)}"
                            f" both read '{word}'",
                            f"give {_plain(choice.id)} a word of its own",
                            "both",
                        )
                    )
    return findings
