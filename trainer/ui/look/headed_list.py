"""A list with headings between its rows: no key ends on one."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QListWidget


class HeadedList(QListWidget):
    """Home, Page Up and the other keys go to a row that can be chosen."""

    def moveCursor(
        self, action: QListWidget.CursorAction, modifiers: Qt.KeyboardModifier
    ) -> QModelIndex:
        """Return where a key leads: on from a heading the way it went, else back from it."""
        place = super().moveCursor(action, modifiers)
        if not place.isValid():
            return place
        row = place.row()
        up = range(row, -1, -1)
        down = range(row, self.count())
        goes_up = row < self.currentRow()
        ways = (*up, *down) if goes_up else (*down, *up)
        row = next((one for one in ways if self._can_choose(one)), row)
        return self.model().index(row, 0)

    def _can_choose(self, row: int) -> bool:
        return bool(self.item(row).flags() & Qt.ItemFlag.ItemIsSelectable)
