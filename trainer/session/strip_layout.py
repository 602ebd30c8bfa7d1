"""Where the cells of a strip lie, worked out from a design, its words and a width."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple, TypeVar

from trainer.session.strip_design import StripDesign
from trainer.session.strip_fit import TITLE_PX, Measure, stacked_px
from trainer.session.strip_words import StripWords

ROW_HEIGHT_PX = 46
"""Height of a cell at scale 1: a small title over one line of chips."""
GAP_PX = 4
SIDE_PX = 6.0
"""Between a cell's edge and its chips."""
FOOT_PX = 5.0
LEAST_CELL_PX = 96
"""Whatever the scale. A lane that doesn't fit goes on below, a word is written smaller."""
LEAST_ACROSS = 2
"""Cells beside each other in the narrowest strip."""
_WEIGHTS = {"lateral_armed": 1.25, "vertical_armed": 1.25, "engagement": 1.0, "alert": 1.25}
"""Share of a lane's width: two modes can be armed at once, and alerts are long words."""

Item = TypeVar("Item")
Need = Callable[[str, int], float]
"""Cell and its width -> the height that its contents need below each other [px]."""


class Box(NamedTuple):
    """A rectangle [px]."""

    x: int
    y: int
    width: int
    height: int


def strip_boxes(design: StripDesign, width_px: int, need: Need | None = None) -> dict[str, Box]:
    """Return each cell's rectangle in a strip of a given width.

    Args:
        design: The design.
        width_px: Of the whole strip.
        need: What the contents of a cell need; by default one line.
    """
    boxes: dict[str, Box] = {}
    y_px = GAP_PX
    for row in _rows(design, width_px):
        heights = [_cell_px(design.scale, need(cell, w) if need else 0.0) for cell, (_, w) in row]
        for cell, (x_px, cell_px) in row:
            boxes[cell] = Box(x_px, y_px, cell_px, max(heights))
        y_px += max(heights) + GAP_PX
    return boxes


def needs_of(design: StripDesign, words: StripWords, measure: Measure) -> Need:
    """Return what each cell needs, whatever the strip shows, so that it never jumps."""
    known: dict[tuple[str, int], float] = {}

    def need(cell: str, width_px: int) -> float:
        key = (cell, width_px)
        if key not in known:
            room_px = width_px - 2 * SIDE_PX
            known[key] = stacked_px(words, cell, room_px, design.scale, measure)
        return known[key]

    return need


def height_of(boxes: Mapping[str, Box]) -> int:
    """Return the height of a strip with these cells."""
    return max(box.y + box.height for box in boxes.values()) + GAP_PX


def strip_least_width_px(design: StripDesign) -> int:
    """Return the least width in which the cells stay readable."""
    across = max(len(lane) for lane in design.lanes)
    if design.orientation == "columns":
        across = len(design.lanes)
    return GAP_PX + min(across, LEAST_ACROSS) * (LEAST_CELL_PX + GAP_PX)


def reading_order(design: StripDesign) -> tuple[str, ...]:
    """Return the cells in the order in which the focus goes through them."""
    return tuple(cell for lane in design.lanes for cell in lane)


def head_px(scale: float) -> float:
    """Return the height of a cell's title with the room around it."""
    return TITLE_PX * scale + 8.0


def line_px(scale: float) -> float:
    """Return the height of chips beside each other."""
    return ROW_HEIGHT_PX * scale - head_px(scale) - FOOT_PX


def _cell_px(scale: float, stacked: float) -> int:
    plain = round(ROW_HEIGHT_PX * scale)
    return max(plain, round(head_px(scale) + stacked + FOOT_PX + 1)) if stacked else plain


def _rows(design: StripDesign, width_px: int) -> list[list[tuple[str, tuple[int, int]]]]:
    """Return the cells row by row, each with its place from the left and its width."""
    most = max(1, (width_px - GAP_PX) // (LEAST_CELL_PX + GAP_PX))
    if design.orientation == "rows":
        split = [part for lane in design.lanes for part in _split(lane, most)]
        return [_across(row, [_weight(cell) for cell in row], width_px) for row in split]
    rows = []
    for bank in _split(design.lanes, most):
        across = _across(bank, [1.0] * len(bank), width_px)
        for place in range(max(len(lane) for lane in bank)):
            rows.append([(lane[place], box) for lane, box in across if place < len(lane)])
    return rows


def _split(items: tuple[Item, ...], most: int) -> list[tuple[Item, ...]]:
    """Return the items in parts of about the same length, none longer than `most`."""
    count = -(-len(items) // most)
    edges = [len(items) * part // count for part in range(count + 1)]
    return [items[low:high] for low, high in itertools.pairwise(edges)]


def _across(
    items: Sequence[Item], weights: Sequence[float], width_px: int
) -> list[tuple[Item, tuple[int, int]]]:
    x_px, placed = GAP_PX, []
    free_px = width_px - GAP_PX * (len(items) + 1)
    for item, weight in zip(items, weights, strict=True):
        cell_px = int(free_px * weight / sum(weights))
        placed.append((item, (x_px, cell_px)))
        x_px += cell_px + GAP_PX
    return placed


def _weight(cell: str) -> float:
    return _WEIGHTS.get(cell, 1.0)
