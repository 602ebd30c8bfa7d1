"""The picture of a statechart as SVG text.

Meaning never rests on colour alone: the active state is filled, has a second frame and a pointer;
what a pilot commands is a whole line with a filled head, what comes by itself a dashed one with
an open head, a reversion a dotted one with a diamond at its start; what can happen from here is
heavy. Where it is counted how many lessons exercise what, the number stands in a corner of each
state, and one that none exercises is hatched.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from trainer.charts.diagram import LANE_TITLE_PX, MARGIN_PX, Box, Diagram, Lane
from trainer.charts.diagram_arrows import Arrow, Point
from trainer.charts.spec import RuleCause

INK, PAPER, LANE, EDGE, QUIET = "#1b1f24", "#ffffff", "#f4f6f8", "#57606a", "#8c959f"
ACTIVE, FAINT = "#005a8f", "#7f8891"
SHADES = ((1, "#dcebf5"), (3, "#b5d6ea"), (8, "#86bbdc"))
"""From so many lessons on -> ground of a state; ink on the darkest has 8:1 or more."""
STROKES: dict[RuleCause, tuple[str, str]] = {
    "pilot": (INK, ""),
    "automatic": ("#0072b2", "6 3"),
    "reversion": ("#b34a00", "1.5 3"),
}
"""Colour and dash pattern of an arrow by its cause; at least 4.5:1 on the lane [DSP-02]."""
WORDS: dict[RuleCause, str] = {
    "pilot": "commanded by the pilot",
    "automatic": "comes by itself",
    "reversion": "reversion: something was lost",
}
HATCH = (
    '<defs><pattern id="none" width="7" height="7" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><rect width="7" height="7" fill="{PAPER}"/>'
    f'<rect width="1.6" height="7" fill="{FAINT}" fill-opacity="0.55"/></pattern></defs>'
)
"""The ground of a state that no lesson exercises."""
FONT = "'DejaVu Sans', 'Segoe UI', 'Helvetica Neue', Arial, sans-serif"


def to_svg(diagram: Diagram) -> str:
    """Return the picture as an SVG document, a text that ends with a newline."""
    w, h = diagram.width_px, diagram.height_px
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:g}" height="{h:g}" '
        f'viewBox="0 0 {w:g} {h:g}" font-family="{FONT}" role="img">',
        f"<title>{escape(diagram.title)}</title>",
        f'<rect width="{w:g}" height="{h:g}" fill="{PAPER}"/>',
        _text(MARGIN_PX, 28.0, diagram.title, size=18, bold=True),
        _text(w - MARGIN_PX, 28.0, diagram.subtitle, size=13, fill=EDGE, anchor="end"),
    ]
    if diagram.is_counted:
        parts.append(HATCH)
    parts += [_lane(lane) for lane in diagram.lanes]
    for arrow in sorted(diagram.arrows, key=lambda one: one.is_live):
        parts += _arrow(arrow, is_faint=is_faint(arrow, diagram))
    for box in diagram.boxes:
        parts += _box(box)
    parts += _legend(diagram)
    return "\n".join([*parts, "</svg>"]) + "\n"


def is_faint(arrow: Arrow, diagram: Diagram) -> bool:
    """Return True for an arrow that can't happen from here, or that no lesson exercises."""
    if diagram.is_counted:
        return arrow.count == 0
    return diagram.is_live and not arrow.is_live


def shade_of(count: int | None) -> str:
    """Return the ground of a state that so many lessons exercise."""
    return next((shade for least, shade in reversed(SHADES) if (count or 0) >= least), PAPER)


def _text(
    x_px: float,
    y_px: float,
    text: str,
    *,
    size: int,
    fill: str = INK,
    anchor: str = "start",
    bold: bool = False,
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x_px:.1f}" y="{y_px:.1f}" font-size="{size}" fill="{fill}" '
        f'text-anchor="{anchor}"{weight}>{escape(text)}</text>'
    )


def _lane(lane: Lane) -> str:
    frame = (
        f'<rect x="{lane.x_px:.1f}" y="{lane.y_px:.1f}" width="{lane.width_px:.1f}" '
        f'height="{lane.height_px:.1f}" rx="8" fill="{LANE}" stroke="{QUIET}" '
        'stroke-dasharray="7 4"/>'
    )
    label = _text(lane.x_px + 10.0, lane.y_px + LANE_TITLE_PX - 4.0, lane.label, size=13, bold=True)
    return f"{frame}\n{label}"


