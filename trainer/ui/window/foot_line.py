"""The line at the foot of the window: the caution that always stands, and above it what is news."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QVBoxLayout, QWidget

from trainer.ui.look.kit import label, set_role

CAUTION = (
    "A training aid, not an approved device; no loggable time. Limits are placeholders until an"
    " instructor has entered and signed them."
)
NEWS_MS = 15_000
"""How long news stands; a problem stands until it is over or another page is shown."""


class FootLine(QWidget):
    """Never without the caution; a message takes no room while there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.message = label("", "caution", wraps=True)
        self.caution = label(CAUTION, "quiet", wraps=True)
        self._is_fresh = False
        self._over = QTimer(self)
        self._over.setSingleShot(True)
        self._over.setInterval(NEWS_MS)
        self._over.timeout.connect(self.clear)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 0, 8, 0)
        column.setSpacing(2)
        for widget in (self.message, self.caution):
            column.addWidget(widget)
        self.clear()

    def say(self, words: str, role: str = "caution") -> None:
        """Show a problem, or news as `told`; nothing takes away what stands."""
        if not words:
            self.clear()
            return
        self.message.setText(words)
        set_role(self.message, role)
        self.message.show()
        self._is_fresh = True
        QTimer.singleShot(0, self, self._age)
        if role == "told":
            self._over.start()
        else:
            self._over.stop()

    def clear(self) -> None:
        """Show the caution only."""
        self._over.stop()
        self.message.setText("")
        self.message.hide()

    def turn_page(self) -> None:
        """Take away what was said on the page before; what came with the new one stays."""
        if not self._is_fresh:
            self.clear()

    def _age(self) -> None:
        self._is_fresh = False
