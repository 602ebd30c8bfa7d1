"""A strip whose cells can be dragged to another place, or moved there with Ctrl and an arrow."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_content import CellPicture, chips_of
from trainer.session.strip_design import DEFAULT_DESIGN, StripColours, StripDesign
from trainer.session.strip_layout import ROW_HEIGHT_PX, strip_least_width_px
from trainer.ui.look.words import CELL_TITLES, StripWords
from trainer.ui.strip.strip_paint import Look, paint_cell, paint_ground
from trainer.ui.strip.strip_place import StripPlace

_NUDGES = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class ArrangeCell(QAbstractButton):
    """One cell that can be picked up."""

    dropped = Signal(str, QPoint)
    """The cell and the point of its strip where it was let go."""
    nudged = Signal(str, int, int)
    """The cell, and how many places right and down."""

    def __init__(self, cell: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.cell = cell
        self.picture = CellPicture(CELL_TITLES[cell])
        self.design: StripDesign = DEFAULT_DESIGN
        self.colours: StripColours = DEFAULT_DESIGN.light
        self._grip: QPoint | None = None
        self.setObjectName(f"arrange_{cell}")
        self.setAccessibleName(f"{CELL_TITLES[cell]}: drag, or move with Ctrl and an arrow")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        look = Look(self.design, self.colours, self.font())
        paint_cell(painter, QRectF(self.rect()), self.picture, look)
        if self.hasFocus():
            painter.setPen(QColor(self.colours.title))
            painter.drawRect(self.rect().adjusted(3, 3, -4, -4))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """The pointer presses."""
        super().mousePressEvent(event)
        self._grip = event.position().toPoint()
        self.raise_()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The pointer moves."""
        if self._grip is not None:
            self.move(self.mapToParent(event.position().toPoint()) - self._grip)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """The pointer lets go."""
        super().mouseReleaseEvent(event)
        if self._grip is not None:
            self._grip = None
            self.dropped.emit(self.cell, self.mapToParent(event.position().toPoint()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn Ctrl and an arrow into a move."""
        nudge = _NUDGES.get(Qt.Key(event.key()))
        if nudge and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.nudged.emit(self.cell, *nudge)
        else:
            super().keyPressEvent(event)


class ArrangeStrip(QWidget):
    """Shows an annunciation in a design, and says where cells are put."""

    put_onto = Signal(str, str)
    """A cell was dropped on another."""
    put_below = Signal(str)
    """A cell was dropped below the last lane."""
    nudged = Signal(str, int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._design, self._colours = DEFAULT_DESIGN, DEFAULT_DESIGN.light
        self.cells = {cell: ArrangeCell(cell, self) for cell in CELLS}
        # Half a lane more, to drop a cell below.
        self._place = StripPlace(self, self.cells, ROW_HEIGHT_PX // 2)
        for cell in self.cells.values():
            cell.dropped.connect(self._drop)
            cell.nudged.connect(self.nudged)
        self.setAccessibleName("Strip to arrange")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_design(
        self,
        design: StripDesign,
        colours: StripColours,
        words: StripWords,
        shown: tuple[Annunciation, frozenset[str]],
    ) -> None:
        """Show a design; `shown` is an annunciation and its marked cells."""
        if design is not self._design or colours is not self._colours:
            self._design, self._colours = design, colours
        self._place.use(design, words)
        annunciation, marks = shown
        for name, cell in self.cells.items():
            chips = chips_of(name, annunciation.cell(name), words)
            cell.picture = CellPicture(CELL_TITLES[name], chips, is_changed=name in marks)
            cell.design, cell.colours = design, colours
            cell.update()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        return QSize(520, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(strip_least_width_px(self._design), self.minimumHeight())

    def resizeEvent(self, _event: QResizeEvent) -> None:
        """Lay the cells out again."""
        self._place.place()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        paint_ground(self, self._colours.ground)

    def _drop(self, cell: str, point: QPoint) -> None:
        boxes = self._place.boxes
        self._place.place()
        for other, box in boxes.items():
            inside = box.x <= point.x() <= box.x + box.width
            if inside and box.y <= point.y() <= box.y + box.height:
                if other != cell:
                    self.put_onto.emit(cell, other)
                return
        if point.y() > max(box.y + box.height for box in boxes.values()):
            self.put_below.emit(cell)
