"""A check box with a tick, so that its state doesn't rest on a colour."""

from __future__ import annotations

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QCheckBox, QStyle, QStyleOptionButton


class TickBox(QCheckBox):
    """On or off."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint, with a tick if it is on."""
        super().paintEvent(event)
        if not self.isChecked():
            return
        option = QStyleOptionButton()
        self.initStyleOption(option)
        element = QStyle.SubElement.SE_CheckBoxIndicator
        centre = QPointF(self.style().subElementRect(element, option, self).center())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.HighlightedText), 2.0))
        corners = ((-3.0, 0.5), (-0.5, 3.0), (4.0, -2.5))
        painter.drawPolyline(QPolygonF([centre + QPointF(x, y) for x, y in corners]))