def _box(box: Box) -> Iterator[str]:
    fill, ink, note = (ACTIVE, PAPER, PAPER) if box.is_active else (shade_of(box.count), INK, EDGE)
    fill, note = ("url(#none)", INK) if box.count == 0 else (fill, INK if box.count else note)
    yield f"<g id={quoteattr(f'{box.region}.{box.state}')}><title>{escape(box.tip)}</title>"
    if box.is_active:
        yield _frame(box, grow_px=3.5, fill="none", stroke=ACTIVE, width=2.0)
    yield _frame(box, grow_px=0.0, fill=fill, stroke=INK if box.is_active else EDGE, width=1.4)
    if box.is_initial:
        yield from _initial(box)
    if box.count is not None:
        yield from _badge(box)
    if box.is_active:
        x, y = box.x_px + 4.0, box.y_px + box.height_px / 2 - 6.0
        yield f'<path d="M{x:.1f} {y:.1f} l8 6 l-8 6 z" fill="{PAPER}"/>'
    if box.stays:
        yield from _loop(box, ink)
    middle = box.x_px + box.width_px / 2 + (4.0 if box.is_active else 0.0)
    lines = len(box.label_lines) * 15.0 + len(box.note_lines) * 12.0
    y_px = box.y_px + (box.height_px - lines) / 2 + 12.0
    for line in box.label_lines:
        yield _text(
            middle, y_px, line, size=box.label_size_px, fill=ink, anchor="middle",
            bold=box.is_active,
        )  # fmt: skip
        y_px += 15.0
    for line in box.note_lines:
        yield _text(middle, y_px - 1.0, line, size=11, fill=note, anchor="middle")
        y_px += 12.0
    yield "</g>"


def _badge(box: Box) -> Iterator[str]:
    """Draw the number of lessons on the upper left corner, clear of the words."""
    words = str(box.count) if box.count else "none"
    x, y, width = box.x_px - 8.0, box.y_px - 8.0, badge_width_px(words)
    yield (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:g}" height="15" rx="7" fill="{PAPER}" '
        f'stroke="{INK}"/>'
    )
    yield _text(x + width / 2, y + 11.5, words, size=11, anchor="middle", bold=True)


def badge_width_px(words: str) -> float:
    """Return how wide the corner's number is [px]."""
    return 10.0 + 7.5 * len(words)


def _frame(box: Box, *, grow_px: float, fill: str, stroke: str, width: float) -> str:
    return (
        f'<rect x="{box.x_px - grow_px:.1f}" y="{box.y_px - grow_px:.1f}" '
        f'width="{box.width_px + 2 * grow_px:.1f}" height="{box.height_px + 2 * grow_px:.1f}" '
        f'rx="{7.0 + grow_px:g}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}"/>'
    )


def _initial(box: Box) -> Iterator[str]:
    """Draw the dot and arrow of a first state, as statecharts do."""
    x, y = box.x_px, box.y_px + box.height_px - 11.0
    yield f'<circle cx="{x - 12.0:.1f}" cy="{y:.1f}" r="3.6" fill="{INK}"/>'
    yield f'<path d="M{x - 9:.1f} {y:.1f} H{x - 4:.1f}" stroke="{INK}" stroke-width="1.4"/>'
    yield f'<path d="M{x - 1:.1f} {y:.1f} l-5 -3.2 v6.4 z" fill="{INK}"/>'


def _loop(box: Box, ink: str) -> Iterator[str]:
    """Draw a small turning arrow: rules act here without leaving."""
    x, y = box.x_px + box.width_px - 11.0, box.y_px + 11.0
    yield (
        f'<path d="M{x + 4.6:.1f} {y - 1.6:.1f} a4.8 4.8 0 1 0 .2 3.4" fill="none" '
        f'stroke="{ink}" stroke-width="1.3"/>'
    )
    yield f'<path d="M{x + 6.6:.1f} {y - 4.6:.1f} l-.6 5.2 l-4.2 -2.8 z" fill="{ink}"/>'


