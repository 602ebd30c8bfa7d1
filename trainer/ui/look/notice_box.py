"""Where the trainee says that the strip doesn't read what was asked, with the running record."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QVBoxLayout, QWidget

from trainer.ui.look.kit import button, label
from trainer.ui.practice.verify_drill import TIME_TO_NOTICE_S

NOTICE_KEY = "Ctrl+B"
HOW_IT_GOES = (
    "A key may be dead, a selector stick or go a step too far. Say so within"
    f" {TIME_TO_NOTICE_S:.0f} seconds; a dead key may just be pressed again."
)


class NoticeBox(QWidget):
    """Says what is noticed; shown only while something may not be as asked."""

    noticed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.notice = button(f"Not what I asked  {NOTICE_KEY}", name="Not what I asked")
        self.record = label("", "quiet", wraps=True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(label(HOW_IT_GOES, "quiet", wraps=True))
        column.addWidget(self.notice)
        column.addWidget(self.record)
        self.notice.clicked.connect(self.noticed)
        QShortcut(QKeySequence(NOTICE_KEY), self).activated.connect(self.notice.click)

    def show_record(self, words: str) -> None:
        """Show the record of the verify drill; empty: the drill is off."""
        if self.record.text() != words:
            self.record.setText(words)
            self.record.setAccessibleName(f"Verify drill: {words}")
        if self.isHidden() == bool(words):
            self.setVisible(bool(words))
