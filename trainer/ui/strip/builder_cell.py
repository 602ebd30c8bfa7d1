"""One cell of the empty strip: a button that takes arrows, digits and letters."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QWidget

from trainer.session.strip_content import CellPicture
from trainer.session.strip_design import DEFAULT_DESIGN, StripColours, StripDesign
from trainer.ui.look.words import CELL_TITLES
from trainer.ui.strip.strip_paint import Look, paint_cell

_STEPS = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}
_MOVES = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}


class BuilderCell(QAbstractButton):
    """Says what the trainee does to it; decides nothing."""

    focused = Signal(str)
    cycled = Signal(str, int)
    moved = Signal(str, int)
    digit_typed = Signal(str, int)
    letter_typed = Signal(str, str)
    kept = Signal(str)
    cleared = Signal(str)
    finished = Signal(str)

    def __init__(self, cell: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.cell = cell
        self.picture = CellPicture(CELL_TITLES[cell], is_unset=True)
        self.design: StripDesign = DEFAULT_DESIGN
        self.colours: StripColours = DEFAULT_DESIGN.light
        self.setObjectName(f"builder_{cell}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        area = QRectF(self.rect())
        look = Look(self.design, self.colours, self.font())
        paint_cell(painter, area, self.picture, look)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Say that this cell is in hand."""
        super().focusInEvent(event)
        self.focused.emit(self.cell)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn a key into what the trainee means."""
        key, text = Qt.Key(event.key()), event.text()
        plain = event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.ShiftModifier,
            Qt.KeyboardModifier.KeypadModifier,
        )
        if not plain:
            super().keyPressEvent(event)
        elif key in _STEPS:
            self.cycled.emit(self.cell, _STEPS[key])
        elif key in _MOVES:
            self.moved.emit(self.cell, _MOVES[key])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.finished.emit(self.cell)
        elif key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.cleared.emit(self.cell)
        elif text in ("=", "."):
            self.kept.emit(self.cell)
        elif text.isdigit():
            self.digit_typed.emit(self.cell, int(text))
        elif text.isalpha():
            self.letter_typed.emit(self.cell, text)
        else:
            super().keyPressEvent(event)