def _arrow(arrow: Arrow, *, is_faint: bool) -> Iterator[str]:
    """Draw an arrow; a faint one can't happen from the live configuration."""
    colour, dashes = STROKES[arrow.cause]
    colour = FAINT if is_faint else colour
    width = 2.4 if arrow.is_live else 1.0 if is_faint else 1.3
    yield f"<g><title>{escape(arrow.tip)}</title>"
    yield from _line(arrow.points, arrow.cause, colour, width, dashes, bar=arrow.from_many)
    yield "</g>"


def _line(
    points: tuple[Point, ...],
    cause: RuleCause,
    colour: str,
    width: float,
    dashes: str,
    *,
    bar: bool,
) -> Iterator[str]:
    (x0, y0), (x1, y1) = points[0], points[-1]
    towards = 1.0 if points[-2][1] < y1 else -1.0
    stop = y1 - towards * 6.0
    if len(points) == 2:
        path = f"M{x0:.1f} {y0:.1f} V{stop:.1f}"
    else:
        (ax, ay), (bx, by) = points[1], points[2]
        path = f"M{x0:.1f} {y0:.1f} C{ax:.1f} {ay:.1f} {bx:.1f} {by:.1f} {x1:.1f} {stop:.1f}"
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    stroke = f'stroke="{colour}" stroke-width="{width:g}"'
    yield f'<path d="{path}" fill="none" {stroke}{dash}/>'
    if bar:
        yield f'<path d="M{x0 - 6:.1f} {y0:.1f} h12" {stroke}/>'
    if cause == "reversion":
        outward = -4.5 if points[1][1] < y0 or bar else 4.5
        yield f'<path d="M{x0:.1f} {y0 + outward - 4:.1f} l4 4 l-4 4 l-4 -4 z" fill="{colour}"/>'
    fill = PAPER if cause == "automatic" else colour
    yield (
        f'<path d="M{x1:.1f} {y1 - towards:.1f} l-3.8 {-towards * 7:.1f} h7.6 z" fill="{fill}" '
        f'stroke="{colour}" stroke-width="1.2"/>'
    )


def _legend(diagram: Diagram) -> Iterator[str]:
    y = diagram.height_px - 22.0
    x = MARGIN_PX
    for cause, words in WORDS.items():
        colour, dashes = STROKES[cause]
        points = ((x + 6.0, y - 14.0), (x + 6.0, y + 8.0))
        yield from _line(points, cause, colour, 1.6, dashes, bar=False)
        yield _text(x + 20.0, y + 3.0, words, size=12)
        x += 40.0 + len(words) * 7.0
    yield from _line(((x + 8.0, y - 12.0), (x + 8.0, y + 8.0)), "pilot", INK, 1.6, "", bar=True)
    yield _text(x + 22.0, y + 3.0, "from three states or more", size=12)
    x += 212.0
    yield f'<circle cx="{x:.1f}" cy="{y - 1:.1f}" r="3.6" fill="{INK}"/>'
    yield f'<path d="M{x + 3:.1f} {y - 1:.1f} h5" stroke="{INK}" stroke-width="1.4"/>'
    yield f'<path d="M{x + 13:.1f} {y - 1:.1f} l-5 -3.2 v6.4 z" fill="{INK}"/>'
    yield _text(x + 19.0, y + 3.0, "first state", size=12)
    x += 104.0
    if diagram.is_counted:
        yield from _legend_of_counts(x, y)
    elif diagram.is_live:
        yield f'<rect x="{x:.1f}" y="{y - 9:.1f}" width="22" height="16" rx="4" fill="{ACTIVE}"/>'
        yield f'<path d="M{x + 7:.1f} {y - 5:.1f} l8 4 l-8 4 z" fill="{PAPER}"/>'
        yield _text(x + 29.0, y + 3.0, "active now; heavy: can follow", size=12)


def _legend_of_counts(x: float, y: float) -> Iterator[str]:
    """Draw the grounds with what they say; the numbers say it as well."""
    grounds = [("url(#none)", "none"), *((shade, f"{least}+") for least, shade in SHADES)]
    for fill, words in grounds:
        yield (
            f'<rect x="{x:.1f}" y="{y - 9:.1f}" width="34" height="16" rx="4" fill="{fill}" '
            f'stroke="{EDGE}"/>'
        )
        yield _text(x + 17.0, y + 3.0, words, size=11, anchor="middle", bold=True)
        x += 40.0
    yield _text(x + 4.0, y + 3.0, "lessons; faint: no lesson", size=12)
