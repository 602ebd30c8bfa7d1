"""The trainee builds the predicted annunciation, cell by cell, on an empty strip."""

from __future__ import annotations

import itertools

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeySequence, QPaintEvent, QResizeEvent, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.strip_content import CellPicture, chips_of
from trainer.session.strip_design import DEFAULT_DESIGN, StripColours, StripDesign
from trainer.session.strip_layout import reading_order, strip_least_width_px
from trainer.ui.lesson.confidence_row import ConfidenceRow
from trainer.ui.look.choice_row import ChoiceRow
from trainer.ui.look.kit import button, label
from trainer.ui.look.words import CELL_TITLES, StripWords
from trainer.ui.strip.builder_cell import BuilderCell
from trainer.ui.strip.draft import Draft, picks_of, progress
from trainer.ui.strip.strip_paint import paint_ground
from trainer.ui.strip.strip_place import StripPlace


class BuilderStrip(QWidget):
    """The empty strip itself: the cells, laid out as the design wants them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.design: StripDesign = DEFAULT_DESIGN
        self.colours: StripColours = DEFAULT_DESIGN.light
        self.cells = {cell: BuilderCell(cell, self) for cell in reading_order(self.design)}
        self._words = StripWords({})
        self._place = StripPlace(self, self.cells)
        self.setAccessibleName("Your prediction")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another design, and its order for the focus."""
        self.design, self.colours = design, colours
        order = reading_order(design)
        for first, second in itertools.pairwise(order):
            QWidget.setTabOrder(self.cells[first], self.cells[second])
        self._place.use(design, self._words)
        self.updateGeometry()

    def set_words(self, words: StripWords) -> None:
        """Use other words."""
        self._words = words
        self._place.use(self.design, words)

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        return QSize(520, self._place.height_px)

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(strip_least_width_px(self.design), self._place.height_px)

    def resizeEvent(self, _event: QResizeEvent) -> None:
        """Lay the cells out again."""
        self._place.place()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        paint_ground(self, self.colours.ground)


