"""Paints the figures of a strip's cell, and says how wide text is in a window's font."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QWidget

from trainer.session.strip_content import CellPicture
from trainer.session.strip_design import Shape, StripColours, StripDesign
from trainer.session.strip_drawing import (
    ALONG_WORDS,
    CHANGED_WORDS,
    Area,
    Figure,
    Outline,
    Stroke,
    Style,
    Words,
    draw_cell,
)
from trainer.session.strip_fit import Measure

__all__ = ["ALONG_WORDS", "CHANGED_WORDS", "Look", "measure_with", "paint_cell", "paint_ground"]
_MIDDLE = Qt.AlignmentFlag.AlignVCenter
_MOST_RADIUS_PX = 14.0
"""A pill of several lines keeps its corners out of the words."""
_FONTS = 256


class Look(NamedTuple):
    """A design, the set of its colours in use, and the font."""

    design: StripDesign
    colours: StripColours
    font: QFont


def paint_cell(painter: QPainter, area: QRectF, picture: CellPicture, look: Look) -> None:
    """Paint one cell into `area`."""
    style = Style(look.design, look.colours, measure_with(look.font))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    family = look.font.toString()
    for figure in draw_cell(Area(*area.getRect()), picture, style):
        painter.save()
        _paint(painter, figure, family)
        painter.restore()


def measure_with(font: QFont) -> Measure:
    """Return how wide text is in a font, whatever its size."""
    family = font.toString()

    def measure(text: str, size_px: float, is_bold: bool) -> float:
        return _metrics(family, round(size_px), is_bold).horizontalAdvance(text)

    return measure


def _paint(painter: QPainter, figure: Figure, family: str) -> None:
    match figure:
        case Outline():
            painter.setOpacity(figure.opacity)
            painter.setPen(_pen(figure.line, figure.line_px))
            if figure.is_dashed:
                painter.setPen(QPen(QColor(figure.line), figure.line_px, Qt.PenStyle.DashLine))
            painter.setBrush(QColor(figure.fill) if figure.fill else Qt.BrushStyle.NoBrush)
            painter.drawPath(_shape_path(QRectF(*figure.area), figure.shape))
        case Stroke():
            painter.setPen(_pen(figure.line, figure.line_px))
            painter.setBrush(QColor(figure.fill) if figure.fill else Qt.BrushStyle.NoBrush)
            path = QPainterPath(QPointF(*figure.points[0]))
            for point in figure.points[1:]:
                path.lineTo(QPointF(*point))
            if figure.is_closed:
                path.closeSubpath()
            painter.drawPath(path)
        case Words():
            painter.setFont(_font(family, round(figure.size_px), figure.is_bold))
            painter.setPen(QColor(figure.colour))
            side = Qt.AlignmentFlag.AlignRight if figure.is_right else Qt.AlignmentFlag.AlignLeft
            painter.drawText(QRectF(*figure.area), side | _MIDDLE, figure.text)


def _pen(colour: str, width: float) -> QPen:
    return QPen(QColor(colour), width) if colour else QPen(Qt.PenStyle.NoPen)


def _shape_path(area: QRectF, shape: Shape) -> QPainterPath:
    """Return the outline of a chip."""
    path = QPainterPath()
    if shape == "square":
        path.addRect(area)
    elif shape == "cut":
        cut = min(7.0, area.height() / 3)
        path.moveTo(area.left() + cut, area.top())
        for x, y in (
            (area.right(), area.top()),
            (area.right(), area.bottom() - cut),
            (area.right() - cut, area.bottom()),
            (area.left(), area.bottom()),
            (area.left(), area.top() + cut),
        ):
            path.lineTo(x, y)
        path.closeSubpath()
    else:
        radius = min(area.height() / 2, _MOST_RADIUS_PX) if shape == "pill" else 5.0
        path.addRoundedRect(area, radius, radius)
    return path


@lru_cache(maxsize=_FONTS)
def _font(family: str, size_px: int, is_bold: bool) -> QFont:
    font = QFont()
    font.fromString(family)
    font.setPixelSize(max(1, size_px))
    font.setBold(is_bold)
    return font


@lru_cache(maxsize=_FONTS)
def _metrics(family: str, size_px: int, is_bold: bool) -> QFontMetricsF:
    return QFontMetricsF(_font(family, size_px, is_bold))


def paint_ground(strip: QWidget, colour: str) -> None:
    """Paint what the cells of a strip lie on."""
    painter = QPainter(strip)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    painter.drawRoundedRect(strip.rect(), 6, 6)
