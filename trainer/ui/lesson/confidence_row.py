"""How sure one is: three words, each with its key."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QRadioButton, QVBoxLayout, QWidget

from trainer.assessment.answers.prediction import CONFIDENCES, Confidence
from trainer.ui.look.kit import label

CONFIDENCE_LABELS: dict[Confidence, str] = {
    "sure": "Sure",
    "think_so": "Think so",
    "guess": "Guess",
}


class ConfidenceRow(QWidget):
    """Asks; its owner decides what becomes of it. Keys act while it can be seen."""

    said = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.buttons: dict[Confidence, QRadioButton] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(label("How sure are you?", "group"))
        row = QHBoxLayout()
        self._group = QButtonGroup(self)
        for number, confidence in enumerate(CONFIDENCES, 1):
            row.addLayout(self._choice(number, confidence))
        column.addLayout(row)

    def show_said(self, confidence: Confidence | None) -> None:
        """Show what is said."""
        self._group.setExclusive(False)
        for name, radio in self.buttons.items():
            radio.setChecked(name == confidence)
        self._group.setExclusive(True)

    def take_focus(self) -> None:
        """Put the keyboard on the first word."""
        next(iter(self.buttons.values())).setFocus(Qt.FocusReason.TabFocusReason)

    def _choice(self, number: int, confidence: Confidence) -> QVBoxLayout:
        text = CONFIDENCE_LABELS[confidence]
        radio = QRadioButton(text)
        radio.setToolTip(f"{text}: key Ctrl+{number}")
        radio.setAccessibleName(text)
        radio.setAccessibleDescription(f"key Ctrl+{number}")
        radio.setObjectName(f"confidence_{confidence}")
        radio.clicked.connect(lambda _on=False, name=confidence: self.said.emit(name))
        self._group.addButton(radio)
        self.buttons[confidence] = radio
        shortcut = QShortcut(QKeySequence(f"Ctrl+{number}"), self)
        shortcut.setContext(Qt.ShortcutContext.WindowShortcut)
        shortcut.activated.connect(radio.click)
        side = QVBoxLayout()
        side.setSpacing(0)
        side.addWidget(radio)
        side.addWidget(label(f"Ctrl+{number}", "quiet"))
        return side
