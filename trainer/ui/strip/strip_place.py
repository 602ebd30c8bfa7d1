"""Puts the cells of a strip where its design wants them, and gives it the height they need."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtWidgets import QWidget

from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_layout import Box, Need, height_of, needs_of, strip_boxes
from trainer.session.strip_words import StripWords
from trainer.ui.strip.strip_paint import measure_with


class StripPlace:
    """The places of the cells of one strip; worked out again only when something has changed."""

    def __init__(self, strip: QWidget, cells: Mapping[str, QWidget], extra_px: int = 0) -> None:
        self._strip, self._cells, self._extra_px = strip, cells, extra_px
        self._design, self._words = DEFAULT_DESIGN, StripWords({})
        self._font = ""
        self._need: Need | None = None
        self.boxes: Mapping[str, Box] = {}
        """Cell -> its rectangle."""

    @property
    def height_px(self) -> int:
        """The height that the strip needs in its present width."""
        return height_of(self.boxes or strip_boxes(self._design, self._strip.width()))

    def use(self, design: StripDesign, words: StripWords) -> None:
        """Use another design or other words."""
        if (design, words) != (self._design, self._words) or not self.boxes:
            self._design, self._words = design, words
            self._need = None
            self.place()

    def place(self) -> None:
        """Lay the cells out in the strip's present width."""
        font = self._strip.font()
        if self._need is None or font.toString() != self._font:
            self._font = font.toString()
            self._need = needs_of(self._design, self._words, measure_with(font))
        self.boxes = strip_boxes(self._design, self._strip.width(), self._need)
        for cell, box in self.boxes.items():
            self._cells[cell].setGeometry(*box)
        self._strip.setFixedHeight(self.height_px + self._extra_px)
