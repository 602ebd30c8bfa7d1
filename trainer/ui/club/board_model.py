"""The readiness board as a table model: a member a row, a competency a column."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, Qt
from PySide6.QtGui import QBrush, QColor

from trainer.records.board import Board, CellKey
from trainer.ui.club.board_words import ROLES, cell_name, ready_text, status_text
from trainer.ui.look.theme import LIGHT, Theme

Role = Qt.ItemDataRole


class BoardModel(QAbstractTableModel):
    """Shows a board; the first column sums a member up."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.board: Board | None = None
        self.theme: Theme = LIGHT

    def show_board(self, board: Board | None) -> None:
        """Show another board."""
        self.beginResetModel()
        self.board = board
        self.endResetModel()

    def place_of(self, cell: CellKey | None) -> QModelIndex:
        """Return where a cell is shown; nowhere if it isn't."""
        if cell is None or self.board is None:
            return QModelIndex()
        members = [one.id for one in self.board.members]
        required = [one.competency_id for one in self.board.requirements]
        if cell[0] not in members or cell[1] not in required:
            return QModelIndex()
        return self.index(members.index(cell[0]), required.index(cell[1]) + 1)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.beginResetModel()
        self.theme = theme
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | None = None) -> int:
        """Return the number of members."""
        has_rows = self.board is not None and not (parent and parent.isValid())
        return len(self.board.members) if has_rows else 0

    def columnCount(self, parent: QModelIndex | None = None) -> int:
        """Return the number of competencies and one."""
        has_columns = self.board is not None and not (parent and parent.isValid())
        return len(self.board.requirements) + 1 if has_columns else 0

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return a member's name or a competency's title."""
        if role not in (Role.DisplayRole, Role.ToolTipRole) or self.board is None:
            return None
        if orientation == Qt.Orientation.Vertical:
            return self.board.members[section].name
        return "Ready" if section == 0 else self.board.requirements[section - 1].title

    def data(self, index: QModelIndex, role: int = 0) -> object:
        """Return a cell's words, reason or colour."""
        if self.board is None or not index.isValid():
            return None
        member = self.board.members[index.row()]
        if index.column() == 0:
            texts = (Role.DisplayRole, Role.AccessibleTextRole, Role.ToolTipRole)
            return ready_text(self.board, member.id) if role in texts else None
        requirement = self.board.requirements[index.column() - 1]
        cell = self.board.cell(member.id, requirement.competency_id)
        if role == Role.DisplayRole:
            return status_text(cell.status)
        if role == Role.ToolTipRole:
            return cell.because
        if role == Role.AccessibleTextRole:
            return cell_name(member, requirement, cell)
        if role == Role.ForegroundRole:
            return QBrush(QColor(getattr(self.theme, ROLES[cell.status])))
        return None
