"""Write: a recorded flight on a timeline, the lesson's text, and what is wrong with it."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFontDatabase, QKeySequence, QShortcut, QTextCursor, QTextFormat
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QTextEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.charts.spec import ChartSpec
from trainer.lesson.recording import kinds_for
from trainer.ui.kit import button, label, panel, set_role, show_whole_rows
from trainer.ui.picker import Picker
from trainer.ui.theme import LIGHT, Theme
from trainer.ui.write_words import EMPTY_WORDS, KIND_LABELS, NO_QUESTION, entry_line
from trainer.ui.writing import MOVE_S, Problem, Writing

_TYPING_MS = 300
_PROBLEMS_PX = 96


class WritePage(QWidget):
    """Shows a `Writing`; what needs files or flights is asked of the owner."""

    closed = Signal()
    record_asked = Signal()
    open_asked = Signal()
    import_asked = Signal()
    export_asked = Signal()
    check_asked = Signal()
    preview_asked = Signal()
    save_asked = Signal()
    changed = Signal()
    """There is something new to be kept as a draft."""

    def __init__(self, writing: Writing, charts: dict[str, ChartSpec]) -> None:
        super().__init__()
        self.setObjectName("page")
        self.writing = writing
        self._charts = charts
        self._theme: Theme = LIGHT
        self.list = QListWidget()
        self.list.setAccessibleName("Recorded flight")
        self.list.setObjectName("compact")
        show_whole_rows(self.list)
        self.empty = label(EMPTY_WORDS, "quiet", wraps=True)
        self.kind = Picker("Question here")
        self.narration = QLineEdit()
        self.narration.setAccessibleName("Narration to add here")
        self.narration.setPlaceholderText("Narration to add here")
        self.text = QPlainTextEdit()
        self.text.setAccessibleName("Text of the lesson")
        self.text.setTabChangesFocus(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.place = label("", "quiet")
        self.verdict = label("", wraps=True)
        self.problems = QListWidget()
        self.problems.setAccessibleName("Problems")
        self.problems.setObjectName("compact")
        self.problems.setFixedHeight(_PROBLEMS_PX)
        show_whole_rows(self.problems)
        self._typing = QTimer(self)
        self._typing.setSingleShot(True)
        self._typing.setInterval(_TYPING_MS)
        self._make_buttons()
        self._lay_out()
        self._connect()
        self.show_writing()

    def show_writing(self) -> None:
        """Show the lesson in hand from its state."""
        self._typing.stop()
        if self.text.toPlainText() != self.writing.text:
            self.text.blockSignals(True)
            self.text.setPlainText(self.writing.text)
            self.text.blockSignals(False)
        self._show_entries(max(0, self.list.currentRow()))
        self.show_problems(self.writing.problems)

    def show_problems(self, problems: tuple[Problem, ...], flown: bool = False) -> None:
        """Show what is wrong; `flown`: the lesson has been flown to find out."""
        self._shown = problems
        self.problems.clear()
        self.problems.addItems([problem.words for problem in problems])
        self.problems.setVisible(bool(problems))
        self._mark_lines(problems)
        count = len(problems)
        if count:
            words = f"{count} problem{'s' if count > 1 else ''}: Enter on one goes to its line"
        else:
            words = "Flown: nothing to mend" if flown else "Reads well; check it by flying it"
        self.verdict.setText(words)
        set_role(self.verdict, "wrong" if count else "right")
        is_lesson = self.writing.lesson is not None
        for widget in (self.check, self.preview, self.save):
            widget.setEnabled(is_lesson)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        self._mark_lines(self.writing.problems)

    def take_text(self) -> None:
        """Take what was typed at once, without waiting for a pause."""
        self._typing.stop()
        if self.text.toPlainText() != self.writing.text:
            self.writing.set_text(self.text.toPlainText())
            self.show_problems(self.writing.problems)
            self.changed.emit()

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

    def _make_buttons(self) -> None:
        move = f"{MOVE_S:g} s"
        self.record = button("Record a flight", hint="Fly freely, then press Ctrl+L")
        self.open = button("Open…", name="Open a lesson of your own")
        self.import_pack = button("Import pack…", name="Import a lesson pack")
        self.export_pack = button("Export pack…", name="Export your lessons as a pack")
        self.back = button("Back  Esc", name="Back")
        self.earlier = button(f"{move} earlier", name=f"Move {move} earlier")
        self.later = button(f"{move} later", name=f"Move {move} later")
        self.remove = button("Remove", name="Remove from the flight")
        self.end = button("End here", name="End the flight here")
        self.say = button("Say", name="Add the narration")
        self.check = button("Check by flying  F6", name="Check by flying")
        self.preview = button("Preview  F5", name="Preview")
        self.save = button("Save  Ctrl+S", "main", name="Save")
        self._flight_tools = (
            self.earlier, self.later, self.remove, self.end, self.say, self.kind, self.narration,
        )  # fmt: skip

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Write a lesson", "title"))
        head.addStretch(1)
        for widget in (self.record, self.open, self.import_pack, self.export_pack, self.back):
            head.addWidget(widget)
        layout.addLayout(head)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self._flight_panel(), 2)
        row.addWidget(self._text_panel(), 3)
        layout.addLayout(row, 1)

    def _flight_panel(self) -> QWidget:
        frame, column = panel("Recorded flight")
        column.addWidget(label("Recorded flight", "heading"))
        column.addWidget(self.empty)
        column.addWidget(self.list, 1)
        column.addWidget(label("Question here", "group"))
        column.addWidget(self.kind)
        grid = QGridLayout()
        for place, widget in enumerate((self.earlier, self.later, self.remove, self.end)):
            grid.addWidget(widget, place // 2, place % 2)
        column.addLayout(grid)
        row = QHBoxLayout()
        row.addWidget(self.narration, 1)
        row.addWidget(self.say)
        column.addLayout(row)
        column.addStretch(0)
        return frame

    def _text_panel(self) -> QWidget:
        frame, column = panel("Text of the lesson")
        head = QHBoxLayout()
        head.addWidget(label("Text of the lesson", "heading"))
        head.addStretch(1)
        head.addWidget(self.place)
        column.addLayout(head)
        column.addWidget(self.text, 1)
        column.addWidget(self.verdict)
        column.addWidget(self.problems)
        foot = QHBoxLayout()
        foot.addStretch(1)
        for widget in (self.check, self.preview, self.save):
            foot.addWidget(widget)
        column.addLayout(foot)
        return frame

    def _connect(self) -> None:
        for keys, widget in (("Ctrl+S", self.save), ("F5", self.preview), ("F6", self.check)):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.activated.connect(widget.click)
        self._typing.timeout.connect(self.take_text)
        self.text.textChanged.connect(self._typing.start)
        self.text.cursorPositionChanged.connect(self._show_place)
        self.list.currentRowChanged.connect(self._show_kinds)
        self.kind.activated.connect(self._ask)
        self.problems.itemActivated.connect(lambda _item: self.go_to_problem())
        self.problems.itemClicked.connect(lambda _item: self.go_to_problem())
        self.narration.returnPressed.connect(self._say)
        for widget, act in (
            (self.earlier, lambda row: self.writing.move(row, -MOVE_S)),
            (self.later, lambda row: self.writing.move(row, MOVE_S)),
            (self.remove, self.writing.remove),
            (self.end, self.writing.end_at),
        ):
            widget.clicked.connect(lambda _on=False, what=act: self._edit(what))
        self.say.clicked.connect(self._say)
        for widget, signal in (
            (self.record, self.record_asked), (self.open, self.open_asked),
            (self.import_pack, self.import_asked), (self.export_pack, self.export_asked),
            (self.back, self.closed), (self.check, self.check_asked),
            (self.preview, self.preview_asked), (self.save, self.save_asked),
        ):  # fmt: skip
            widget.clicked.connect(lambda _on=False, said=signal: self._tell(said))

    def _tell(self, signal: object) -> None:
        self.take_text()
        signal.emit()

    def _edit(self, act: object) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.writing.entries):
            self.take_text()
            place = act(row)
            self.list.setCurrentRow(row if place is None else place)
            self._refresh(row if place is None else place)

    def _say(self) -> None:
        row = self.list.currentRow()
        if row >= 0 and self.narration.text().strip():
            self.take_text()
            self.writing.say(self.writing.entries[row].t_s, self.narration.text())
            self.narration.clear()
            self._refresh(row + 1)

    def _ask(self, place: int) -> None:
        self._edit(lambda row: self.writing.ask(row, self.kind.itemData(place)))

    def _refresh(self, row: int) -> None:
        self.show_writing()
        self.list.setCurrentRow(min(row, self.list.count() - 1))
        self.changed.emit()

    def _show_entries(self, row: int) -> None:
        entries = self.writing.entries
        self.list.clear()
        if self.writing.timeline is not None:
            chart = self._charts[self.writing.timeline.installation]
            self.list.addItems([entry_line(entry, chart) for entry in entries])
        self.empty.setVisible(not entries)
        self.list.setVisible(bool(entries))
        for widget in self._flight_tools:
            widget.setEnabled(bool(entries))
        if entries:
            self.list.setCurrentRow(min(row, len(entries) - 1))
        self._show_kinds(self.list.currentRow())

    def _show_kinds(self, row: int) -> None:
        self.kind.clear()
        self.kind.addItem(NO_QUESTION, None)
        if not 0 <= row < len(self.writing.entries):
            return
        entry = self.writing.entries[row]
        for kind in kinds_for(entry):
            self.kind.addItem(KIND_LABELS[kind], kind)
        if entry.asks:
            self.kind.setCurrentIndex(max(0, self.kind.findData(entry.kind)))

    def _show_place(self) -> None:
        cursor = self.text.textCursor()
        self.place.setText(f"Line {cursor.blockNumber() + 1}, column {cursor.columnNumber() + 1}")

    def _mark_lines(self, problems: tuple[Problem, ...]) -> None:
        marks = []
        for problem in problems:
            block = self.text.document().findBlockByNumber(problem.line - 1)
            if block.isValid():
                mark = QTextEdit.ExtraSelection()
                mark.format.setBackground(QColor(self._theme.pressed))
                mark.format.setProperty(QTextFormat.Property.FullWidthSelection, True)
                mark.cursor = QTextCursor(block)
                marks.append(mark)
        self.text.setExtraSelections(marks)
