"""Says in plain words that the program met a mistake of its own, and what can be done now."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.look.kit import button, label

_WIDTH_PX = 620
_REPORT_HEIGHT_PX = 260


class TroubleDialog(QDialog):
    """One for all mistakes until it is closed; further ones are counted in it.

    Attributes:
        on_go_on: Called when the user goes on.
        on_again: Called when the user wants to begin again where they were.
    """

    def __init__(self, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Something went wrong")
        self.setObjectName("page")
        self.setAccessibleName("Something went wrong")
        self.setMinimumWidth(_WIDTH_PX)
        self.on_go_on: Callable[[], None] = lambda: None
        self.on_again: Callable[[], None] = lambda: None
        self.heading = label("The program met a mistake of its own.", "heading", wraps=True)
        self.what = label("", "wrong", wraps=True)
        self.answers = label("", wraps=True)
        self.report = label("", wraps=True)
        self.more = label("", "caution", wraps=True)
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setAccessibleName("The report")
        self.text.setTabChangesFocus(True)
        self.text.setMinimumHeight(_REPORT_HEIGHT_PX)
        self.go_on = button("Go on", "main")
        self.again = button("Begin again from here")
        self.show_text = button("Show the report")
        self.copy = button("Copy the report")
        self._lay_out()
        self.go_on.clicked.connect(self.accept)
        self.again.clicked.connect(self._begin_again)
        self.show_text.clicked.connect(self._toggle_text)
        self.copy.clicked.connect(lambda: QApplication.clipboard().setText(self.text.toPlainText()))
        self.finished.connect(lambda _how: self.on_go_on())

    def tell(self, what: str, answers: str, report: str, path: Path | None) -> None:
        """Show a mistake.

        Args:
            what: The mistake in one line.
            answers: What became of the answers.
            report: The report's text.
            path: Where the report is; None: it could not be written.
        """
        self.what.setText(what)
        self.answers.setText(answers)
        self.report.setText(
            f"A report is saved: {path}\nNo names and no answers are in it, and nothing is sent."
            " You may send the file to whoever gave you the program."
            if path is not None
            else "The report could not be written to the disk; it can be copied from here. No"
            " names and no answers are in it."
        )
        self.text.setPlainText(report)
        self.again.setVisible(False)
        self.count(0)

    def offer_again(self, words: str) -> None:
        """Offer to begin again where the user was, in words for the button."""
        self.again.setText(words)
        self.again.setAccessibleName(words)
        self.again.setVisible(bool(words))

    def count(self, further: int) -> None:
        """Show how many further mistakes came meanwhile."""
        words = "another mistake" if further == 1 else f"{further} further mistakes"
        self.more.setText(f"Meanwhile the program met {words}." if further else "")
        self.more.setVisible(bool(further))

    def _begin_again(self) -> None:
        again, self.on_go_on = self.on_again, lambda: None
        self.accept()
        again()

    def _toggle_text(self) -> None:
        self.text.setVisible(not self.text.isVisible())
        words = "Hide the report" if self.text.isVisible() else "Show the report"
        self.show_text.setText(words)
        self.show_text.setAccessibleName(words)
        self.layout().activate()
        self.resize(self.width(), self.layout().totalHeightForWidth(self.width()))

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 16, 16, 12)
        column.setSpacing(8)
        for widget in (self.heading, self.what, self.answers, self.report, self.more):
            column.addWidget(widget)
        column.addWidget(self.text, 1)
        self.text.hide()
        row = QHBoxLayout()
        for widget in (self.show_text, self.copy):
            row.addWidget(widget)
        row.addStretch(1)
        for widget in (self.again, self.go_on):
            row.addWidget(widget)
        column.addLayout(row)
        self.go_on.setFocus()
