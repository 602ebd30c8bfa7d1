"""Asks for a choice or a number, and how sure one is."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QListWidget, QVBoxLayout, QWidget

from trainer.lesson.question import Prompt
from trainer.session.annunciation import Annunciation
from trainer.ui.lesson.confidence_row import ConfidenceRow
from trainer.ui.look.kit import button, label, set_role
from trainer.ui.writing.form_draft import LEAST, MOST, FormDraft, option_place

_MOST_ROWS = 9


class OptionList(QListWidget):
    """The options; a digit picks one, a letter goes to the next word that begins with it."""

    typed = Signal(str)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take digits and letters; leave the rest to the list."""
        text = event.text()
        if text.isalnum() and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.typed.emit(text)
        else:
            super().keyPressEvent(event)


class FormTray(QWidget):
    """`submitted` carries the prediction once answer and confidence are said."""

    submitted = Signal(object)
    """A `Prediction`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.draft = FormDraft(Annunciation())
        self.options = OptionList()
        self.options.setAccessibleName("Choices")
        self.options.setObjectName("compact")
        self.options.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.options.setWordWrap(True)
        self.number = QLineEdit()
        self.number.setMaxLength(12)
        self.unit = label("")
        self.progress = label("", "quiet", wraps=True)
        self.confidence = ConfidenceRow()
        self.submit = button("Answer  Enter", "main", name="Answer")
        self._lay_out()
        self._connect()

    def ask(self, prompt: Prompt) -> None:
        """Begin an empty answer."""
        self.draft = FormDraft(prompt.before, prompt.options, prompt.unit)
        self.options.blockSignals(True)
        self.options.clear()
        for number, option in enumerate(prompt.options, 1):
            key = f"{number}  " if number < 10 else "    "
            self.options.addItem(f"{key}{option.label}")
        self.options.setCurrentRow(-1)
        self.options.blockSignals(False)
        self._fit_list()
        self.number.setText("")
        self.number.setAccessibleName(f"Your answer in {prompt.unit}")
        self.number.setAccessibleDescription(f"{LEAST:.0f} to {MOST:.0f} {prompt.unit}")
        self.unit.setText(prompt.unit)
        self.options.setVisible(bool(prompt.options))
        for part in (self.number, self.unit):
            part.setVisible(not prompt.options)
        self._refresh()

    def take_focus(self) -> None:
        """Put the keyboard where the answer is said."""
        field = self.options if self.draft.options else self.number
        field.setFocus(Qt.FocusReason.OtherFocusReason)

    def finish(self) -> None:
        """Give the answer if all is said; else lead to what is missing."""
        if self.draft.is_complete:
            self._submit()
        elif not self.draft.is_said:
            self.take_focus()
        else:
            self.confidence.take_focus()

    def _fit_list(self) -> None:
        rows = min(len(self.draft.options), _MOST_ROWS)
        height_px = max(self.options.sizeHintForRow(0), 20) * rows
        self.options.setFixedHeight(height_px + 2 * self.options.frameWidth() + 2)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(label("Your answer", "group"))
        column.addWidget(self.options)
        row = QHBoxLayout()
        row.addWidget(self.number, 1)
        row.addWidget(self.unit)
        column.addLayout(row)
        column.addWidget(self.progress)
        column.addWidget(self.confidence)
        column.addWidget(self.submit)

    def _connect(self) -> None:
        self.options.currentRowChanged.connect(self._choose)
        self.options.typed.connect(self._type)
        self.number.textChanged.connect(lambda text: self._set(self.draft.with_typed(text)))
        self.number.returnPressed.connect(self.finish)
        self.confidence.said.connect(lambda name: self._set(self.draft.with_confidence(name)))
        self.submit.clicked.connect(self._submit)
        shortcut = QShortcut(QKeySequence("Ctrl+Return"), self)
        shortcut.activated.connect(self._submit)

    def _choose(self, row: int) -> None:
        if 0 <= row < len(self.draft.options):
            self._set(self.draft.with_choice(self.draft.options[row].id))

    def _type(self, text: str) -> None:
        options = self.draft.options
        place: int | None = None
        if text in "123456789":
            place = int(text) - 1
        elif options:
            place = option_place(options, text, self.options.currentRow())
        if place is not None and place < len(options):
            self.options.setCurrentRow(place)

    def _set(self, draft: FormDraft) -> None:
        self.draft = draft
        self._refresh()

    def _submit(self) -> None:
        if self.draft.is_complete and self.isVisible():
            self.submitted.emit(self.draft.prediction())

    def _refresh(self) -> None:
        self.progress.setText(self.draft.progress)
        set_role(self.progress, "caution" if self.draft.is_refused else "quiet")
        self.confidence.show_said(self.draft.confidence)
        self.submit.setEnabled(self.draft.is_complete)
