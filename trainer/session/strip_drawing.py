"""Draws one cell of a strip as figures that a window paints and a page prints alike.

What a cell looks like is decided here only: where, in which shape, colour and size.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from trainer.session.strip_content import CellPicture, Chip
from trainer.session.strip_design import Shape, StripColours, StripDesign
from trainer.session.strip_fit import (
    CHIP_GAP_PX,
    MARKER_PX,
    PAD_PX,
    TITLE_PX,
    WORD_PX,
    Fit,
    Measure,
    chip_width,
    fit_chips,
    fit_title,
)
from trainer.session.strip_layout import FOOT_PX, SIDE_PX, head_px, line_px

CHANGED_WORDS = "changed by itself"
ALONG_WORDS = "came with the key"
_VERDICTS = {"right": "right", "wrong": "not so"}
_FRAME_PX = 2.0
"""Between a cell's edge and the middle of its frame: the heaviest frame stays inside."""
_ALONG_PX = 1.2
"""Frame of a cell that came with a key: there, but nothing that calls."""
_FAINT = 0.45
"""Opacity of the frame of a cell with nothing to say about it."""


class Area(NamedTuple):
    """A rectangle [px]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle_y(self) -> float:
        """Half its height down."""
        return self.y + self.height / 2

    def inset(self, left: float, top: float, right: float, bottom: float) -> Area:
        """Return the rectangle made smaller."""
        return Area(
            self.x + left, self.y + top, self.width - left - right, self.height - top - bottom
        )


@dataclass(frozen=True, slots=True)
class Outline:
    """A shape, filled or drawn as a line; no colour: not filled, or no line."""

    area: Area
    shape: Shape
    fill: str = ""
    line: str = ""
    line_px: float = 1.0
    is_dashed: bool = False
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points [px]."""

    points: tuple[tuple[float, float], ...]
    line: str
    line_px: float
    is_closed: bool = False
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """Text on one line, at the left of its area or at the right, half its height down."""

    area: Area
    text: str
    size_px: float
    colour: str
    is_bold: bool = False
    is_right: bool = False


Figure = Outline | Stroke | Words


@dataclass(frozen=True, slots=True)
class Style:
    """A design with the set of its colours in use, and how wide text is."""

    design: StripDesign
    colours: StripColours
    measure: Measure


def draw_cell(area: Area, picture: CellPicture, style: Style) -> list[Figure]:
    """Return the figures of one cell, in the order in which they are painted."""
    return _CellDrawing(style).cell(area, picture)


