"""The picture of a statechart: zoomed and moved with mouse or keys, states read out."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from trainer.charts.diagram import Diagram
from trainer.ui.look.theme import LIGHT, Theme
from trainer.ui.views.statechart_paint import StatechartPainter

ZOOM_STEP = 1.25
_MOST_ZOOM = 6.0
_PAN_PX = 60.0
_REACH_PX = 6.0
"""An arrow is pointed at within this distance."""


class StatechartView(QWidget):
    """Shows a diagram. Plus and minus zoom, arrows move, 0 shows the whole."""

    zoomed = Signal(int)
    """Scale in percent."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        self.diagram: Diagram | None = None
        self.zoom = 1.0
        """1: the whole picture fits."""
        self._centre = QPointF(0.5, 0.5)
        self._grabbed: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Statechart")
        self.setMouseTracking(False)
        self.setMinimumSize(400, 240)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.theme = theme
        self.update()

    def show_diagram(self, diagram: Diagram) -> None:
        """Show a diagram; zoom and place stay."""
        self.diagram = diagram
        active = [box for box in diagram.boxes if box.is_active]
        words = ", ".join(" ".join(box.label_lines) for box in active)
        self.setAccessibleDescription(
            f"{diagram.title}: {diagram.subtitle}." + (f" Active now: {words}." if words else "")
        )
        self.update()

    @property
    def scale(self) -> float:
        """Pixels of the window for each of the diagram."""
        return self._fit() * self.zoom

    def show_all(self) -> None:
        """Fit the whole picture."""
        self.zoom, self._centre = 1.0, QPointF(0.5, 0.5)
        self._changed()

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom; what is at `at` stays there."""
        at = at or QPointF(self.width() / 2, self.height() / 2)
        held = self._to_diagram(at)
        self.zoom = max(1.0, min(_MOST_ZOOM, self.zoom * factor))
        if self.diagram is not None:
            moved = self._to_diagram(at)
            self._shift(held - moved)
        self._changed()

    def move_by(self, dx_px: float, dy_px: float) -> None:
        """Move the view over the picture by pixels of the window."""
        self._shift(QPointF(dx_px, dy_px) / self.scale)
        self.update()

    def tip_at(self, place: QPointF) -> str:
        """Return what is said of the state or arrow at a place of the widget; else nothing."""
        if self.diagram is None:
            return ""
        point = self._to_diagram(place)
        for box in self.diagram.boxes:
            if QRectF(box.x_px, box.y_px, box.width_px, box.height_px).contains(point):
                return box.tip
        near = [(_distance(arrow.points, point), arrow) for arrow in self.diagram.arrows]
        best = min(near, key=lambda one: one[0], default=None)
        return best[1].tip if best is not None and best[0] <= _REACH_PX else ""

    def place_of(self, region: str, state: str) -> QPointF:
        """Return where the middle of a state's box stands in the widget.

        Raises:
            KeyError: No such state.
        """
        if self.diagram is None:
            raise KeyError((region, state))
        box = self.diagram.box(region, state)
        middle = QPointF(box.x_px + box.width_px / 2, box.y_px + box.height_px / 2)
        return middle * self.scale + self._offset()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self.theme.ground))
        if self.diagram is not None:
            offset = self._offset()
            painter.save()
            painter.translate(offset)
            painter.scale(self.scale, self.scale)
            StatechartPainter(painter, self.theme, self.font()).paint(self.diagram)
            painter.restore()
        if self.hasFocus():
            painter.setPen(QColor(self.theme.accent))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    def event(self, event: QEvent) -> bool:
        """Show the words of what the mouse points at."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.tip_at(QPointF(event.pos())), self)
            return True
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the mouse."""
        turns = event.angleDelta().y() / 120.0
        if turns:
            self.zoom_by(ZOOM_STEP**turns, event.position())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Grab the picture."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._grabbed = event.position()
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the picture."""
        if self._grabbed is not None:
            step = self._grabbed - event.position()
            self._grabbed = event.position()
            self.move_by(step.x(), step.y())

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        """Let go of the picture."""
        self._grabbed = None
        self.unsetCursor()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Zoom in where it is clicked."""
        self.zoom_by(ZOOM_STEP**2, event.position())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom and move with keys."""
        steps = {
            Qt.Key.Key_Left: (-_PAN_PX, 0.0),
            Qt.Key.Key_Right: (_PAN_PX, 0.0),
            Qt.Key.Key_Up: (0.0, -_PAN_PX),
            Qt.Key.Key_Down: (0.0, _PAN_PX),
        }
        key = event.key()
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom_by(1.0 / ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self.show_all()
        elif key in steps:
            self.move_by(*steps[key])
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit again."""
        super().resizeEvent(event)
        self._shift(QPointF(0.0, 0.0))
        self.zoomed.emit(round(100 * self.scale))

    def _fit(self) -> float:
        if self.diagram is None:
            return 1.0
        return min(self.width() / self.diagram.width_px, self.height() / self.diagram.height_px)

    def _size(self) -> QPointF:
        if self.diagram is None:
            return QPointF(1.0, 1.0)
        return QPointF(self.diagram.width_px, self.diagram.height_px)

    def _offset(self) -> QPointF:
        size = self._size()
        middle = QPointF(size.x() * self._centre.x(), size.y() * self._centre.y())
        return QPointF(self.width() / 2, self.height() / 2) - middle * self.scale

    def _to_diagram(self, place: QPointF) -> QPointF:
        return (place - self._offset()) / self.scale

    def _shift(self, step: QPointF) -> None:
        """Move the centre, and keep the picture in the window."""
        size = self._size()
        half = QPointF(self.width(), self.height()) / 2 / self.scale
        x = self._centre.x() * size.x() + step.x()
        y = self._centre.y() * size.y() + step.y()
        x = min(max(x, half.x()), size.x() - half.x()) if size.x() > 2 * half.x() else size.x() / 2
        y = min(max(y, half.y()), size.y() - half.y()) if size.y() > 2 * half.y() else size.y() / 2
        self._centre = QPointF(x / size.x(), y / size.y())

    def _changed(self) -> None:
        self._shift(QPointF(0.0, 0.0))
        self.zoomed.emit(round(100 * self.scale))
        self.update()


def _distance(points: tuple[tuple[float, float], ...], place: QPointF) -> float:
    """Return how far a place is from an arrow, sampled along it [px of the diagram]."""
    best = float("inf")
    for number in range(17):
        t = number / 16.0
        if len(points) == 2:
            x = points[0][0] + (points[1][0] - points[0][0]) * t
            y = points[0][1] + (points[1][1] - points[0][1]) * t
        else:
            weights = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3)
            x = sum(w * p[0] for w, p in zip(weights, points, strict=True))
            y = sum(w * p[1] for w, p in zip(weights, points, strict=True))
        best = min(best, ((x - place.x()) ** 2 + (y - place.y()) ** 2) ** 0.5)
    return best
