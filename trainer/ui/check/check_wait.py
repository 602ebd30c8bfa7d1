"""A line that is seen while something takes a while: what, how far it is, and a way to stop it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QWidget

from trainer.ui.look.kit import button, label

NOT_KNOWN = -1.0
"""Stands for a part that can't be told."""
_STEPS = 1000


class WaitLine(QWidget):
    """Hidden while nothing is going on."""

    stopped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.words = label("", wraps=True)
        self.bar = QProgressBar()
        self.bar.setRange(0, 0)
        self.bar.setFixedWidth(120)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Something is being done")
        self.stop = button("Stop")
        self.stop.clicked.connect(self.stopped)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.bar)
        row.addWidget(self.words, 1)
        row.addWidget(self.stop)
        self.hide()

    def show_words(self, words: str, done: float = NOT_KNOWN, *, can_stop: bool = True) -> None:
        """Say what is going on; an empty text hides the line.

        Args:
            words: What.
            done: The part of it that is done, from 0.0 to 1.0; if that isn't known the bar moves.
            can_stop: True if it can be stopped.
        """
        self.words.setText(words)
        self.bar.setRange(0, 0 if done == NOT_KNOWN else _STEPS)
        self.bar.setValue(round(max(done, 0.0) * _STEPS))
        self.stop.setVisible(can_stop)
        self.setVisible(bool(words))
