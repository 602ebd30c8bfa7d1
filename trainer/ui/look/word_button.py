"""A control as a plain word, with its keyboard key beside it."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from trainer.ui.look.kit import label


class WordButton(QPushButton):
    """The word on the left, the key on the right."""

    def __init__(self, word: str, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "word")
        self.setAutoDefault(False)
        self.setAccessibleName(word)
        self.setAccessibleDescription(f"key {key}" if key else "")
        self.setToolTip(f"{word}: key {key}" if key else word)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 2, 4, 2)
        row.setSpacing(4)
        self._word: QLabel = label(word)
        self._key: QLabel = label(key, "quiet")
        for part in (self._word, self._key):
            part.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        row.addWidget(self._word, 1)
        row.addWidget(self._key, 0, Qt.AlignmentFlag.AlignRight)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_word(self, word: str) -> None:
        """Show another word; a long one is cut with dots and whole in the tool tip."""
        if self.accessibleName() == word:
            return
        self.setAccessibleName(word)
        self.setToolTip(word)
        self._word.setText(word)

    def sizeHint(self) -> QSize:
        """Return the size wanted."""
        inner = self.layout().sizeHint()
        return QSize(inner.width(), max(27, inner.height()))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return self.sizeHint()
