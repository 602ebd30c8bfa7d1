"""How the words of a cell are written so that none is cut: smaller, shorter, or on several lines.

Whoever paints says how wide a text is (`Measure`), so that a window and a page decide alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

from trainer.session.strip_content import Chip, chips_of
from trainer.session.strip_words import StripWords

Measure = Callable[[str, float, bool], float]
"""Text, size of its type [px] and whether it is bold -> its width [px]."""

WORD_PX, LEAST_WORD_PX = 14.0, 9.5
TITLE_PX, LEAST_TITLE_PX = 10.5, 7.5
PAD_PX = 8.0
"""Room between a chip's edge and its words."""
MARKER_PX = 14.0
"""Room for the mark that leads an armed mode."""
CHIP_GAP_PX = 4.0
_LINE = 1.25
"""Height of a line of type in terms of its size."""
_STEP_PX = 0.5
_ARMED_AT_ONCE = 2
_FEW_LINES = 2


@dataclass(frozen=True, slots=True)
class Fit:
    """How the chips of one cell are written.

    Attributes:
        size_px: Size of the type.
        lines: The lines of each chip's words.
        is_stacked: The chips stand below each other, not beside.
        is_whole: The chart's whole words or its short ones, each on one line.
    """

    size_px: float
    lines: tuple[tuple[str, ...], ...]
    is_stacked: bool = False
    is_whole: bool = True

    @property
    def height_px(self) -> float:
        """The height that the chips need below each other [px]."""
        chips = sum(self.chip_px(lines) for lines in self.lines)
        return chips + CHIP_GAP_PX * (len(self.lines) - 1)

    def chip_px(self, lines: tuple[str, ...]) -> float:
        """Return the height of a chip of its own [px]."""
        return len(lines) * _LINE * self.size_px + 5.0


def fit_chips(chips: tuple[Chip, ...], room_px: float, scale: float, measure: Measure) -> Fit:
    """Return how chips are written in a given width.

    Beside each other as long as that can be read: whole words, then short ones, then smaller ones.
    If even the smallest are too wide, each chip has a line of its own, then several.
    """
    size_px = WORD_PX * scale
    choices = (tuple(chip.label for chip in chips), tuple(chip.short for chip in chips))
    for px in _sizes(size_px):
        for labels in choices:
            if _line_width(chips, labels, px, measure) <= room_px:
                return Fit(px, tuple((label,) for label in labels))
    for px in _sizes(size_px):
        for labels in choices:
            widths = (chip_width(c, (w,), px, measure) for c, w in zip(chips, labels, strict=True))
            if max(widths) <= room_px:
                return Fit(px, tuple((label,) for label in labels), True, len(chips) > 1)
    return _broken_fit(chips, room_px, min(size_px, WORD_PX), measure)


def _broken_fit(chips: tuple[Chip, ...], room_px: float, size_px: float, measure: Measure) -> Fit:
    """Return chips of several lines: few lines of whole words if there is a size for that."""
    fit = Fit(size_px, (), is_stacked=True, is_whole=False)
    for px in _sizes(size_px):
        rooms = [room_px - _around(chip) for chip in chips]
        lines = tuple(
            _broken(chip.short, room, px, measure) for chip, room in zip(chips, rooms, strict=True)
        )
        fit = Fit(px, lines, is_stacked=True, is_whole=False)
        is_by_words = all(
            " ".join(each) == " ".join(chip.short.split())
            for chip, each in zip(chips, lines, strict=True)
        )
        if is_by_words and max(map(len, lines)) <= _FEW_LINES:
            return fit
    return fit


def fit_title(title: str, room_px: float, scale: float, measure: Measure) -> float:
    """Return the size of type in which a cell's title fits a width [px]."""
    size_px = TITLE_PX * scale
    while size_px > LEAST_TITLE_PX and measure(title, size_px, False) > room_px:
        size_px -= _STEP_PX
    return size_px


def chip_width(chip: Chip, lines: tuple[str, ...], size_px: float, measure: Measure) -> float:
    """Return how wide a chip is [px]."""
    return max(measure(line, size_px, True) for line in lines) + _around(chip)


def contents_of(words: StripWords, cell: str) -> Iterator[str | tuple[str, ...]]:
    """Yield all that a cell can show; of armed modes, at most two at once."""
    states = [choice.id for choice in words.cells.get(cell, ())]
    if not cell.endswith("_armed"):
        yield from states
        return
    for count in range(_ARMED_AT_ONCE + 1):
        yield from (tuple(sorted(group)) for group in combinations(states, count))


def stacked_px(words: StripWords, cell: str, width_px: float, scale: float, m: Measure) -> float:
    """Return the height that chips below each other need in a cell [px]; 0 if there are none."""
    fits = (
        fit_chips(chips, width_px, scale, m)
        for value in contents_of(words, cell)
        if (chips := chips_of(cell, value, words))
    )
    return max((fit.height_px for fit in fits if fit.is_stacked), default=0.0)


def _sizes(size_px: float) -> Iterator[float]:
    while size_px > LEAST_WORD_PX:
        yield size_px
        size_px -= _STEP_PX
    yield min(LEAST_WORD_PX, size_px)


def _line_width(
    chips: tuple[Chip, ...], labels: tuple[str, ...], size_px: float, measure: Measure
) -> float:
    widths = (chip_width(c, (w,), size_px, measure) for c, w in zip(chips, labels, strict=True))
    return sum(widths) + CHIP_GAP_PX * (len(chips) - 1)


def _around(chip: Chip) -> float:
    return 2 * PAD_PX + (MARKER_PX if chip.kind == "armed" else 0.0)


def _broken(text: str, room_px: float, size_px: float, measure: Measure) -> tuple[str, ...]:
    """Return a text on lines no wider than the room, broken at blanks where there are any."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}".strip()
        if measure(joined, size_px, True) <= room_px:
            line = joined
            continue
        if line:
            lines.append(line)
        *whole, line = _cut(word, room_px, size_px, measure)
        lines += whole
    return (*lines, line)


def _cut(word: str, room_px: float, size_px: float, measure: Measure) -> list[str]:
    pieces = [""]
    for sign in word:
        if pieces[-1] and measure(pieces[-1] + sign, size_px, True) > room_px:
            pieces.append("")
        pieces[-1] += sign
    return pieces
