"""Headings and widths of the readiness board: as narrow as its words allow, and none cut."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QHeaderView, QTableView

from trainer.ui.club.board_model import BoardModel

SIDE_PX = 5
"""Left and right of a heading's words [px]."""
_OVER_PX = 6
"""Above and below a heading's words [px]."""
_CELL_PX = 12
"""What Qt leaves free beside a cell's words, and its grid line [px]."""
_LEAST_PX = 56
"""A column can be caught with the mouse [px]."""
_HIGHEST_PX = 1000


class WrappedHead(QHeaderView):
    """Headings across the top, as high as the lines that they need at their widths."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.setStyleSheet(f"QHeaderView::section {{ padding: 2px {SIDE_PX}px; }}")
        self.setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
        )
        self.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.setMinimumSectionSize(_LEAST_PX)
        self.setHighlightSections(False)
        self.setSectionsClickable(False)

    def head_metrics(self) -> QFontMetrics:
        """Return the metrics of the headings, which the style sheet makes bold."""
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        return QFontMetrics(font)

    def sectionSizeFromContents(self, section: int) -> QSize:
        """Return the size of a heading whose words are wrapped at the section's width."""
        words = str(self.model().headerData(section, Qt.Orientation.Horizontal, _SHOWN) or "")
        width = max(self.sectionSize(section), _LEAST_PX)
        room = QRect(0, 0, width - 2 * SIDE_PX - 1, _HIGHEST_PX)
        wrapped = self.head_metrics().boundingRect(room, Qt.TextFlag.TextWordWrap, words)
        return QSize(width, wrapped.height() + 2 * _OVER_PX)


_SHOWN = Qt.ItemDataRole.DisplayRole


def fit_columns(table: QTableView, head: WrappedHead, model: BoardModel) -> None:
    """Make each column as wide as its longest cell, or the longest word of its heading."""
    cells = QFontMetrics(table.font())
    heads = head.head_metrics()
    for column in range(model.columnCount()):
        shown = {model.data(model.index(row, column), _SHOWN) for row in range(model.rowCount())}
        title = str(model.headerData(column, Qt.Orientation.Horizontal, _SHOWN))
        width = max(
            _LEAST_PX,
            _widest(cells, map(str, shown)) + _CELL_PX,
            _widest(heads, title.split()) + 2 * SIDE_PX + 2,
        )
        table.setColumnWidth(column, width)


def _widest(metrics: QFontMetrics, texts: Iterable[str]) -> int:
    return max((metrics.horizontalAdvance(text) for text in texts), default=0)
