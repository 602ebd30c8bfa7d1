"""Seen from the side: altitude, the selected altitude, the glidepath and where modes changed."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from trainer.ui.look.view import PictureView, path_pen
from trainer.ui.views.profile_geometry import (
    ProfileFrame,
    along_nm,
    fitting_frame,
    glidepath_altitude_ft,
    here,
    is_along_course,
    profile_words,
)
from trainer.ui.views.surroundings import Surroundings, TrackPoint, nice_step, thinned

_POINTS_DRAWN = 400
_AXIS_PX = 46


class ProfileView(PictureView):
    """Height against distance."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Profile view", QSize(200, 108), parent)
        self._scene: Surroundings | None = None

    def show_scene(self, scene: Surroundings) -> None:
        """Draw a scene."""
        self._scene = scene
        self.describe(profile_words(scene))
        self.update()

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the picture."""
        if self._scene is None:
            self.note(painter, area.adjusted(10, 8, -10, -8), "Profile", self.theme.quiet_ink)
            return
        inner = area.adjusted(_AXIS_PX, 30, -10, -22)
        points = thinned(self._scene.track, _POINTS_DRAWN)
        frame = fitting_frame(self._scene, points, inner.width(), inner.height())
        self._paint_axis(painter, inner, frame, area)
        painter.save()
        painter.translate(inner.topLeft())
        painter.setClipRect(QRectF(0, -4, inner.width() + 4, inner.height() + 8))
        self._paint_ground(painter, frame)
        self._paint_glidepath(painter, frame)
        self._paint_selected(painter, frame)
        self._paint_track(painter, frame, points)
        painter.restore()
        title = QRectF(area.left() + 8, area.top() + 4, area.width() - 16, 16)
        axis = "distance to runway" if is_along_course(self._scene) else "distance flown"
        self.note(painter, title, f"Profile, altitude ft / {axis} NM", self.theme.quiet_ink)

    def _paint_axis(
        self, painter: QPainter, inner: QRectF, frame: ProfileFrame, area: QRectF
    ) -> None:
        painter.setFont(self.small_font())
        step_ft = nice_step(frame.high_ft - frame.low_ft, max(2, int(inner.height() / 34)))
        altitude_ft = -(-frame.low_ft // step_ft) * step_ft
        while altitude_ft <= frame.high_ft:
            y = inner.top() + frame.point(frame.left_nm, altitude_ft)[1]
            painter.setPen(QPen(QColor(self.theme.line), 1.0))
            painter.drawLine(QPointF(inner.left(), y), QPointF(inner.right(), y))
            painter.setPen(QColor(self.theme.quiet_ink))
            box = QRectF(area.left() + 4, y - 8, _AXIS_PX - 8, 16)
            side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(box, side, f"{round(altitude_ft):d}")  # no "-0"
            altitude_ft += step_ft
        step_nm = nice_step(frame.right_nm - frame.left_nm, max(2, int(inner.width() / 70)))
        at_nm = -(-frame.left_nm // step_nm) * step_nm
        while at_nm <= frame.right_nm:
            x = inner.left() + frame.point(at_nm, frame.low_ft)[0]
            box = QRectF(x - 30, inner.bottom() + 4, 60, 16)
            if at_nm >= 0 or is_along_course(self._scene):
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, f"{abs(round(at_nm, 3)):g}")
            at_nm += step_nm

    def _paint_ground(self, painter: QPainter, frame: ProfileFrame) -> None:
        assert self._scene is not None
        source = self._scene.source
        ground_ft = self._scene.ground_elevation_ft
        if source is not None and is_along_course(self._scene):
            ground_ft = source.elevation_ft
        y = frame.point(0.0, ground_ft)[1]
        if y < frame.height_px:
            area = QRectF(0, y, frame.width_px, frame.height_px - y + 8)
            painter.fillRect(area, QColor(self.theme.land))

    def _paint_glidepath(self, painter: QPainter, frame: ProfileFrame) -> None:
        assert self._scene is not None
        if not is_along_course(self._scene):
            return
        start = frame.point(frame.left_nm, glidepath_altitude_ft(self._scene, frame.left_nm))
        end = frame.point(0.0, glidepath_altitude_ft(self._scene, 0.0))
        painter.setPen(path_pen(self.theme))
        painter.drawLine(QPointF(*start), QPointF(*end))

    def _paint_selected(self, painter: QPainter, frame: ProfileFrame) -> None:
        assert self._scene is not None
        altitude_ft = self._scene.selected_altitude_ft
        y = frame.point(frame.left_nm, altitude_ft)[1]
        painter.setPen(QPen(QColor(self.theme.cue), 1.8, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(0, y), QPointF(frame.width_px, y))
        box = QRectF(4, y - 17 if y > 20 else y + 2, frame.width_px - 8, 15)
        self.note(painter, box, f"selected {altitude_ft:.0f}", self.theme.cue)

    def _paint_track(
        self, painter: QPainter, frame: ProfileFrame, points: list[TrackPoint]
    ) -> None:
        assert self._scene is not None
        drawn = [*points, here(self._scene)]
        places = zip(along_nm(self._scene, drawn), drawn, strict=True)
        line = [QPointF(*frame.point(at_nm, p.altitude_ft)) for at_nm, p in places]
        painter.setPen(QPen(QColor(self.theme.track), 1.6, Qt.PenStyle.DotLine))
        painter.drawPolyline(QPolygonF(line))
        painter.setPen(QPen(QColor(self.theme.track), 1.6))
        painter.setBrush(QColor(self.theme.panel))
        for point, place in zip(points, line, strict=False):
            if point.mark:
                painter.drawEllipse(place, 3.5, 3.5)
        tip = line[-1]
        dart = QPolygonF([tip + QPointF(*p) for p in ((7, 0), (-8, -6), (-4, 0), (-8, 6))])
        painter.setPen(QPen(QColor(self.theme.panel), 1.5))
        painter.setBrush(QColor(self.theme.aircraft))
        painter.drawPolygon(dart)
