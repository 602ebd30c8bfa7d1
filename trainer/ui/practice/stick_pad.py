"""A pad to fly by hand: the further from the middle, the faster it rolls or pitches."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QWidget

from trainer.ui.look.view import PictureView

_KEY_STEP = 0.2
_KEYS = {
    Qt.Key.Key_Left: (-_KEY_STEP, 0.0),
    Qt.Key.Key_Right: (_KEY_STEP, 0.0),
    Qt.Key.Key_Up: (0.0, -_KEY_STEP),
    Qt.Key.Key_Down: (0.0, _KEY_STEP),
}


def stick_words(bank: float, pitch: float) -> str:
    """Return the stick's place in words; pitch above 0 pulls."""
    if not bank and not pitch:
        return "stick in the middle"
    side = "right" if bank > 0 else "left"
    way = "pull" if pitch > 0 else "push"
    return f"stick {abs(bank):.0%} {side}, {way} {abs(pitch):.0%}"


class StickPad(PictureView):
    """Drag the dot, or use the arrow keys; letting go or Home puts it back in the middle."""

    moved = Signal(float, float)
    """Bank and pitch, each -1 to 1; pitch above 0 pulls."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Stick", QSize(110, 90), parent)
        self.bank = self.pitch = 0.0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.set_stick(0.0, 0.0)

    def set_stick(self, bank: float, pitch: float) -> None:
        """Put the stick somewhere."""
        self.bank = max(-1.0, min(1.0, bank))
        self.pitch = max(-1.0, min(1.0, pitch))
        if abs(self.bank) < 0.02:
            self.bank = 0.0
        if abs(self.pitch) < 0.02:
            self.pitch = 0.0
        self.describe(stick_words(self.bank, self.pitch))
        self.moved.emit(self.bank, self.pitch)
        self.update()

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the picture."""
        centre = area.center()
        painter.setPen(QPen(QColor(self.theme.line), 1.0))
        painter.drawLine(QPointF(area.left(), centre.y()), QPointF(area.right(), centre.y()))
        painter.drawLine(QPointF(centre.x(), area.top()), QPointF(centre.x(), area.bottom()))
        dot = QPointF(
            centre.x() + self.bank * (area.width() / 2 - 10),
            centre.y() + self.pitch * (area.height() / 2 - 10),
        )
        painter.setPen(QPen(QColor(self.theme.edge), 2.0))
        painter.drawLine(centre, dot)
        painter.setBrush(QColor(self.theme.accent if self.hasFocus() else self.theme.aircraft))
        painter.drawEllipse(dot, 7, 7)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """The pointer presses."""
        self.setFocus()
        self.mouseMoveEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The pointer moves."""
        point = event.position()
        across = (point.x() - self.width() / 2) / (self.width() / 2 - 10)
        self.set_stick(across, (point.y() - self.height() / 2) / (self.height() / 2 - 10))

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        """The pointer lets go."""
        self.set_stick(0.0, 0.0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn a key into a movement."""
        step = _KEYS.get(Qt.Key(event.key()))
        if step:
            self.set_stick(self.bank + step[0], self.pitch + step[1])
        elif event.key() == Qt.Key.Key_Home:
            self.set_stick(0.0, 0.0)
        else:
            super().keyPressEvent(event)
