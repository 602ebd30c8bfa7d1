"""A small picture of bank and pitch, and of what the guidance asks for.

The dot is the aircraft and stands still; the ring is the guidance: the dot in the ring means that
the aircraft does what is asked. The tilted line is the horizon.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QWidget

from trainer.ui.look.view import PictureView

_PITCH_SPAN_DEG = 25.0
"""Pitch that moves the horizon from the middle to the edge."""
_BANK_SPAN_DEG = 45.0


def cue_offset(
    bank_deg: float, pitch_deg: float, cue_bank_deg: float, cue_pitch_deg: float
) -> tuple[float, float]:
    """Return where the ring lies: right and up of the dot, each -1 to 1 of half the picture."""
    right = (cue_bank_deg - bank_deg) / _BANK_SPAN_DEG
    up = (cue_pitch_deg - pitch_deg) / _PITCH_SPAN_DEG
    return max(-0.85, min(0.85, right)), max(-0.85, min(0.85, up))


def attitude_words(bank_deg: float, pitch_deg: float, cue: tuple[float, float] | None) -> str:
    """Return the attitude in words.

    Example:
        >>> attitude_words(12.0, -3.0, None)
        'bank 12 right, pitch 3 down, no guidance'
    """
    side = "right" if bank_deg > 0 else "left"
    bank = "wings level" if abs(bank_deg) < 0.5 else f"bank {abs(bank_deg):.0f} {side}"
    way = "up" if pitch_deg > 0 else "down"
    pitch = "pitch level" if abs(pitch_deg) < 0.5 else f"pitch {abs(pitch_deg):.0f} {way}"
    if cue is None:
        return f"{bank}, {pitch}, no guidance"
    return f"{bank}, {pitch}, guidance asks bank {cue[0]:.0f}, pitch {cue[1]:.0f}"


class AttitudeView(PictureView):
    """Horizon, dot and ring."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Attitude", QSize(120, 92), parent)
        self._bank_deg = self._pitch_deg = 0.0
        self._cue: tuple[float, float] | None = None

    def show_attitude(
        self, bank_deg: float, pitch_deg: float, cue: tuple[float, float] | None
    ) -> None:
        """Draw an attitude; `cue` is the bank and pitch asked for [deg], None without guidance."""
        self._bank_deg, self._pitch_deg, self._cue = bank_deg, pitch_deg, cue
        self.describe(attitude_words(bank_deg, pitch_deg, cue))
        self.update()

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the picture."""
        centre = area.center()
        half_px = min(area.width(), area.height()) / 2
        reach = math.hypot(area.width(), area.height())
        painter.save()
        painter.translate(centre)
        painter.rotate(-self._bank_deg)
        drop_px = self._pitch_deg / _PITCH_SPAN_DEG * half_px
        painter.fillRect(
            QRectF(-reach, -reach * 2, reach * 2, reach * 2 + drop_px), QColor(self.theme.sky)
        )
        painter.fillRect(QRectF(-reach, drop_px, reach * 2, reach * 2), QColor(self.theme.land))
        painter.setPen(QPen(QColor(self.theme.ink), 2.0))
        painter.drawLine(QPointF(-reach, drop_px), QPointF(reach, drop_px))
        painter.restore()
        if self._cue is not None:
            right, up = cue_offset(self._bank_deg, self._pitch_deg, *self._cue)
            ring = centre + QPointF(right * area.width() / 2, -up * half_px)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(self.theme.panel), 6.0))
            painter.drawEllipse(ring, 10, 10)
            painter.setPen(QPen(QColor(self.theme.cue), 3.0))
            painter.drawEllipse(ring, 10, 10)
        self._paint_own(painter, centre)  # last: the ring's pale edge would cut into it

    def _paint_own(self, painter: QPainter, centre: QPointF) -> None:
        painter.setPen(QPen(QColor(self.theme.panel), 1.5))
        painter.setBrush(QColor(self.theme.aircraft))
        painter.drawEllipse(centre, 5, 5)
