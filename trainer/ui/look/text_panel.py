"""The right half of 'Write': the lesson's text, and what is wrong with it, line by line."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFontDatabase, QTextCursor, QTextFormat
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QPlainTextEdit,
    QTextEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.look.kit import button, label, set_role, show_whole_rows
from trainer.ui.look.theme import LIGHT, Theme
from trainer.ui.writing.writing import Problem

TYPING_MS = 300
_PROBLEMS_PX = 92


class TextPanel(QFrame):
    """Edits the text; `paused` says that typing rests and the text is to be read."""

    paused = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("panel")
        self.setAccessibleName("Text of the lesson")
        self._theme: Theme = LIGHT
        self._shown: tuple[Problem, ...] = ()
        self.text = QPlainTextEdit()
        self.text.setAccessibleName("Text of the lesson")
        self.text.setTabChangesFocus(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.place = label("", "quiet")
        self.verdict = label("", wraps=True)
        self.covers = label("", "quiet", wraps=True)
        self.covers.hide()
        self.problems = QListWidget()
        self.problems.setAccessibleName("Problems")
        self.problems.setObjectName("compact")
        self.problems.setFixedHeight(_PROBLEMS_PX)
        show_whole_rows(self.problems)
        self.check = button("Check by flying  F6", name="Check by flying")
        self.preview = button("Preview  F5", name="Preview")
        self.save = button("Save  Ctrl+S", "main", name="Save")
        self.typing = QTimer(self)
        self.typing.setSingleShot(True)
        self.typing.setInterval(TYPING_MS)
        self._lay_out()
        self._connect()

    @property
    def words(self) -> str:
        """The text as it stands."""
        return self.text.toPlainText()

    def show_text(self, text: str) -> None:
        """Show another text; Ctrl+Z in it goes back to the one before."""
        self.typing.stop()
        if self.words == text:
            return
        line = self.text.textCursor().blockNumber()
        self.text.blockSignals(True)
        cursor = QTextCursor(self.text.document())
        cursor.beginEditBlock()
        cursor.select(QTextCursor.SelectionType.Document)
        cursor.insertText(text)
        cursor.endEditBlock()
        block = self.text.document().findBlockByNumber(line)
        self.text.setTextCursor(QTextCursor(block if block.isValid() else cursor.block()))
        self.text.blockSignals(False)
        self._show_place()

    def show_problems(self, problems: tuple[Problem, ...], *, flown: bool = False) -> None:
        """Show what is wrong; `flown`: the lesson has been flown to find out."""
        self._shown = problems
        self.problems.clear()
        self.problems.addItems([problem.words for problem in problems])
        self.problems.setVisible(bool(problems))
        self._mark_lines()
        count = len(problems)
        if count:
            words = f"{count} problem{'s' if count > 1 else ''}: Enter on one goes to its line"
        else:
            words = "Flown: nothing to mend" if flown else "Reads well; check it by flying it"
        self.verdict.setText(words)
        set_role(self.verdict, "wrong" if count else "right")

    def show_covered(self, words: str, tip: str = "") -> None:
        """Say which wrong rules the lesson catches; nothing: not known yet."""
        self.covers.setText(words)
        self.covers.setToolTip(tip)
        self.covers.setVisible(bool(words))

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        self._mark_lines()

    def go_to_line(self, line: int) -> None:
        """Put the cursor at a line of the text."""
        block = self.text.document().findBlockByNumber(line - 1)
        if block.isValid():
            self.text.setTextCursor(QTextCursor(block))
            self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def go_to_problem(self) -> None:
        """Put the cursor at the line of the problem in hand."""
        row = self.problems.currentRow()
        if 0 <= row < len(self._shown):
            self.go_to_line(self._shown[row].line)

    def show_line(self, line: int) -> None:
        """Bring a line into view without taking the focus."""
        block = self.text.document().findBlockByNumber(line - 1)
        if block.isValid() and not self.text.hasFocus():
            self.text.setTextCursor(QTextCursor(block))
            self.text.ensureCursorVisible()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(label("Text of the lesson", "heading"))
        head.addStretch(1)
        head.addWidget(self.place)
        column.addLayout(head)
        column.addWidget(self.text, 1)
        column.addWidget(self.verdict)
        column.addWidget(self.problems)
        column.addWidget(self.covers)
        foot = QHBoxLayout()
        foot.addStretch(1)
        for widget in (self.check, self.preview, self.save):
            foot.addWidget(widget)
        column.addLayout(foot)

    def _connect(self) -> None:
        self.typing.timeout.connect(self.paused)
        self.text.textChanged.connect(self.typing.start)
        self.text.cursorPositionChanged.connect(self._show_place)
        self.problems.itemActivated.connect(lambda _item: self.go_to_problem())
        self.problems.itemClicked.connect(lambda _item: self.go_to_problem())

    def _show_place(self) -> None:
        cursor = self.text.textCursor()
        self.place.setText(f"Line {cursor.blockNumber() + 1}, column {cursor.columnNumber() + 1}")

    def _mark_lines(self) -> None:
        marks = []
        for problem in self._shown:
            block = self.text.document().findBlockByNumber(problem.line - 1)
            if block.isValid():
                mark = QTextEdit.ExtraSelection()
                mark.format.setBackground(QColor(self._theme.pressed))
                mark.format.setProperty(QTextFormat.Property.FullWidthSelection, True)
                mark.cursor = QTextCursor(block)
                marks.append(mark)
        self.text.setExtraSelections(marks)
