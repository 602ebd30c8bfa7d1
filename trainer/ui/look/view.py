"""What the plan, profile and attitude pictures share: a ground, a theme and words to read out."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QLabel, QWidget

from trainer.ui.look.theme import LIGHT, PATH_DASHES, SMALL_PX, Theme


class PictureView(QLabel):
    """A painted picture with an accessible description; subclasses fill `paint`."""

    def __init__(self, name: str, least: QSize, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        self._name = name
        self.setMinimumSize(least)
        self.setAccessibleName(name)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.theme = theme
        self.update()

    def describe(self, words: str) -> None:
        """Set what a screen reader says."""
        self.setAccessibleDescription(words)

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        return self.minimumSize()

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the picture into `area`, which is clipped."""
        raise NotImplementedError

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        area = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        frame = QPainterPath()
        frame.addRoundedRect(area, 6, 6)
        painter.fillPath(frame, QColor(self.theme.panel))
        painter.save()
        painter.setClipPath(frame)
        self.paint(painter, area)
        painter.restore()
        painter.setPen(QPen(QColor(self.theme.line), 1.0))
        painter.drawPath(frame)

    def small_font(self, *, bold: bool = False) -> QFont:
        """Return the font of notes in a picture."""
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        font.setBold(bold)
        return font

    def note(
        self,
        painter: QPainter,
        area: QRectF,
        words: str,
        colour: str,
        where: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
    ) -> None:
        """Write small words on a patch of the panel's ground, so that lines don't cross them."""
        painter.setFont(self.small_font())
        flags = where | Qt.AlignmentFlag.AlignVCenter
        metrics = painter.fontMetrics()
        words = metrics.elidedText(words, Qt.TextElideMode.ElideRight, int(area.width()))
        box = QRectF(painter.boundingRect(area, flags, words)).adjusted(-2, 0, 2, 0)
        painter.fillRect(box, QColor(self.theme.panel))
        painter.setPen(QColor(colour))
        painter.drawText(area, flags, words)


def path_pen(theme: Theme) -> QPen:
    """Return the pen of an active course or glidepath: long and short dashes."""
    pen = QPen(QColor(theme.path), 2.0)
    pen.setDashPattern(list(PATH_DASHES))
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen
