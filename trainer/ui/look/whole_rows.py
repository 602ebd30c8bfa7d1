"""A list whose rows are as high as their words, whatever its width."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QListWidget

from trainer.ui.look.kit import show_whole_rows

_BESIDE_PX, _ABOVE_PX = 30, 22
"""Padding of a row by the style sheet: Qt's own measure forgets it."""
_TALLEST_PX = 4000


class WholeRows(QListWidget):
    """Lines to read; call `show_lines` to fill it."""

    def __init__(self) -> None:
        super().__init__()
        show_whole_rows(self)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)

    def show_lines(self, lines: list[str]) -> None:
        """Show other lines."""
        self.clear()
        self.addItems(lines)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Measure again."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = QRect(0, 0, max(1, self.viewport().width() - _BESIDE_PX), _TALLEST_PX)
        flags = int(Qt.TextFlag.TextWordWrap)
        for row in range(self.count()):
            item = self.item(row)
            box = self.fontMetrics().boundingRect(room, flags, item.text())
            item.setSizeHint(QSize(room.width(), box.height() + _ABOVE_PX))
