"""A check box with a tick, so that its state doesn't rest on a colour."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import (
    QFont,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPolygonF,
    QResizeEvent,
    QTextLayout,
    QTextOption,
)
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


_LEAST_PX = 160
_BESIDE_PX = 34
"""The box, and the room around box and words."""


class WrappingTick(TickBox):
    """Its words go on below where the room is narrow; not even a long name makes it wider."""

    def __init__(self, words: str = "") -> None:
        super().__init__("")
        self._words = ""
        self.set_words(words)

    def set_words(self, words: str) -> None:
        """Show other words."""
        self._words = words
        self.setAccessibleName(words)
        self._wrap()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the words anew."""
        super().resizeEvent(event)
        self._wrap()

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(_LEAST_PX, self.sizeHint().height())

    def _wrap(self) -> None:
        lines = _lines(self._words, self.font(), max(_LEAST_PX, self.width()) - _BESIDE_PX)
        shown = "\n".join(lines).replace("&", "&&")
        if shown != self.text():
            self.setText(shown)
            self.updateGeometry()


def _lines(words: str, font: QFont, room_px: int) -> list[str]:
    """Return words in lines of a width: broken between words, a longer word anywhere."""
    layout = QTextLayout(words, font)
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    layout.setTextOption(option)
    layout.beginLayout()
    found = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(room_px)
        found.append(words[line.textStart() : line.textStart() + line.textLength()].strip())
    layout.endLayout()
    return found
