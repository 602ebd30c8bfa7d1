"""Seen from above: the course, the track flown and where the aircraft points."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QWidget

from trainer.flight.types import NavigationSource
from trainer.ui.look.view import PictureView, path_pen
from trainer.ui.views.plan_geometry import (
    COURSE_LENGTH_NM,
    PlanFrame,
    fitting_range_nm,
    plan_words,
)
from trainer.ui.views.surroundings import Surroundings, thinned

_POINTS_DRAWN = 400
_TITLE_PX = 20
"""Height of the line of words at the top; what is marked keeps below."""
_LINES_PX = (14, -14, 26, -26)
"""How far off its mark a name may stand where names are close: below first, then above."""


class PlanView(PictureView):
    """North up, the aircraft in the middle."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Plan view", QSize(200, 108), parent)
        self._scene: Surroundings | None = None
        self._range_nm = 5.0
        self._named: list[QRectF] = []
        """Where names stand in the picture that is being painted."""

    def show_scene(self, scene: Surroundings) -> None:
        """Draw a scene."""
        self._scene = scene
        self._range_nm = fitting_range_nm(scene, self._range_nm)
        self.describe(plan_words(scene))
        self.update()

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the picture."""
        if self._scene is None:
            self.note(painter, area.adjusted(10, 8, -10, -8), "Plan", self.theme.quiet_ink)
            return
        scene = self._scene
        frame = PlanFrame(
            scene.sample.north_nm,
            scene.sample.east_nm,
            self._range_nm,
            area.width(),
            area.height(),
        )
        self._paint_rings(painter, frame)
        self._named = []
        # The one in use is named first, and so always.
        for source in sorted(scene.sources, key=lambda one: one.id != scene.source_id):
            self._paint_source(painter, frame, source, is_used=source.id == scene.source_id)
        self._paint_track(painter, frame)
        self._paint_heading(painter, frame)
        self._paint_aircraft(painter, frame)
        top = QRectF(area.left() + 8, area.top() + 4, area.width() - 16, 16)
        self.note(painter, top, "Plan, north up", self.theme.quiet_ink)
        words = f"ring {self._range_nm / 2:g} NM"
        self.note(painter, top, words, self.theme.quiet_ink, Qt.AlignmentFlag.AlignRight)

    def _paint_rings(self, painter: QPainter, frame: PlanFrame) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(self.theme.line), 1.0))
        centre = QPointF(frame.width_px / 2, frame.height_px / 2)
        for share in (0.5, 1.0):
            radius = frame.range_nm * share * frame.px_per_nm
            painter.drawEllipse(centre, radius, radius)
        painter.drawLine(centre + QPointF(0, -radius), centre + QPointF(0, -radius + 8))

    def _paint_source(
        self, painter: QPainter, frame: PlanFrame, source: NavigationSource, *, is_used: bool
    ) -> None:
        place = QPointF(*frame.point(source.north_nm, source.east_nm))
        colour = QColor(self.theme.path if is_used else self.theme.quiet_ink)
        if is_used and self._scene is not None and self._scene.active_course_deg is not None:
            self._paint_course(painter, frame, source, self._scene.active_course_deg)
        painter.setPen(QPen(colour, 1.8))
        painter.setBrush(QColor(self.theme.panel))
        if source.kind == "beacon":
            painter.drawRect(QRectF(place.x() - 4, place.y() - 4, 8, 8))
        elif source.kind == "approach":
            end = frame.along(source.north_nm, source.east_nm, source.course_deg, 0.7)
            painter.setPen(QPen(colour, 4.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
            painter.drawLine(place, QPointF(*end))
        else:
            painter.drawLine(place + QPointF(-4, -4), place + QPointF(4, 4))
            painter.drawLine(place + QPointF(-4, 4), place + QPointF(4, -4))
        self._name_source(painter, frame, source.label, place, colour)

    def _name_source(
        self, painter: QPainter, frame: PlanFrame, name: str, place: QPointF, colour: QColor
    ) -> None:
        """Write a source's name whole beside its mark, or a line off it where another stands."""
        if not (0.0 <= place.y() <= frame.height_px and 0.0 <= place.x() <= frame.width_px):
            return  # the word would point nowhere
        painter.setFont(self.small_font())
        low, high = _TITLE_PX, frame.height_px - 16
        width = painter.fontMetrics().horizontalAdvance(name) + 2
        for down in (0, *_LINES_PX):
            written = QRectF(0, min(max(place.y() - 8 + down, low), high), width, 16)
            for left in (place.x() + 8, place.x() - 8 - width):
                written.moveLeft(left)
                is_in = written.left() >= 4 and written.right() <= frame.width_px - 4
                if is_in and not any(written.intersects(other) for other in self._named):
                    self._named.append(written)
                    self.note(painter, written, name, colour.name())
                    return

    def _paint_course(
        self, painter: QPainter, frame: PlanFrame, source: NavigationSource, course_deg: float
    ) -> None:
        start = frame.along(source.north_nm, source.east_nm, course_deg, -COURSE_LENGTH_NM)
        ahead_nm = 0.0 if source.kind == "approach" else COURSE_LENGTH_NM
        end = frame.along(source.north_nm, source.east_nm, course_deg, ahead_nm)
        painter.setPen(path_pen(self.theme))
        painter.drawLine(QPointF(*start), QPointF(*end))

    def _paint_track(self, painter: QPainter, frame: PlanFrame) -> None:
        assert self._scene is not None
        points = thinned(self._scene.track, _POINTS_DRAWN)
        if not points:
            return
        line = QPolygonF([QPointF(*frame.point(p.north_nm, p.east_nm)) for p in points])
        line.append(QPointF(frame.width_px / 2, frame.height_px / 2))
        painter.setPen(QPen(QColor(self.theme.track), 1.6, Qt.PenStyle.DotLine))
        painter.drawPolyline(line)
        painter.setPen(QPen(QColor(self.theme.track), 1.6))
        painter.setBrush(QColor(self.theme.panel))
        for point in points:
            if point.mark:
                painter.drawEllipse(QPointF(*frame.point(point.north_nm, point.east_nm)), 3.5, 3.5)

    def _paint_heading(self, painter: QPainter, frame: PlanFrame) -> None:
        assert self._scene is not None
        sample = self._scene.sample
        end = frame.along(
            sample.north_nm,
            sample.east_nm,
            self._scene.selected_heading_deg,
            frame.range_nm * 0.5,
        )
        painter.setPen(QPen(QColor(self.theme.cue), 1.4, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(frame.width_px / 2, frame.height_px / 2), QPointF(*end))

    def _paint_aircraft(self, painter: QPainter, frame: PlanFrame) -> None:
        assert self._scene is not None
        dart = QPainterPath(QPointF(0, -10))
        for x, y in ((6, 8), (0, 4), (-6, 8)):
            dart.lineTo(x, y)
        dart.closeSubpath()
        turn = QTransform()
        turn.translate(frame.width_px / 2, frame.height_px / 2)
        turn.rotate(self._scene.sample.heading_deg)
        painter.setPen(QPen(QColor(self.theme.panel), 1.5))
        painter.setBrush(QColor(self.theme.aircraft))
        painter.drawPath(turn.map(dart))
