"""Where everything stands in the picture of a statechart: regions as lanes, states as boxes.

A pure function of the chart, and of the live configuration if there is one. It draws nothing:
`diagram_svg` writes the values as SVG, and a window may paint them itself. Lanes that fit stand
side by side in a row. Arrows to the right run above the boxes, to the left below them; an arrow
from many states at once is a short one from a bar, with the states in its tip.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from trainer.charts.diagram_arrows import Arrow, Place, arrows_of
from trainer.charts.guard import Configuration
from trainer.charts.spec import ChartSpec, RegionSpec, RuleSpec, StateSpec

WIDTH_PX = 1280.0
MARGIN_PX, HEADER_PX, LEGEND_PX = 16.0, 42.0, 40.0
ROW_PX, ROW_GAP_PX, LANE_GAP_PX, LANE_TITLE_PX = 134.0, 6.0, 10.0, 20.0
BOX_TOP_PX, BOX_HEIGHT_PX = 46.0, 62.0
BOX_GAP_PX, INITIAL_PX, WIDEST_BOX_PX = 16.0, 16.0, 150.0
POINTER_PX = 12.0
"""Room at a box's left for the pointer of the active state."""
SLOTS_IN_ROW = 10
NARROW_BOX_PX, LABEL_SIZE_PX, NARROW_LABEL_SIZE_PX = 112.0, 13, 12
CHARACTER_PER_SIZE, NOTE_CHARACTER_PX = 0.61, 6.5
"""Mean width of a bold character over its size, and of a note's character."""


@dataclass(frozen=True, slots=True)
class Lane:
    """A region: a frame with its name."""

    region: str
    label: str
    x_px: float
    y_px: float
    width_px: float
    height_px: float


