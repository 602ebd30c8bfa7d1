"""Paints one cell of a strip: what `CellPicture` says, as a strip design wants it."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from trainer.session.strip_design import Shape, StripColours, StripDesign
from trainer.ui.cell_content import CellPicture, Chip

_TITLE_PX, _WORD_PX, _LEAST_WORD_PX = 10.5, 14.0, 9.5
_MARKER_PX = 14.0
_PAD_PX = 8.0
_SIDE_PX = 6.0
_VERDICTS = {"right": "right", "wrong": "not so"}
CHANGED_WORDS = "changed by itself"


class Look(NamedTuple):
    """A design, the set of its colours in use, and the font."""

    design: StripDesign
    colours: StripColours
    font: QFont


def paint_cell(
    painter: QPainter,
    area: QRectF,
    picture: CellPicture,
    look: Look,
) -> None:
    """Paint one cell into `area`."""
    design, colours = look.design, look.colours
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_frame(painter, area, picture, look)
    title_px = _TITLE_PX * design.scale
    head = QRectF(area.x() + 7, area.y() + 3, area.width() - 14, title_px + 3)
    _paint_head(painter, head, picture, look)
    body = QRectF(area.x() + _SIDE_PX, head.bottom() + 2, area.width() - 2 * _SIDE_PX, 0)
    body.setBottom(area.bottom() - 5)
    if picture.is_unset:
        _paint_words(painter, body, "…", colours.empty, look)
    elif not picture.chips:
        _paint_words(painter, body, "—", colours.empty, look)
    else:
        _paint_chips(painter, body, picture.chips, look)


def is_fitting(chips: tuple[Chip, ...], cell_width_px: float, look: Look) -> bool:
    """Return True if the chips can be written in a cell of this width without cutting a word."""
    room = cell_width_px - 2 * _SIDE_PX
    labels, font = _fit(chips, room, look)
    is_whole = labels in ([chip.label for chip in chips], [chip.short for chip in chips])
    return is_whole and _line_width(chips, labels, QFontMetricsF(font)) <= room


def shape_path(area: QRectF, shape: Shape) -> QPainterPath:
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
        radius = area.height() / 2 if shape == "pill" else 5.0
        path.addRoundedRect(area, radius, radius)
    return path


def _paint_frame(painter: QPainter, area: QRectF, picture: CellPicture, look: Look) -> None:
    frame = area.adjusted(1.5, 1.5, -1.5, -1.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if picture.is_changed:
        width = 3.5 if picture.is_pulse_on else 1.5
        painter.setPen(QPen(QColor(look.colours.changed), width))
    elif picture.has_focus:
        painter.setPen(QPen(QColor(look.colours.active_fill), 2.5))
    elif picture.is_unset:
        painter.setPen(QPen(QColor(look.colours.empty), 1.2, Qt.PenStyle.DashLine))
    else:
        faint = QColor(look.colours.empty)
        faint.setAlphaF(0.45)
        painter.setPen(QPen(faint, 1.0))
    painter.drawRoundedRect(frame, 5, 5)


def _paint_head(painter: QPainter, head: QRectF, picture: CellPicture, look: Look) -> None:
    font = _sized(look.font, _TITLE_PX * look.design.scale)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    right = ""
    if picture.verdict:
        right = _VERDICTS[picture.verdict]
    elif picture.is_changed and look.design.emphasis == "border_and_mark":
        right = CHANGED_WORDS
    room = head.width()
    if right:
        bold = _sized(look.font, _TITLE_PX * look.design.scale, bold=True)
        sign = {"right": "✓ ", "wrong": "✗ "}.get(picture.verdict, "◆ ")
        width = QFontMetricsF(bold).horizontalAdvance(sign + right)
        if metrics.horizontalAdvance(picture.title) + width + 8 > room:
            right = ""
            width = QFontMetricsF(bold).horizontalAdvance(sign)
        painter.setFont(bold)
        painter.setPen(QColor(look.colours.armed_ink))
        painter.drawText(
            head,
            Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
            (sign + right).strip(),
        )
        room -= width + 6
    painter.setFont(font)
    painter.setPen(QColor(look.colours.title))
    title = metrics.elidedText(picture.title, Qt.TextElideMode.ElideRight, room)
    painter.drawText(head, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, title)


def _paint_words(painter: QPainter, body: QRectF, words: str, colour: str, look: Look) -> None:
    painter.setFont(_sized(look.font, _WORD_PX * look.design.scale))
    painter.setPen(QColor(colour))
    inner = body.adjusted(_PAD_PX - 6, 0, 0, 0)
    painter.drawText(inner, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, words)


def _paint_chips(painter: QPainter, body: QRectF, chips: tuple[Chip, ...], look: Look) -> None:
    labels, font = _fit(chips, body.width(), look)
    metrics = QFontMetricsF(font)
    x = body.left()
    for chip, label in zip(chips, labels, strict=True):
        width = min(_chip_width(chip, label, metrics), body.right() - x)
        area = QRectF(x, body.top(), width, body.height()).adjusted(0.75, 0.75, -0.75, -0.75)
        painter.setFont(font)
        _paint_chip(painter, area, chip, label, look)
        x += width + 4


def _paint_chip(painter: QPainter, area: QRectF, chip: Chip, label: str, look: Look) -> None:
    colours, design = look.colours, look.design
    words = area.adjusted(_PAD_PX, 0, -_PAD_PX + 2, 0)
    ink = colours.armed_ink
    if chip.kind == "armed":
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(colours.armed_outline), 1.6))
        painter.drawPath(shape_path(area, design.armed_shape))
        _paint_marker(painter, area, look)
        words = area.adjusted(_PAD_PX + _MARKER_PX, 0, -_PAD_PX + 2, 0)
    elif chip.kind in ("active", "alert"):
        alert = chip.kind == "alert"
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.alert_fill if alert else colours.active_fill))
        painter.drawPath(shape_path(area, "square" if alert else design.active_shape))
        ink = colours.alert_ink if alert else colours.active_ink
    else:
        words = area.adjusted(2, 0, 0, 0)
    painter.setPen(QColor(ink))
    painter.drawText(words, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, label)


def _paint_marker(painter: QPainter, area: QRectF, look: Look) -> None:
    centre = QPointF(area.left() + _PAD_PX + 4, area.center().y())
    colour = QColor(look.colours.armed_outline)
    painter.setPen(QPen(colour, 1.8))
    marker = look.design.armed_marker
    if marker == "ring":
        painter.drawEllipse(centre, 4.0, 4.0)
    elif marker == "triangle":
        path = QPainterPath(centre + QPointF(-3.5, -4.5))
        path.lineTo(centre + QPointF(4.5, 0))
        path.lineTo(centre + QPointF(-3.5, 4.5))
        path.closeSubpath()
        painter.drawPath(path)
    elif marker == "bar":
        painter.fillRect(QRectF(centre.x() - 2, centre.y() - 6, 4, 12), colour)
    else:
        for step in (-4.0, 0.0, 4.0):
            painter.drawLine(centre + QPointF(-4, step), centre + QPointF(4, step))


def _fit(chips: tuple[Chip, ...], room: float, look: Look) -> tuple[list[str], QFont]:
    """Return labels and a font that fit: whole words, then short words, then smaller ones."""
    size = _WORD_PX * look.design.scale
    wholes, shorts = [chip.label for chip in chips], [chip.short for chip in chips]
    while True:
        font = _sized(look.font, size, bold=True)
        metrics = QFontMetricsF(font)
        for labels in (wholes, shorts):
            if _line_width(chips, labels, metrics) <= room:
                return labels, font
        if size <= _LEAST_WORD_PX:
            each = (room - 4 * (len(chips) - 1)) / len(chips) - 2 * _PAD_PX - _MARKER_PX
            return [metrics.elidedText(s, Qt.TextElideMode.ElideRight, each) for s in shorts], font
        size -= 0.5


def _line_width(chips: tuple[Chip, ...], labels: list[str], metrics: QFontMetricsF) -> float:
    widths = (_chip_width(c, label, metrics) for c, label in zip(chips, labels, strict=True))
    return sum(widths) + 4 * (len(chips) - 1)


def _chip_width(chip: Chip, label: str, metrics: QFontMetricsF) -> float:
    marker = _MARKER_PX if chip.kind == "armed" else 0.0
    return metrics.horizontalAdvance(label) + 2 * _PAD_PX + marker


def _sized(font: QFont, size_px: float, *, bold: bool = False) -> QFont:
    sized = QFont(font)
    sized.setPixelSize(max(1, round(size_px)))
    sized.setBold(bold)
    return sized
