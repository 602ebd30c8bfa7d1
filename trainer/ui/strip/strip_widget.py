"""The strip: the annunciation at this instant, painted as the trainee's design wants it."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QRectF, QSize, QTimer
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_content import CellPicture, Verdict, chips_of, is_pulse_on
from trainer.session.strip_design import DEFAULT_DESIGN, StripColours, StripDesign
from trainer.session.strip_layout import strip_least_width_px
from trainer.ui.look.words import CELL_TITLES, StripWords
from trainer.ui.strip.strip_paint import ALONG_WORDS, CHANGED_WORDS, Look, paint_cell, paint_ground
from trainer.ui.strip.strip_place import StripPlace

_PULSE_TICK_MS = 250


class StripCell(QLabel):
    """One cell; a label, so that a screen reader reads it as text."""

    def __init__(self, cell: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.cell = cell
        self.picture = CellPicture(CELL_TITLES[cell])
        self.design: StripDesign = DEFAULT_DESIGN
        self.colours: StripColours = DEFAULT_DESIGN.light
        self.setObjectName(f"strip_{cell}")

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        area = QRectF(self.rect())
        look = Look(self.design, self.colours, self.font())
        paint_cell(painter, area, self.picture, look)


class StripWidget(QWidget):
    """Shows an annunciation. `show_annunciation` is the one way in."""

    def __init__(self, words: StripWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = words
        self._design = DEFAULT_DESIGN
        self._colours = DEFAULT_DESIGN.light
        self._annunciation = Annunciation()
        self._marks: frozenset[str] = frozenset()
        self._along: frozenset[str] = frozenset()
        self._verdicts: Mapping[str, Verdict] = {}
        self._is_still = False
        self._pulse_s = 0.0
        self.cells = {cell: StripCell(cell, self) for cell in CELLS}
        self._place = StripPlace(self, self.cells)
        self._timer = QTimer(self)
        self._timer.setInterval(_PULSE_TICK_MS)
        self._timer.timeout.connect(self._pulse)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Strip")
        self._place.use(self._design, words)
        self._refresh()

    @property
    def annunciation(self) -> Annunciation:
        """What the strip shows."""
        return self._annunciation

    def show_annunciation(
        self,
        annunciation: Annunciation,
        marks: frozenset[str] = frozenset(),
        verdicts: Mapping[str, Verdict] | None = None,
        along: frozenset[str] = frozenset(),
    ) -> None:
        """Show an annunciation.

        Args:
            annunciation: What is shown.
            marks: Cells that changed by themselves.
            verdicts: What came of an answer, cell by cell.
            along: Cells that changed with a key that didn't ask for it.
        """
        state = (annunciation, marks, verdicts or {}, along)
        if state == (self._annunciation, self._marks, self._verdicts, self._along):
            return
        self._annunciation, self._marks, self._verdicts, self._along = state
        self._refresh()

    def set_words(self, words: StripWords) -> None:
        """Use the words of another installation."""
        self._words = words
        self._place.use(self._design, words)
        self._refresh()

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another design."""
        self._design, self._colours = design, colours
        self._place.use(design, self._words)
        self.updateGeometry()
        self._refresh()

    def set_still(self, is_still: bool) -> None:
        """Stop all pulsing (reduced motion)."""
        self._is_still = is_still
        self._refresh()

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        return QSize(max(strip_least_width_px(self._design), 520), self._place.height_px)

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(strip_least_width_px(self._design), self._place.height_px)

    def resizeEvent(self, _event: QResizeEvent) -> None:
        """Lay the cells out again."""
        self._place.place()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        paint_ground(self, self._colours.ground)

    def _pulse(self) -> None:
        self._pulse_s += _PULSE_TICK_MS / 1000.0
        self._refresh()

    def _refresh(self) -> None:
        pulse = is_pulse_on(self._pulse_s, is_still=self._is_still)
        for cell, widget in self.cells.items():
            value = self._annunciation.cell(cell)
            is_changed = cell in self._marks
            picture = CellPicture(
                CELL_TITLES[cell],
                chips_of(cell, value, self._words),
                is_changed=is_changed,
                is_along=cell in self._along,
                is_pulse_on=pulse,
                verdict=self._verdicts.get(cell, ""),
            )
            self._show_cell(widget, picture, self._words.content(cell, value))
        should_pulse = bool(self._marks) and not self._is_still and self.isVisible()
        if should_pulse and not self._timer.isActive():
            self._timer.start()
        elif not should_pulse:
            self._timer.stop()
            self._pulse_s = 0.0

    def _show_cell(self, widget: StripCell, picture: CellPicture, content: str) -> None:
        if (widget.picture, widget.design, widget.colours) == (
            picture,
            self._design,
            self._colours,
        ) and widget.accessibleName():
            return
        widget.picture, widget.design, widget.colours = picture, self._design, self._colours
        spoken = f"{CELL_TITLES[widget.cell]}: {content}"
        if picture.is_changed:
            spoken += f", {CHANGED_WORDS}"
        elif picture.is_along:
            spoken += f", {ALONG_WORDS}"
        if picture.verdict:
            spoken += f", {picture.verdict}"
        widget.setAccessibleName(spoken)
        widget.setToolTip(spoken)
        widget.update()
