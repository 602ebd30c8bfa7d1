"""My attempts: every answer stored, newest first, with the strips behind each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QStackedWidget,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.records.attempt import Attempt
from trainer.session.annunciation import Annunciation
from trainer.session.strip_content import Verdict
from trainer.session.strip_design import StripColours, StripDesign
from trainer.ui.debrief.attempts_table import (
    EMPTY_WORDS,
    HEADS,
    attempt_line,
    reasons,
    said_line,
    summary,
    where_line,
)
from trainer.ui.look.kit import button, label
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

WordsOf = Callable[[str], StripWords]
"""Installation id -> words."""
ReasonsOf = Callable[[Attempt], tuple[str, ...]]
"""An answer -> the sentences of the rules behind it."""


class AttemptsView(QWidget):
    """A table above; the three strips of the answer in hand and its reasons below."""

    closed = Signal()
    exchange_asked = Signal()
    """Cards, assignments and results between the member and the club."""

    def __init__(self, words: StripWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._attempts: list[Attempt] = []
        self._words_of: WordsOf = lambda _installation: words
        self._reasons_of: ReasonsOf = lambda attempt: reasons(attempt, None)
        self.summary = label("", "quiet")
        self.table = QTableWidget(0, len(HEADS))
        self.empty = label(EMPTY_WORDS, wraps=True)
        self.question = label("", "heading", wraps=True)
        self.where = label("", "quiet", wraps=True)
        self.said = label("", wraps=True)
        self.reasons = label("", wraps=True)
        self.strips = {name: StripWidget(words) for name in ("before", "predicted", "actual")}
        self._set_up_table()
        self._lay_out()

    def show_attempts(
        self,
        attempts: list[Attempt],
        words_of: WordsOf | None = None,
        reasons_of: ReasonsOf | None = None,
    ) -> None:
        """Show stored attempts, newest first."""
        self._attempts = attempts
        self._words_of = words_of or self._words_of
        self._reasons_of = reasons_of or self._reasons_of
        self.summary.setText(summary(attempts))
        self.table.setRowCount(len(attempts))
        for row, attempt in enumerate(attempts):
            for column, text in enumerate(attempt_line(attempt)):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        self._stack.setCurrentIndex(1 if attempts else 0)
        if attempts:
            self.table.selectRow(0)
            self._show(0)

    def take_focus(self) -> None:
        """Put the keyboard on the answers, so that the arrow keys go through them."""
        (self.table if self._attempts else self.exchange).setFocus()

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another strip design."""
        for strip in self.strips.values():
            strip.set_design(design, colours)

    def _set_up_table(self) -> None:
        table = self.table
        table.setHorizontalHeaderLabels(list(HEADS))
        table.setAccessibleName("Answers")
        table.verticalHeader().hide()
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setWordWrap(False)
        header = table.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        for column, width in enumerate((140, 260, 200, 90, 112, 220)):
            table.setColumnWidth(column, width)
        table.currentCellChanged.connect(lambda row, *_: self._show(row))

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("My attempts", "title"))
        head.addSpacing(12)
        head.addWidget(self.summary, 1)
        self.exchange = button("Exchange with the club", hint="Card, assignment, result")
        self.exchange.clicked.connect(self.exchange_asked)
        head.addWidget(self.exchange)
        back = button("Back  Esc", name="Back")
        back.clicked.connect(self.closed)
        head.addWidget(back)
        layout.addLayout(head)
        self._stack = QStackedWidget()
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._stack.addWidget(self.empty)
        self._stack.addWidget(self._full())
        layout.addWidget(self._stack, 1)

    def _full(self) -> QWidget:
        """Return the table with the strips of the answer in hand below it."""
        full = QWidget()
        full.setObjectName("plain")
        column = QVBoxLayout(full)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.table, 1)
        column.addWidget(self.question)
        column.addWidget(self.where)
        column.addWidget(self.said)
        row = QHBoxLayout()
        row.setSpacing(12)
        for name, title in (
            ("before", "Read before"),
            ("predicted", "You said"),
            ("actual", "It read"),
        ):
            side = QVBoxLayout()
            side.setSpacing(2)
            head = label(title, "group")
            side.addWidget(head)
            side.addWidget(self.strips[name])
            side.addStretch(1)
            row.addLayout(side, 1)
            if name == "predicted":
                self._predicted_parts = (head, self.strips[name])
        column.addLayout(row)
        column.addWidget(label("Why", "group"))
        column.addWidget(self.reasons)
        return full

    def _show(self, row: int) -> None:
        if not 0 <= row < len(self._attempts):
            return
        attempt = self._attempts[row]
        self.question.setText(attempt.question)
        self.where.setText(where_line(attempt))
        self.reasons.setText("\n".join(self._reasons_of(attempt)))
        words_said = said_line(attempt)
        self.said.setText(words_said)
        self.said.setVisible(bool(words_said))
        for part in self._predicted_parts:
            part.setVisible(not words_said)
        words = self._words_of(attempt.installation_id)
        verdicts: dict[str, Verdict] = dict.fromkeys(attempt.wrong_cells, "wrong")
        for name, strip in self.strips.items():
            data: dict[str, Any] = getattr(attempt, name)
            strip.set_words(words)
            marked = verdicts if name == "predicted" else {}
            strip.show_annunciation(Annunciation.from_json(data), verdicts=marked)
