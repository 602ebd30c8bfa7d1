"""A layout that puts widgets side by side and goes on in the next line, like words."""

from __future__ import annotations

from PySide6.QtCore import QMargins, QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Lines of widgets at their own size; its height follows from its width."""

    def __init__(self, parent: QWidget | None = None, gap_px: int = 4) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap_px = gap_px
        self.setContentsMargins(QMargins(0, 0, 0, 0))

    def addItem(self, item: QLayoutItem) -> None:
        """Add an item."""
        self._items.append(item)

    def count(self) -> int:
        """Return the number of items."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return an item."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take an item out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """Return that the layout takes no more room than it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Return that the height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height for a width [px]."""
        return self._arrange(QRect(0, 0, width, 0), is_trial=True)

    def setGeometry(self, rect: QRect) -> None:
        """Place all items."""
        super().setGeometry(rect)
        self._arrange(rect, is_trial=False)

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        return self.minimumSize()

    def minimumSize(self) -> QSize:
        """Return the least size: that of the widest item."""
        size = QSize(0, 0)
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        return size

    def _arrange(self, rect: QRect, *, is_trial: bool) -> int:
        x, y, line = rect.x(), rect.y(), 0
        for item in self._items:
            if item.isEmpty():
                continue
            hint = item.sizeHint()
            if x > rect.x() and x + hint.width() > rect.right() + 1:
                x, y, line = rect.x(), y + line + self._gap_px, 0
            if not is_trial:
                item.setGeometry(QRect(QPoint(x, y), hint))
            x += hint.width() + self._gap_px
            line = max(line, hint.height())
        return y + line - rect.y()
