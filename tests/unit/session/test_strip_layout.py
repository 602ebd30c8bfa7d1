"""Where the cells of a strip lie: beside each other, in their lanes, never too narrow."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_layout import (
    GAP_PX,
    LEAST_CELL_PX,
    Box,
    strip_boxes,
    strip_least_width_px,
)

FOUR = ("engagement", "lateral_active", "vertical_active", "protection")
FIVE = ("lateral_active", "vertical_active", "engagement", "protection", "alert")
ROOM_FOR_FOUR_PX = GAP_PX + 4 * (LEAST_CELL_PX + GAP_PX)


def design(*lanes: tuple[str, ...], orientation: str = "rows") -> StripDesign:
    return replace(DEFAULT_DESIGN, lanes=lanes, orientation=orientation)


def rows_of(boxes: dict[str, Box]) -> list[list[str]]:
    """Return the cells as they are read: from the top, and each row from the left."""
    tops = sorted({box.y for box in boxes.values()})
    rows = [[cell for cell, box in boxes.items() if box.y == top] for top in tops]
    return [sorted(row, key=lambda cell: boxes[cell].x) for row in rows]


@pytest.mark.parametrize(
    ("width_px", "wanted"),
    [
        (ROOM_FOR_FOUR_PX, [list(FOUR)]),
        (ROOM_FOR_FOUR_PX - 1, [list(FOUR[:2]), list(FOUR[2:])]),
        (2 * ROOM_FOR_FOUR_PX, [list(FOUR)]),
        (GAP_PX + LEAST_CELL_PX + GAP_PX, [[cell] for cell in FOUR]),
    ],
)
def test_as_many_cells_stand_beside_each_other_as_stay_readable(
    width_px: int, wanted: list[list[str]]
) -> None:
    boxes = strip_boxes(design(FOUR), width_px)
    assert rows_of(boxes) == wanted
    assert all(box.width >= LEAST_CELL_PX for box in boxes.values())


def test_a_lane_that_does_not_fit_goes_on_below_in_parts_of_about_the_same_length() -> None:
    rows = rows_of(strip_boxes(design(FIVE), ROOM_FOR_FOUR_PX))
    assert [cell for row in rows for cell in row] == list(FIVE)
    assert sorted(map(len, rows)) == [2, 3]


@pytest.mark.parametrize("width_px", [ROOM_FOR_FOUR_PX, 640, 1001])
def test_cells_of_a_row_fill_the_width_with_one_gap_between_them(width_px: int) -> None:
    boxes = strip_boxes(design(FOUR), width_px)
    placed = [boxes[cell] for cell in FOUR]
    assert placed[0].x == GAP_PX
    assert all(right.x - (left.x + left.width) == GAP_PX for left, right in pairwise(placed))
    # Widths are whole pixels, so a row ends at most one for each cell before the edge.
    assert 0 <= width_px - GAP_PX - (placed[-1].x + placed[-1].width) < len(FOUR)


def test_an_armed_cell_is_a_quarter_wider_than_one_with_a_single_mode() -> None:
    boxes = strip_boxes(design(("lateral_active", "lateral_armed")), 3000)
    assert boxes["lateral_armed"].width / boxes["lateral_active"].width == pytest.approx(1.25, 0.01)


def test_lanes_that_run_down_stand_beside_each_other() -> None:
    lanes = (("lateral_active", "lateral_armed"), ("vertical_active", "vertical_armed"))
    boxes = strip_boxes(design(*lanes, orientation="columns"), 640)
    assert rows_of(boxes) == [["lateral_active", "vertical_active"],
                              ["lateral_armed", "vertical_armed"]]  # fmt: skip
    for lane in lanes:
        assert len({boxes[cell].x for cell in lane}) == 1
    assert len({box.width for box in boxes.values()}) == 1


@pytest.mark.parametrize(("orientation", "across"), [("rows", 2), ("columns", 1)])
def test_the_narrowest_strip_has_room_for_two_cells_if_there_are_two(
    orientation: str, across: int
) -> None:
    least_px = strip_least_width_px(design(FOUR, orientation=orientation))
    assert least_px == GAP_PX + across * (LEAST_CELL_PX + GAP_PX)
    boxes = strip_boxes(design(FOUR, orientation=orientation), least_px)
    assert {len(row) for row in rows_of(boxes)} == {across}
    assert all(box.width >= LEAST_CELL_PX for box in boxes.values())
