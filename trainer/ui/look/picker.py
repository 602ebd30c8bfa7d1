"""A combo box with an arrow of our own, since a style sheet takes Qt's away."""

from __future__ import annotations

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QComboBox, QWidget


class Picker(QComboBox):
    """One of several; the arrow keys go through them."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint, with a chevron on the right."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = self.palette().color(QPalette.ColorRole.ButtonText)
        painter.setPen(QPen(colour, 1.6))
        centre = QPointF(self.width() - 14, self.height() / 2)
        corners = ((-4, -2), (0, 2.5), (4, -2))
        painter.drawPolyline(QPolygonF([centre + QPointF(x, y) for x, y in corners]))
