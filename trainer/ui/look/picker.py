"""A combo box with an arrow of our own, since a style sheet takes Qt's away."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QComboBox, QWidget


class Picker(QComboBox):
    """One of several; the arrow keys go through them."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)

    def showPopup(self) -> None:
        """Open the list, with its last row whole.

        Qt forgets the style sheet's border in the list's height on some platforms; the arrow that
        it then shows for the hidden pixels covers the last row.
        """
        super().showPopup()
        view = self.view()
        popup = view.window()
        if not view.verticalScrollBar().maximum():
            return
        rows = sum(view.sizeHintForRow(place) for place in range(self.count()))
        before, screen = popup.geometry(), self.screen().availableGeometry()
        popup.resize(before.width(), before.height() + rows)
        popup.layout().activate()
        height = rows + popup.height() - view.viewport().height()
        top = min(before.top(), screen.bottom() + 1 - height)
        # A list longer than the screen has to be scrolled.
        whole = QRect(before.left(), top, before.width(), height)
        popup.setGeometry(whole if top >= screen.top() else before)

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
