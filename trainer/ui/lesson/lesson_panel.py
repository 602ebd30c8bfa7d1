"""What the lesson says, what it asks, and what came of the answer."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QVBoxLayout, QWidget

from trainer.ui.lesson.comparison import ComparedCell, heads_of
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.look.kit import button, label, scroll_area, set_role
from trainer.ui.look.words import unbroken


class LessonPanel(QFrame):
    """Reads from top to bottom: where we are, what is said, what is asked, what came of it."""

    proceeded = Signal()
    other_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("panel")
        self.setAccessibleName("Lesson")
        self._text = LessonText()
        self.title = label("", "heading", wraps=True)
        self.progress = label("", "quiet")
        self.notice = label("", "caution", wraps=True)
        self.narration = label("", wraps=True)
        self.question = label("", "heading", wraps=True)
        self.hint = label("", "quiet", wraps=True)
        self.verdict = label("", "right", wraps=True)
        self.why = label("Why", "group")
        self.reasons = label("", wraps=True)
        self.details = label("", "quiet", wraps=True)
        self.other = button("")
        self.other.clicked.connect(self.other_asked)
        self.next = button("", "main")
        self.next.clicked.connect(self.proceeded)
        self._grid_holder = QWidget()
        self._grid_holder.setObjectName("plain")
        self._lay_out()
        self.show_text(self._text)

    def show_text(self, text: LessonText) -> None:
        """Show a state of the lesson; what is empty takes no room."""
        if text != self._text:
            self._fill_grid(text.cells)
        self._text = text
        for widget, plain in (
            (self.title, text.title),
            (self.progress, text.progress),
            (self.notice, text.notice),
            (self.narration, text.narration),
            (self.question, text.question),
            (self.hint, text.hint),
            (self.verdict, text.verdict),
            (self.reasons, "\n\n".join(text.reasons)),
            (self.details, "\n\n".join(text.details)),
        ):
            words = unbroken(plain)
            widget.setVisible(bool(words))
            if widget.text() != words:
                widget.setText(words)
        set_role(self.verdict, "right" if text.is_right else "wrong")
        for widget in (self.why, self.reasons, self.details):
            widget.setToolTip(text.rules)
        self.why.setText(text.reasons_title)
        self.why.setVisible(bool(text.reasons))
        self.other.setVisible(bool(text.other_step))
        self.other.setText(text.other_step)
        self.other.setAccessibleName(text.other_step)
        self.next.setVisible(bool(text.next_step))
        if text.next_step:
            self.next.setText(f"{text.next_step}  Enter")
            self.next.setAccessibleName(text.next_step)

    def set_tray(self, tray: QWidget) -> None:
        """Put a widget above the buttons: what a question needs beside its words."""
        self.layout().insertWidget(self._tray_place, tray)

    def _lay_out(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(12, 8, 12, 8)
        outer.setSpacing(8)
        outer.addWidget(self.title)
        outer.addWidget(self.progress)
        inner = QWidget()
        inner.setObjectName("plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 4, 0)
        column.setSpacing(8)
        for widget in (
            self.notice,
            self.narration,
            self.question,
            self.hint,
            self.verdict,
            self._grid_holder,
            self.why,
            self.reasons,
            self.details,
        ):
            column.addWidget(widget)
        column.addStretch(1)
        outer.addWidget(scroll_area(inner, by_keys=False), 1)
        self._tray_place = outer.count()
        outer.addWidget(self.other)
        outer.addWidget(self.next)

    def _fill_grid(self, cells: tuple[ComparedCell, ...]) -> None:
        old = self._grid_holder.layout()
        if old is not None:
            QWidget().setLayout(old)  # the old layout dies with its throw-away owner
            for child in self._grid_holder.findChildren(QWidget):
                child.deleteLater()
                child.hide()
        grid = QGridLayout(self._grid_holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        self._grid_holder.setVisible(bool(cells))
        if not cells:
            return
        for column, head in enumerate(heads_of(cells)):
            grid.addWidget(label(head, "group"), 0, column + 1)
        for row, cell in enumerate(cells, 1):
            mark = label("✓" if cell.is_right else "✗", "right" if cell.is_right else "wrong")
            mark.setAccessibleName(f"{cell.title}: {'right' if cell.is_right else 'not so'}")
            said = label(cell.said, "" if cell.is_right else "wrong", wraps=True)
            title, read = label(cell.title, "quiet", wraps=True), label(cell.read, wraps=True)
            for column, widget in enumerate((mark, title, said, read)):
                widget.setAlignment(Qt.AlignmentFlag.AlignTop)
                grid.addWidget(widget, row, column)
        for column in (1, 2, 3):
            grid.setColumnStretch(column, 1)
