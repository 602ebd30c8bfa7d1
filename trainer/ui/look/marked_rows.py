"""A list whose lines carry a mark at their right end: words that a long line never pushes out."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, Qt
from PySide6.QtGui import QPainter, QPalette
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

MARK = Qt.ItemDataRole.UserRole + 1
"""Role of the mark's words in an item."""
_BESIDE_PX = 14
Index = QModelIndex | QPersistentModelIndex


class MarkedRows(QStyledItemDelegate):
    """Paints a line, shortened if need be, and its mark."""

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        """Shorten the line to the room that its mark leaves."""
        super().initStyleOption(option, index)
        mark = index.data(MARK)
        if mark and isinstance(option.widget, QWidget):
            room = option.rect.width() - 3 * _BESIDE_PX - option.fontMetrics.horizontalAdvance(mark)
            elide = Qt.TextElideMode.ElideRight
            option.text = option.fontMetrics.elidedText(option.text, elide, max(0, room))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint."""
        super().paint(painter, option, index)
        mark = index.data(MARK)
        if not mark:
            return
        is_chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        role = QPalette.ColorRole.HighlightedText if is_chosen else QPalette.ColorRole.Text
        painter.save()
        painter.setFont(option.font)
        painter.setPen(option.palette.color(role))
        area = QRect(option.rect).adjusted(0, 0, -_BESIDE_PX, 0)
        painter.drawText(area, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, mark)
        painter.restore()
