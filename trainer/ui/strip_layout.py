"""Where the cells of a strip lie, worked out from a design and a size. No Qt here."""

from __future__ import annotations

from typing import NamedTuple

from trainer.session.strip_design import StripDesign

ROW_HEIGHT_PX = 46
"""Height of a cell at scale 1: a small title over one line of chips."""
GAP_PX = 4
LEAST_CELL_PX = 96
"""Whatever the scale: words that don't fit are written smaller, the window isn't widened."""
_WEIGHTS = {"lateral_armed": 1.25, "vertical_armed": 1.25, "engagement": 1.0, "alert": 1.25}
"""Share of a lane's width: two modes can be armed at once, and alerts are long words."""


class Box(NamedTuple):
    """A rectangle [px]."""

    x: int
    y: int
    width: int
    height: int


def strip_boxes(design: StripDesign, width_px: int) -> dict[str, Box]:
    """Return each cell's rectangle in a strip of a given width."""
    row_px = round(ROW_HEIGHT_PX * design.scale)
    if design.orientation == "columns":
        return _columns(design, width_px, row_px)
    boxes: dict[str, Box] = {}
    for row, lane in enumerate(design.lanes):
        x_px = GAP_PX
        total = sum(_weight(cell) for cell in lane)
        free_px = width_px - GAP_PX * (len(lane) + 1)
        for cell in lane:
            cell_px = int(free_px * _weight(cell) / total)
            boxes[cell] = Box(x_px, GAP_PX + row * (row_px + GAP_PX), cell_px, row_px)
            x_px += cell_px + GAP_PX
    return boxes


def strip_height_px(design: StripDesign) -> int:
    """Return the height a strip needs."""
    row_px = round(ROW_HEIGHT_PX * design.scale)
    rows = len(design.lanes)
    if design.orientation == "columns":
        rows = max(len(lane) for lane in design.lanes)
    return GAP_PX + rows * (row_px + GAP_PX)


def strip_least_width_px(design: StripDesign) -> int:
    """Return the least width in which the cells stay readable."""
    across = max(len(lane) for lane in design.lanes)
    if design.orientation == "columns":
        across = len(design.lanes)
    return GAP_PX + across * (LEAST_CELL_PX + GAP_PX)


def reading_order(design: StripDesign) -> tuple[str, ...]:
    """Return the cells in the order in which the focus goes through them."""
    return tuple(cell for lane in design.lanes for cell in lane)


def _columns(design: StripDesign, width_px: int, row_px: int) -> dict[str, Box]:
    count = len(design.lanes)
    cell_px = (width_px - GAP_PX * (count + 1)) // count
    return {
        cell: Box(
            GAP_PX + column * (cell_px + GAP_PX),
            GAP_PX + row * (row_px + GAP_PX),
            cell_px,
            row_px,
        )
        for column, lane in enumerate(design.lanes)
        for row, cell in enumerate(lane)
    }


def _weight(cell: str) -> float:
    return _WEIGHTS.get(cell, 1.0)
