"""Paints a statechart's layout in the window's theme.

As in the SVG, nothing rests on colour alone: the active state is filled, has a second frame and a
pointer; a pilot's arrow is a whole line with a filled head, one that comes by itself is dashed
with an open head, a reversion is dotted with a diamond at its start.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPainterPath, QPen, QPolygonF

from trainer.charts.diagram import LANE_TITLE_PX, MARGIN_PX, Box, Diagram, Lane
from trainer.charts.diagram_arrows import Arrow, Point
from trainer.charts.diagram_svg import SHADES, badge_width_px, is_faint
from trainer.charts.spec import RuleCause
from trainer.ui.look.theme import Theme

_DASHES: dict[RuleCause, list[float]] = {
    "pilot": [],
    "automatic": [4.0, 2.5],
    "reversion": [1.2, 2.2],
}
_LEGEND: tuple[tuple[RuleCause, str], ...] = (
    ("pilot", "commanded by the pilot"),
    ("automatic", "comes by itself"),
    ("reversion", "reversion: something was lost"),
)
_LINE_PX, _NOTE_LINE_PX = 15.0, 12.0
_STRONGEST = 0.45
"""Share of the accent in the ground of a state that many lessons exercise; ink stays readable."""


@dataclass(frozen=True, slots=True)
class _Pen:
    """How one arrow is drawn."""

    colour: str
    width_px: float
    is_many: bool


class StatechartPainter:
    """Paints one diagram; the painter's own transformation decides place and scale."""

    def __init__(self, painter: QPainter, theme: Theme, font: QFont) -> None:
        self._painter = painter
        self._theme = theme
        self._font = font
        self._strokes: dict[RuleCause, str] = {
            "pilot": theme.ink,
            "automatic": theme.accent if theme.appearance != "high_contrast" else theme.cue,
            "reversion": theme.wrong,
        }

    def paint(self, diagram: Diagram) -> None:
        """Paint everything."""
        width = diagram.width_px - 2 * MARGIN_PX
        self._text(QRectF(MARGIN_PX, 8, width, 28), diagram.title, 18, bold=True)
        self._text(
            QRectF(MARGIN_PX, 8, width, 28), diagram.subtitle, 13,
            colour=self._theme.quiet_ink, where=Qt.AlignmentFlag.AlignRight,
        )  # fmt: skip
        for lane in diagram.lanes:
            self._lane(lane)
        for arrow in sorted(diagram.arrows, key=lambda one: one.is_live):
            self._arrow(arrow, is_faint=is_faint(arrow, diagram))
        for box in diagram.boxes:
            self._box(box)
        self._legend(diagram)

    def _text(
        self,
        area: QRectF,
        words: str,
        size_px: int,
        *,
        colour: str = "",
        bold: bool = False,
        where: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
    ) -> None:
        font = QFont(self._font)
        font.setPixelSize(size_px)
        font.setBold(bold)
        self._painter.setFont(font)
        self._painter.setPen(QColor(colour or self._theme.ink))
        flags = where | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine
        self._painter.drawText(area, int(flags), words)

    def _lane(self, lane: Lane) -> None:
        pen = QPen(QColor(self._theme.edge), 1.0)
        pen.setDashPattern([7.0, 4.0])
        self._painter.setPen(pen)
        self._painter.setBrush(QColor(self._theme.panel))
        self._painter.drawRoundedRect(
            QRectF(lane.x_px, lane.y_px, lane.width_px, lane.height_px), 8, 8
        )
        area = QRectF(lane.x_px + 10, lane.y_px + 2, lane.width_px - 14, LANE_TITLE_PX)
        self._text(area, lane.label, 13, bold=True)

    def _box(self, box: Box) -> None:
        theme, painter = self._theme, self._painter
        area = QRectF(box.x_px, box.y_px, box.width_px, box.height_px)
        ink = theme.accent_ink if box.is_active else theme.ink
        quiet = theme.quiet_ink if box.count is None else theme.ink
        note = theme.accent_ink if box.is_active else quiet
        if box.is_active:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.accent), 2.0))
            painter.drawRoundedRect(area.adjusted(-3.5, -3.5, 3.5, 3.5), 10, 10)
        painter.setBrush(QColor(theme.accent) if box.is_active else self._ground(box.count))
        painter.setPen(QPen(QColor(theme.ink if box.is_active else theme.edge), 1.4))
        painter.drawRoundedRect(area, 7, 7)
        if box.count is not None:
            self._badge(box)
        if box.is_initial:
            self._initial(box)
        if box.is_active:
            x, y = box.x_px + 4.0, box.y_px + box.height_px / 2
            self._triangle([(x, y - 6), (x + 8, y), (x, y + 6)], ink, ink)
        if box.stays:
            self._loop(box, ink)
        lines = len(box.label_lines) * _LINE_PX + len(box.note_lines) * _NOTE_LINE_PX
        shift = 8.0 if box.is_active else 0.0
        y_px = box.y_px + (box.height_px - lines) / 2
        for line in box.label_lines:
            row = QRectF(box.x_px + shift, y_px, box.width_px - shift, _LINE_PX)
            self._text(
                row, line, box.label_size_px, colour=ink, bold=box.is_active,
                where=Qt.AlignmentFlag.AlignHCenter,
            )  # fmt: skip
            y_px += _LINE_PX
        for line in box.note_lines:
            row = QRectF(box.x_px + shift, y_px, box.width_px - shift, _NOTE_LINE_PX)
            self._text(row, line, 11, colour=note, where=Qt.AlignmentFlag.AlignHCenter)
            y_px += _NOTE_LINE_PX

    def _ground(self, count: int | None) -> QBrush:
        """Return a state's ground: the more lessons, the stronger; hatched if there is none."""
        theme = self._theme
        ground = QColor(theme.field)
        if count is None:
            return QBrush(ground)
        if not count:
            hatch = QColor(theme.edge)
            hatch.setAlpha(110)
            return QBrush(hatch, Qt.BrushStyle.BDiagPattern)
        step = sum(count >= least for least, _ in SHADES)
        accent, share = QColor(theme.accent), _STRONGEST * step / len(SHADES)
        mixed = [
            round(a + (b - a) * share)
            for a, b in zip(ground.getRgb()[:3], accent.getRgb()[:3], strict=True)
        ]
        return QBrush(QColor(*mixed))

    def _badge(self, box: Box) -> None:
        """Draw the number of lessons on the upper left corner, clear of the words."""
        words = str(box.count) if box.count else "none"
        area = QRectF(box.x_px - 8, box.y_px - 8, badge_width_px(words), 15)
        self._painter.setPen(QPen(QColor(self._theme.ink), 1.0))
        self._painter.setBrush(QColor(self._theme.field))
        self._painter.drawRoundedRect(area, 7, 7)
        self._text(area, words, 11, bold=True, where=Qt.AlignmentFlag.AlignHCenter)

    def _initial(self, box: Box) -> None:
        """Draw the dot and arrow of a first state, as statecharts do."""
        x, y = box.x_px, box.y_px + box.height_px - 11.0
        self._first_state(x - 12.0, y)

    def _first_state(self, x: float, y: float) -> None:
        ink = QColor(self._theme.ink)
        self._painter.setPen(Qt.PenStyle.NoPen)
        self._painter.setBrush(ink)
        self._painter.drawEllipse(QPointF(x, y), 3.6, 3.6)
        self._painter.setPen(QPen(ink, 1.4))
        self._painter.drawLine(QPointF(x + 3, y), QPointF(x + 8, y))
        self._triangle(
            [(x + 11, y), (x + 6, y - 3.2), (x + 6, y + 3.2)], self._theme.ink, self._theme.ink
        )

    def _loop(self, box: Box, ink: str) -> None:
        """Draw a small turning arrow: rules act here without leaving."""
        x, y = box.x_px + box.width_px - 11.0, box.y_px + 11.0
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.setPen(QPen(QColor(ink), 1.3))
        self._painter.drawArc(QRectF(x - 4.8, y - 4.8, 9.6, 9.6), 20 * 16, 300 * 16)
        self._triangle([(x + 6.6, y - 4.6), (x + 6.0, y + 0.6), (x + 1.8, y - 2.2)], ink, ink)

    def _arrow(self, arrow: Arrow, *, is_faint: bool) -> None:
        colour = self._theme.line if is_faint else self._strokes[arrow.cause]
        if is_faint and self._theme.appearance != "high_contrast":
            colour = self._theme.edge
        width_px = 2.4 if arrow.is_live else 1.0 if is_faint else 1.3
        self._line(arrow.points, arrow.cause, _Pen(colour, width_px, arrow.from_many))

    def _line(self, points: tuple[Point, ...], cause: RuleCause, look: _Pen) -> None:
        (x0, y0), (x1, y1) = points[0], points[-1]
        towards = 1.0 if points[-2][1] < y1 else -1.0
        path = QPainterPath(QPointF(x0, y0))
        end = QPointF(x1, y1 - towards * 6.0)
        if len(points) == 2:
            path.lineTo(QPointF(x0, end.y()))
        else:
            path.cubicTo(QPointF(*points[1]), QPointF(*points[2]), end)
        pen = QPen(QColor(look.colour), look.width_px)
        if _DASHES[cause]:
            pen.setDashPattern([part / look.width_px * 1.4 for part in _DASHES[cause]])
        self._painter.setPen(pen)
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawPath(path)
        solid = QPen(QColor(look.colour), look.width_px)
        self._painter.setPen(solid)
        if look.is_many:
            self._painter.drawLine(QPointF(x0 - 6, y0), QPointF(x0 + 6, y0))
        if cause == "reversion":
            outward = -4.5 if points[1][1] < y0 or look.is_many else 4.5
            y = y0 + outward
            self._triangle(
                [(x0, y - 4), (x0 + 4, y), (x0, y + 4), (x0 - 4, y)], look.colour, look.colour
            )
        fill = self._theme.panel if cause == "automatic" else look.colour
        base = y1 - towards * 8.0
        self._triangle([(x1, y1 - towards), (x1 - 3.8, base), (x1 + 3.8, base)], look.colour, fill)

    def _triangle(self, corners: list[tuple[float, float]], edge: str, fill: str) -> None:
        self._painter.setPen(QPen(QColor(edge), 1.2))
        self._painter.setBrush(QColor(fill))
        self._painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))

    def _legend(self, diagram: Diagram) -> None:
        y = diagram.height_px - 22.0
        x = MARGIN_PX
        for cause, words in _LEGEND:
            look = _Pen(self._strokes[cause], 1.6, is_many=False)
            self._line(((x + 6.0, y - 14.0), (x + 6.0, y + 8.0)), cause, look)
            x = self._words_at(x + 20.0, y, words)
        look = _Pen(self._theme.ink, 1.6, is_many=True)
        self._line(((x + 8.0, y - 12.0), (x + 8.0, y + 8.0)), "pilot", look)
        x = self._words_at(x + 22.0, y, "from three states or more")
        self._first_state(x, y - 1.0)
        x = self._words_at(x + 19.0, y, "first state")
        if diagram.is_counted:
            self._legend_of_counts(x, y)
        elif diagram.is_live:
            self._painter.setPen(Qt.PenStyle.NoPen)
            self._painter.setBrush(QColor(self._theme.accent))
            self._painter.drawRoundedRect(QRectF(x, y - 9, 22, 16), 4, 4)
            ink = self._theme.accent_ink
            self._triangle([(x + 7, y - 5), (x + 15, y - 1), (x + 7, y + 3)], ink, ink)
            self._words_at(x + 29.0, y, "active now; heavy: can follow")

    def _legend_of_counts(self, x: float, y: float) -> None:
        """Draw the grounds with what they say; the numbers say it as well."""
        for count, words in [(0, "none"), *((least, f"{least}+") for least, _ in SHADES)]:
            area = QRectF(x, y - 9, 34, 16)
            self._painter.setPen(QPen(QColor(self._theme.edge), 1.0))
            self._painter.setBrush(self._ground(count))
            self._painter.drawRoundedRect(area, 4, 4)
            self._text(area, words, 11, bold=True, where=Qt.AlignmentFlag.AlignHCenter)
            x += 40.0
        self._words_at(x + 4.0, y, "lessons; faint: no lesson")

    def _words_at(self, x: float, y: float, words: str) -> float:
        """Write words of the legend and return where the next part begins."""
        self._text(QRectF(x, y - 10, 300, 18), words, 12)
        return x + self._painter.fontMetrics().horizontalAdvance(words) + 18.0