class StripBuilder(QWidget):
    """Asks for a prediction; `submitted` carries it when every cell and the confidence are said."""

    submitted = Signal(object)
    """A `Prediction`."""

    def __init__(self, words: StripWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.draft = Draft(words, Annunciation())
        self.sees_now = True
        self._current = CELLS[0]
        self.strip = BuilderStrip()
        self.tray = QWidget()
        """Choices, confidence and the answer button; its owner places it beside the question."""
        self.tray.setObjectName("plain")
        self.choices = ChoiceRow()
        self.progress = label("", "quiet")
        self.nothing = button("Nothing changes  Ctrl+N", name="Nothing changes")
        self.rest = button("Rest stays as now  Ctrl+R", name="Rest stays as now")
        self.submit = button("Answer  Enter", "main", name="Answer")
        self.confidence = ConfidenceRow()
        self.confidences = self.confidence.buttons
        self._lay_out()
        self._connect()
        self._refresh()

    def ask(self, words: StripWords, now: Annunciation, *, sees_now: bool = True) -> None:
        """Begin an empty prediction.

        Args:
            words: The words of the strip.
            now: What the strip shows.
            sees_now: False while the strip is hidden: nothing may then be filled in from it.
        """
        self.draft = Draft(words, now)
        self.sees_now = sees_now
        for shortcut in (self.nothing, self.rest):
            shortcut.setVisible(sees_now)
            shortcut.setEnabled(sees_now)
        self.choices.show_keep(sees_now)
        self.strip.set_words(words)
        self._current = reading_order(self.strip.design)[0]
        self._refresh()

    def take_focus(self) -> None:
        """Put the keyboard on the cell in hand."""
        self.strip.cells[self._current].setFocus(Qt.FocusReason.OtherFocusReason)

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another strip design."""
        self.strip.set_design(design, colours)
        self._refresh()

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(label("Your prediction", "heading"))
        head.addStretch(1)
        head.addWidget(self.progress)
        layout.addLayout(head)
        layout.addWidget(self.strip)
        column = QVBoxLayout(self.tray)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.choices)
        for shortcut in (self.nothing, self.rest):
            column.addWidget(shortcut)
        column.addWidget(self.confidence)
        column.addWidget(self.submit)

    def _connect(self) -> None:
        for cell in self.strip.cells.values():
            cell.focused.connect(self._focus)
            cell.cycled.connect(lambda name, step: self._set(self.draft.cycled(name, step)))
            cell.moved.connect(self._move)
            cell.digit_typed.connect(self._digit)
            cell.letter_typed.connect(lambda name, key: self._set(self.draft.typed(name, key)))
            cell.kept.connect(self._keep)
            cell.cleared.connect(lambda name: self._set(self.draft.without_cell(name)))
            cell.finished.connect(lambda _name: self.finish())
        self.choices.picked.connect(lambda s: self._set(self.draft.chosen(self._current, s)))
        self.choices.kept.connect(lambda: self._keep(self._current))
        self.nothing.clicked.connect(lambda: self._set(self.draft.nothing_changes()))
        self.rest.clicked.connect(lambda: self._set(self.draft.rest_as_now()))
        self.submit.clicked.connect(self._submit)
        self.confidence.said.connect(lambda name: self._set(self.draft.with_confidence(name)))
        self._shortcut("Ctrl+N", self.nothing.click)
        self._shortcut("Ctrl+R", self.rest.click)
        self._shortcut("Ctrl+Return", self._submit)

    def _shortcut(self, keys: str, act: object) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WindowShortcut)
        shortcut.activated.connect(act)

    def _focus(self, cell: str) -> None:
        self._current = cell
        self._refresh()

    def _keep(self, cell: str) -> None:
        if self.sees_now:
            self._set(self.draft.as_now(cell))

    def _move(self, cell: str, step: int) -> None:
        order = reading_order(self.strip.design)
        place = (order.index(cell) + step) % len(order)
        self.strip.cells[order[place]].setFocus(Qt.FocusReason.TabFocusReason)

    def _digit(self, cell: str, digit: int) -> None:
        picks = picks_of(self.draft, cell)
        if 1 <= digit <= len(picks):
            self._set(self.draft.chosen(cell, picks[digit - 1].state))

    def finish(self) -> None:
        """Give the answer if all is said; else lead to what is missing."""
        if self.draft.is_complete:
            self._submit()
        elif self.draft.missing:
            self.strip.cells[self.draft.missing[0]].setFocus(Qt.FocusReason.TabFocusReason)
        else:
            self.confidence.take_focus()

    def _submit(self) -> None:
        if self.draft.is_complete and self.isVisible():
            self.submitted.emit(self.draft.prediction())

    def _set(self, draft: Draft) -> None:
        self.draft = draft
        self._refresh()

    def _refresh(self) -> None:
        for name, cell in self.strip.cells.items():
            cell.design, cell.colours = self.strip.design, self.strip.colours
            cell.picture = self._picture(name)
            spoken = (
                self.draft.words.content(name, self.draft.cells[name])
                if (name in self.draft.cells)
                else "not called yet"
            )
            cell.setAccessibleName(f"{CELL_TITLES[name]}: {spoken}")
            cell.update()
        self.choices.show_picks(
            f"{CELL_TITLES[self._current]} will read", picks_of(self.draft, self._current)
        )
        self.progress.setText(progress(self.draft))
        self.submit.setEnabled(self.draft.is_complete)
        self.rest.setEnabled(bool(self.draft.missing) and self.sees_now)
        self.confidence.show_said(self.draft.confidence)

    def _picture(self, cell: str) -> CellPicture:
        has_focus = cell == self._current
        if cell not in self.draft.cells:
            return CellPicture(CELL_TITLES[cell], is_unset=True, has_focus=has_focus)
        chips = chips_of(cell, self.draft.cells[cell], self.draft.words)
        return CellPicture(CELL_TITLES[cell], chips, has_focus=has_focus)
