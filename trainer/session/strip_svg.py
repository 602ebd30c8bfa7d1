"""A strip as an SVG picture in the trainee's own design, for pages that no window paints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from trainer.session.annunciation import Annunciation
from trainer.session.strip_content import CellPicture, Verdict, chips_of
from trainer.session.strip_design import StripColours, StripDesign
from trainer.session.strip_drawing import Area, Figure, Outline, Stroke, Style, Words, draw_cell
from trainer.session.strip_layout import height_of, needs_of, strip_boxes
from trainer.session.strip_words import CELL_TITLES, StripWords
from trainer.session.text_widths import text_width_px

_BASELINE = 0.36
"""From the middle of a line of type down to its foot, in terms of its size."""
_NO_XML = "\ufffe\uffff"
_ROUND_PX, _MOST_PILL_PX, _MOST_CUT_PX = 5.0, 14.0, 7.0


@dataclass(frozen=True, slots=True)
class StripShown:
    """What a printed strip shows.

    Attributes:
        annunciation: None leaves every cell empty, to be filled in by hand.
        marks: Cells that changed without the pilot's command.
        verdicts: What came of an answer, cell by cell.
    """

    annunciation: Annunciation | None
    marks: frozenset[str] = frozenset()
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StripLook:
    """How printed strips look.

    Attributes:
        design: The trainee's.
        words: Already in the design's words, see `with_design`.
        colours: One of the two sets of the design; light ones on paper.
        width_px: Of the strip.
    """

    design: StripDesign
    words: StripWords
    colours: StripColours
    width_px: int = 640


def strip_svg(shown: StripShown, look: StripLook) -> str:
    """Return a strip as an SVG document of its own, with its reading as a title.

    It names no font: the page does. `text_widths` is the metric it is laid out in.
    """
    style = Style(look.design, look.colours, text_width_px)
    need = needs_of(look.design, look.words, text_width_px)
    boxes = strip_boxes(look.design, look.width_px, need)
    height = height_of(boxes)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {look.width_px} {height}"'
        f' width="{look.width_px}" height="{height}" role="img">',
        f"<title>{_safe(_spoken(shown, look.words))}</title>",
        f'<rect width="{look.width_px}" height="{height}" rx="6" fill="{look.colours.ground}"/>',
    ]
    for cell, box in boxes.items():
        parts += map(svg_figure, draw_cell(Area(*box), _picture(cell, shown, look.words), style))
    return "\n".join([*parts, "</svg>"])


def svg_figure(figure: Figure) -> str:
    """Return one figure as an SVG element."""
    match figure:
        case Outline():
            return _outline(figure)
        case Stroke():
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in figure.points)
            name = "polygon" if figure.is_closed else "polyline"
            return f'<{name} points="{points}" {_paint(figure.fill, figure.line, figure.line_px)}/>'
        case Words():
            return _text(figure)


def _picture(cell: str, shown: StripShown, words: StripWords) -> CellPicture:
    if shown.annunciation is None:
        return CellPicture(CELL_TITLES[cell], is_blank=True)
    return CellPicture(
        CELL_TITLES[cell],
        chips_of(cell, shown.annunciation.cell(cell), words),
        is_changed=cell in shown.marks,
        verdict=shown.verdicts.get(cell, ""),
    )


def _spoken(shown: StripShown, words: StripWords) -> str:
    if shown.annunciation is None:
        return "A strip to fill in"
    return words.sentence(shown.annunciation)


def _outline(figure: Outline) -> str:
    x, y, width, height = figure.area
    paint = _paint(figure.fill, figure.line, figure.line_px)
    if figure.is_dashed:
        paint += ' stroke-dasharray="4 3"'
    if figure.opacity < 1.0:
        paint += f' opacity="{figure.opacity:g}"'
    if figure.shape == "cut":
        cut = min(_MOST_CUT_PX, height / 3)
        corners = (
            (x + cut, y), (x + width, y), (x + width, y + height - cut),
            (x + width - cut, y + height), (x, y + height), (x, y + cut),
        )  # fmt: skip
        points = " ".join(f"{a:.2f},{b:.2f}" for a, b in corners)
        return f'<polygon points="{points}" {paint}/>'
    radius = {"square": 0.0, "pill": min(height / 2, _MOST_PILL_PX)}.get(figure.shape, _ROUND_PX)
    place = f'x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"'
    return f'<rect {place} rx="{radius:.2f}" {paint}/>'


def _text(figure: Words) -> str:
    width = text_width_px(figure.text, figure.size_px, figure.is_bold)
    x = figure.area.x + (figure.area.width - width if figure.is_right else 0.0)
    y = figure.area.middle_y + _BASELINE * figure.size_px
    weight = ' font-weight="bold"' if figure.is_bold else ""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{figure.size_px:g}" fill="{figure.colour}"'
        f' textLength="{width:.2f}" lengthAdjust="spacingAndGlyphs"{weight}>'
        f"{_safe(figure.text)}</text>"
    )


def _safe(text: str) -> str:
    """Return text as XML takes it; what XML can't hold is left out."""
    return escape("".join(one for one in text if one >= " " and one not in _NO_XML))


def _paint(fill: str, line: str, line_px: float) -> str:
    stroke = f' stroke="{line}" stroke-width="{line_px:g}"' if line else ""
    return f'fill="{fill or "none"}"{stroke}'