@dataclass(slots=True)
class _CellDrawing:
    style: Style
    figures: list[Figure] = field(default_factory=list)

    def cell(self, area: Area, picture: CellPicture) -> list[Figure]:
        scale, colours = self.style.design.scale, self.style.colours
        self._frame(area.inset(*(_FRAME_PX,) * 4), picture)
        self._head(Area(area.x + 7, area.y + 3, area.width - 14, TITLE_PX * scale + 3), picture)
        body = area.inset(SIDE_PX, head_px(scale), SIDE_PX, FOOT_PX)
        if picture.chips:
            self._chips(body, picture.chips)
        elif not picture.is_blank:
            sign = "…" if picture.is_unset else "—"
            line = Area(body.x + 2, body.y, body.width - 2, min(body.height, line_px(scale)))
            self._words(line, sign, WORD_PX * scale, colours.empty)
        return self.figures

    def _frame(self, area: Area, picture: CellPicture) -> None:
        colours = self.style.colours
        if picture.is_changed:
            width = 3.5 if picture.is_pulse_on else 1.5
            frame = Outline(area, "rounded", line=colours.changed, line_px=width)
        elif picture.is_along:
            frame = Outline(area, "rounded", line=colours.changed, line_px=_ALONG_PX)
        elif picture.has_focus:
            frame = Outline(area, "rounded", line=colours.active_fill, line_px=2.5)
        elif picture.is_unset:
            frame = Outline(area, "rounded", line=colours.empty, line_px=1.2, is_dashed=True)
        else:
            frame = Outline(area, "rounded", line=colours.empty, opacity=_FAINT)
        self.figures.append(frame)

    def _head(self, head: Area, picture: CellPicture) -> None:
        """Draw the title, and at the right what came of an answer or how it changed."""
        style, scale = self.style, self.style.design.scale
        room = head.width
        is_marked = picture.is_changed or picture.is_along
        if picture.verdict or (is_marked and style.design.emphasis == "border_and_mark"):
            room -= self._remark(head, picture) + 6
        size = fit_title(picture.title, room, scale, style.measure)
        self._words(head, picture.title, size, style.colours.title)

    def _remark(self, head: Area, picture: CellPicture) -> float:
        """Draw a sign, and words if there is room; return its width [px]."""
        style = self.style
        size = TITLE_PX * style.design.scale
        text = CHANGED_WORDS if picture.is_changed else ALONG_WORDS
        text = _VERDICTS.get(picture.verdict, text)
        width = style.measure(text, size, True)
        title = style.measure(picture.title, size, False)
        sign_px = 0.8 * size
        if title + width + sign_px + 12 > head.width:
            text, width = "", 0.0
        ink = style.colours.armed_ink
        self._words(head, text, size, ink, is_bold=True, is_right=True)
        gap = 4.0 if text else 0.0
        right = head.x + head.width - width - gap
        sign = "changed" if picture.is_changed else "along"
        self._sign(picture.verdict or sign, (right - sign_px / 2, head.middle_y), sign_px)
        return width + gap + sign_px

    def _sign(self, kind: str, centre: tuple[float, float], size: float) -> None:
        """Draw a tick, a cross or a diamond, hollow for what came with a key.

        They are drawn, so that no font need have them.
        """
        x, y, half = *centre, size / 2
        ink = self.style.colours.armed_ink
        if kind == "right":
            tick = ((x - half, y), (x - half / 3, y + half * 0.8), (x + half, y - half * 0.8))
            self.figures.append(Stroke(tick, ink, 1.6))
        elif kind == "wrong":
            for slope in (1, -1):
                ends = ((x - half, y - slope * half), (x + half, y + slope * half))
                self.figures.append(Stroke(ends, ink, 1.6))
        else:
            corners = ((x - half, y), (x, y - half), (x + half, y), (x, y + half))
            fill = ink if kind == "changed" else ""
            self.figures.append(Stroke(corners, ink, 1.0, is_closed=True, fill=fill))

    def _chips(self, body: Area, chips: tuple[Chip, ...]) -> None:
        style = self.style
        fit = fit_chips(chips, body.width, style.design.scale, style.measure)
        if fit.is_stacked and fit.height_px > body.height:
            # More is armed than a chart's modes can be; smaller is better than cut.
            fit = Fit(fit.size_px * body.height / fit.height_px, fit.lines, True, fit.is_whole)
        x, y = body.x, body.y
        # One line is as high as in any other strip, however high the cell is.
        high_px = min(body.height, line_px(style.design.scale))
        for chip, lines in zip(chips, fit.lines, strict=True):
            width = min(chip_width(chip, lines, fit.size_px, style.measure), body.width)
            height = fit.chip_px(lines) if fit.is_stacked else high_px
            self._chip(Area(x, y, width, height).inset(*(0.75,) * 4), chip, lines, fit.size_px)
            if fit.is_stacked:
                y += height + CHIP_GAP_PX
            else:
                x += width + CHIP_GAP_PX

    def _chip(self, area: Area, chip: Chip, lines: tuple[str, ...], size_px: float) -> None:
        colours, design = self.style.colours, self.style.design
        ink, left = colours.armed_ink, PAD_PX
        if chip.kind == "armed":
            line = colours.armed_outline
            self.figures.append(Outline(area, design.armed_shape, line=line, line_px=1.6))
            self._marker(area)
            left += MARKER_PX
        elif chip.kind == "active":
            self.figures.append(Outline(area, design.active_shape, fill=colours.active_fill))
            ink = colours.active_ink
        elif chip.kind == "alert":
            self.figures.append(Outline(area, "square", fill=colours.alert_fill))
            ink = colours.alert_ink
        else:
            left = 2.0
        words = area.inset(left, 0, 0, 0)
        each = words.height / len(lines)
        for number, line in enumerate(lines):
            place = Area(words.x, words.y + number * each, words.width, each)
            self._words(place, line, size_px, ink, is_bold=True)

    def _marker(self, area: Area) -> None:
        x, y = area.x + PAD_PX + 4, area.middle_y
        colour, marker = self.style.colours.armed_outline, self.style.design.armed_marker
        if marker == "ring":
            ring = Area(x - 4, y - 4, 8, 8)
            self.figures.append(Outline(ring, "pill", line=colour, line_px=1.8))
        elif marker == "triangle":
            corners = ((x - 3.5, y - 4.5), (x + 4.5, y), (x - 3.5, y + 4.5))
            self.figures.append(Stroke(corners, colour, 1.8, is_closed=True))
        elif marker == "bar":
            self.figures.append(Outline(Area(x - 2, y - 6, 4, 12), "square", fill=colour))
        else:
            for step in (-4.0, 0.0, 4.0):
                self.figures.append(Stroke(((x - 4, y + step), (x + 4, y + step)), colour, 1.8))

    def _words(self, area: Area, text: str, size_px: float, colour: str, **how: bool) -> None:
        if text:
            self.figures.append(Words(area, text, size_px, colour, **how))