@dataclass(frozen=True, slots=True)
class Box:
    """A state: its words, what leads to it, and whether it is active now."""

    region: str
    state: str
    label_lines: tuple[str, ...]
    label_size_px: int
    note_lines: tuple[str, ...]
    """What leads here: the keys by name if they are few, and whether it comes by itself."""
    tip: str
    x_px: float
    y_px: float
    width_px: float
    height_px: float
    is_active: bool
    is_initial: bool
    stays: tuple[str, ...]
    """Ids of the rules that act in the state without leaving it."""
    count: int | None = None
    """How many lessons exercise the state; None: that isn't shown."""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A whole picture, in pixels from the upper left corner."""

    title: str
    subtitle: str
    width_px: float
    height_px: float
    lanes: tuple[Lane, ...]
    boxes: tuple[Box, ...]
    arrows: tuple[Arrow, ...]
    is_live: bool
    is_counted: bool = False
    """It shows how many lessons exercise what."""

    def box(self, region: str, state: str) -> Box:
        """Return the box of a state.

        Raises:
            KeyError: The picture has no such state.
        """
        for box in self.boxes:
            if (box.region, box.state) == (region, state):
                return box
        raise KeyError((region, state))


def lay_out(
    chart: ChartSpec, configuration: Configuration | None = None, title: str = ""
) -> Diagram:
    """Return the picture of a specialised chart.

    Args:
        chart: A specialised chart.
        configuration: The live configuration, to be highlighted; None: nothing is.
        title: Heading; the chart's title if empty.
    """
    rows = rows_of(list(chart.regions.values()))
    live = dict(zip(chart.regions, configuration, strict=True)) if configuration else {}
    lanes: list[Lane] = []
    boxes: list[Box] = []
    arrows: list[Arrow] = []
    for index, row in enumerate(rows):
        y_px = HEADER_PX + index * (ROW_PX + ROW_GAP_PX)
        for region, lane in zip(row, _lanes(row, y_px), strict=True):
            lanes.append(lane)
            own = _boxes(region, lane, chart, live.get(region.id))
            boxes += own
            places = {b.state: Place(b.x_px, b.width_px, b.y_px, b.y_px + b.height_px) for b in own}
            rules = [rule for rule in chart.rules.values() if rule.region == region.id]
            arrows += arrows_of(region, rules, places, chart.events, live.get(region.id))
    height_px = HEADER_PX + len(rows) * (ROW_PX + ROW_GAP_PX) + LEGEND_PX
    subtitle = f"{len(chart.regions)} regions, {len(boxes)} states, {len(chart.rules)} rules"
    return Diagram(
        title or chart.title, subtitle, WIDTH_PX, height_px, tuple(lanes), tuple(boxes),
        tuple(arrows), bool(live),
    )  # fmt: skip


def with_counts(
    diagram: Diagram, states: Mapping[tuple[str, str], int], rules: Mapping[str, Sequence[str]]
) -> Diagram:
    """Return a picture that shows how many lessons exercise each state and arrow.

    Args:
        diagram: The picture.
        states: Region and state -> number of lessons; none if it is missing.
        rules: Rule id -> the lessons that exercise it; none if it is missing.
    """
    boxes = tuple(
        replace(box, count=states.get((box.region, box.state), 0)) for box in diagram.boxes
    )
    arrows = tuple(
        replace(arrow, count=len({one for rule in arrow.rules for one in rules.get(rule, ())}))
        for arrow in diagram.arrows
    )
    return replace(diagram, boxes=boxes, arrows=arrows, is_counted=True)


def rows_of(regions: Sequence[RegionSpec]) -> list[list[RegionSpec]]:
    """Return the regions in chart order, broken into rows that fit the width."""
    rows: list[list[RegionSpec]] = []
    used = SLOTS_IN_ROW + 1
    for region in regions:
        if used + len(region.states) > SLOTS_IN_ROW:
            rows.append([])
            used = 0
        rows[-1].append(region)
        used += len(region.states)
    return rows


def _lanes(row: Sequence[RegionSpec], y_px: float) -> list[Lane]:
    """Return the lanes of a row, as wide as their states need, the row filled."""
    slots = sum(len(region.states) for region in row)
    free_px = WIDTH_PX - 2 * MARGIN_PX - LANE_GAP_PX * (len(row) - 1)
    lanes: list[Lane] = []
    x_px = MARGIN_PX
    for region in row:
        width_px = free_px * len(region.states) / slots
        lanes.append(Lane(region.id, region.label, x_px, y_px, width_px, ROW_PX))
        x_px += width_px + LANE_GAP_PX
    return lanes


def _boxes(region: RegionSpec, lane: Lane, chart: ChartSpec, active: str | None) -> list[Box]:
    count = len(region.states)
    slot_px = (lane.width_px - INITIAL_PX) / count
    width_px = min(WIDEST_BOX_PX, slot_px - BOX_GAP_PX)
    rules = [rule for rule in chart.rules.values() if rule.region == region.id]
    boxes: list[Box] = []
    for index, state in enumerate(region.states.values()):
        into = [r for r in rules if r.target == state.id and set(r.sources) - {state.id}]
        stays = [r.id for r in rules if r.target == state.id and state.id in r.sources]
        size_px = NARROW_LABEL_SIZE_PX if width_px < NARROW_BOX_PX else LABEL_SIZE_PX
        room_px = width_px - POINTER_PX
        label = _label(state, room_px, size_px * CHARACTER_PER_SIZE)
        most = 2 if len(label) < 3 else 1
        note = _fit(notes_of(into, chart), room_px, NOTE_CHARACTER_PX, most)
        x_px = lane.x_px + INITIAL_PX + index * slot_px + (slot_px - width_px) / 2 - 3.0
        boxes.append(
            Box(
                region.id, state.id, label, size_px, note, _tip(state.label, into, chart), x_px,
                lane.y_px + BOX_TOP_PX, width_px, BOX_HEIGHT_PX, state.id == active,
                state.id == region.initial, tuple(stays),
            )
        )  # fmt: skip
    return boxes


def notes_of(into: Iterable[RuleSpec], chart: ChartSpec) -> tuple[str, ...]:
    """Return in a few words what leads to a state, the best first: 'by Heading or itself'."""
    rules = list(into)
    events = list(dict.fromkeys(event for rule in rules for event in rule.events))
    itself = ["itself"] if any(not rule.events for rule in rules) else []
    counted = [f"{len(events)} event{'s' if len(events) > 1 else ''}"] if events else []
    named = [chart.events[event].label for event in events]
    choices = [named] if len(named) <= 1 else []
    found = [" or ".join([*words, *itself]) for words in [*choices, counted]]
    return tuple(f"by {words}" if words else "" for words in found)


def _tip(label: str, into: Sequence[RuleSpec], chart: ChartSpec) -> str:
    lines = [label]
    for rule in into:
        words = ", ".join(chart.events[event].label for event in rule.events) or "by itself"
        lines.append(f"{words}: {rule.because}")
    return "\n".join(lines)


def _fit(choices: Sequence[str], room_px: float, character_px: float, most: int) -> tuple[str, ...]:
    """Return the first text that fits on so many lines, none broken in a word; else nothing."""
    across = max(6, int(room_px / character_px))
    for text in choices:
        lines = textwrap.wrap(text, across, break_long_words=False)
        if len(lines) <= most and all(len(line) <= across for line in lines):
            return tuple(lines)
    return ()


def _label(state: StateSpec, room_px: float, character_px: float) -> tuple[str, ...]:
    """Return a state's words on two lines, else on three, else cut short."""
    choices = (state.label, state.short)
    found = _fit(choices, room_px, character_px, 2) or _fit(choices, room_px, character_px, 3)
    across = max(6, int(room_px / character_px))
    return found or (state.short[: across - 1] + "\N{HORIZONTAL ELLIPSIS}",)
