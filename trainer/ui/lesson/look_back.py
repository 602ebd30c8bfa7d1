"""The flight's timeline under the strip: look back at any moment, and fly on from there."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QSlider, QWidget

from trainer.session.session import STEP_S
from trainer.ui.lesson.practice_words import exact_clock_words
from trainer.ui.look.kit import label

SECOND = round(1.0 / STEP_S)
_SHORTCUTS = (
    ("Ctrl+Left", -SECOND), ("Ctrl+Right", SECOND),
    ("Ctrl+Shift+Left", -1), ("Ctrl+Shift+Right", 1),
)  # fmt: skip
"""Keys and how many steps of the simulation they go."""


class LookBack(QWidget):
    """Counts in steps of the simulation, so that every moment flown can be had exactly."""

    moved = Signal(float)
    """The moment looked for [s]; the last one is the present."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName("Timeline of this flight")
        self.slider.setSingleStep(SECOND)
        self.slider.setPageStep(10 * SECOND)
        self.moment = label("", "quiet")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(label("Look back", "quiet"))
        row.addWidget(self.slider, 1)
        row.addWidget(self.moment)
        self.slider.valueChanged.connect(lambda step: self.moved.emit(step * STEP_S))
        for keys, steps in _SHORTCUTS:
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.activated.connect(lambda by=steps: self.go(by))

    def go(self, steps: int) -> None:
        """Go some steps of the simulation back or on."""
        self.slider.setValue(self.slider.value() + steps)

    def show_times(self, earliest_s: float, now_s: float, shown_s: float) -> None:
        """Show what can be gone back to, and the moment that is seen [s]."""
        steps = [round(t_s / STEP_S) for t_s in (earliest_s, now_s, shown_s)]
        if (self.slider.minimum(), self.slider.maximum(), self.slider.value()) != tuple(steps):
            self.slider.blockSignals(True)
            self.slider.setRange(*steps[:2])
            self.slider.setValue(steps[2])
            self.slider.blockSignals(False)
        words = "Now" if steps[2] == steps[1] else exact_clock_words(shown_s)
        if self.moment.text() != words:
            self.moment.setText(words)
            self.slider.setAccessibleDescription(words)
