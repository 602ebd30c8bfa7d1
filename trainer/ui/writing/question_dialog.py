"""The form for one question: its kind, what it is about, its words, and what is hidden."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from trainer.charts.spec import ChartSpec
from trainer.lesson.spec import HIDEABLE, Predict, PromptKind
from trainer.session.selectors import SELECTORS
from trainer.ui.club.club_kit import EdgedNumber
from trainer.ui.lesson.hidden_words import HIDE_LABELS
from trainer.ui.look.kit import button, label
from trainer.ui.look.picker import Picker
from trainer.ui.look.tick_box import TickBox
from trainer.ui.look.words import CELL_TITLES
from trainer.ui.writing.question_edit import (
    FIELDS,
    GOAL_CELLS,
    SECONDS_WORDS,
    Choice,
    cells_of_goal,
    contents_of,
    faults_of,
    keys_of,
    missing,
    selectors_of,
    with_cells,
)
from trainer.ui.writing.write_words import KIND_LABELS


class QuestionDialog(QDialog):
    """Edits a question of any kind; `accepted_question` carries it when it is whole."""

    accepted_question = Signal(object)
    """A `Predict`."""
    kind_wanted = Signal(str)
    """Another kind was chosen: the owner shows its usual form."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.setWindowTitle("Question")
        self._chart: ChartSpec | None = None
        self.question = Predict("next_change")
        self.kind = Picker("Kind of question")
        for kind, words in KIND_LABELS.items():
            self.kind.addItem(words, kind)
        self.key = Picker("Key")
        self.selector = Picker("Selector")
        self.value = _number(-1000.0, 30_000.0, "Value")
        self.fault = Picker("Malfunction")
        self.seconds = _number(0.1, 1800.0, "Seconds")
        self.seconds.setSuffix(" s")
        self.cells = {cell: Picker(CELL_TITLES[cell]) for cell in GOAL_CELLS}
        self.goal_words = QLineEdit()
        self.goal_words.setAccessibleName("Goal in words")
        self.words = QLineEdit()
        self.words.setAccessibleName("Question in your own words")
        self.words.setPlaceholderText("as the program words it")
        self.hides = {name: TickBox(words) for name, words in HIDE_LABELS.items()}
        for box in self.hides.values():
            box.setAccessibleName(f"Hide {box.text()}")
        self.lacks = label("", "caution", wraps=True)
        self.put = button("Put it in", "main")
        self.cancel = button("Cancel  Esc", name="Cancel")
        self._titles: dict[str, QLabel] = {}
        self._lay_out()
        self._connect()

    def show_question(self, question: Predict, chart: ChartSpec) -> None:
        """Show a question to be edited."""
        self._chart = None  # what follows is no edit
        self.question = question
        self.kind.setCurrentIndex(self.kind.findData(question.kind))
        _fill(self.key, keys_of(chart), question.key)
        _fill(self.fault, faults_of(chart), question.fault)
        name, value = question.values[0] if question.values else ("selected_altitude_ft", 4000.0)
        _fill(self.selector, selectors_of(), name)
        is_plain = len(question.values) <= 1 and name in SELECTORS
        for part in (self.selector, self.value):
            part.setEnabled(is_plain)
        self.value.setValue(float(value) if is_plain else 0.0)
        self.seconds.setValue(question.horizon_s or 60.0)
        reads = cells_of_goal(question, chart)
        for cell, picker in self.cells.items():
            _fill(picker, contents_of(chart, cell), reads.get(cell))
        self.goal_words.setText(question.goal_words)
        self.words.setText(question.question)
        for name, box in self.hides.items():
            box.setChecked(name in question.hide)
        self._chart = chart
        self._show_fields(question.kind)
        self._take()

    def accept(self) -> None:
        """Give the question if nothing lacks."""
        self._take()
        if not missing(self.question):
            self.accepted_question.emit(self.question)
            super().accept()

    def _show_fields(self, kind: PromptKind) -> None:
        for name, title in self._titles.items():
            is_there = name in FIELDS[kind]
            title.setVisible(is_there)
            self._fields[name].setVisible(is_there)
        self._titles["seconds"].setText(SECONDS_WORDS.get(kind, ""))
        is_goal = kind == "what_to_do"
        self._titles["cells"].setText("The goal: the strip reads" if is_goal else "The strip reads")

    def _take(self) -> None:
        """Make the question of what the fields say."""
        chart, made = self._chart, self.question
        if chart is None:
            return
        fields = FIELDS[made.kind]
        if "key" in fields:
            made = replace(made, key=_value(self.key))
        if "seconds" in fields:
            made = replace(made, horizon_s=self.seconds.value())
        if "selector" in fields and self.selector.isEnabled():
            values = ((_value(self.selector), self.value.value()),)
            made = replace(made, values=values)
        if "fault" in fields:
            made = replace(made, fault=_value(self.fault))
        if "goal_words" in fields:
            made = replace(made, goal_words=self.goal_words.text().strip())
        if "cells" in fields:
            cells = {cell: _value(picker) for cell, picker in self.cells.items()}
            made = with_cells(made, cells, chart)
            if made.goal_words and made.goal_words != self.goal_words.text().strip():
                self.goal_words.setText(made.goal_words)
        hide = tuple(name for name in HIDEABLE if self.hides[name].isChecked())
        self.question = replace(made, question=self.words.text().strip(), hide=hide)
        self.lacks.setText(missing(self.question))
        self.lacks.setVisible(bool(self.lacks.text()))
        self.put.setEnabled(not missing(self.question))

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        # As large as the fields of the kind in hand, and never larger.
        column.setSizeConstraint(QVBoxLayout.SizeConstraint.SetFixedSize)
        self.words.setMinimumWidth(360)
        form = QFormLayout()
        form.addRow(_title("Kind"), self.kind)
        self._fields: dict[str, QWidget] = {
            "key": self.key, "selector": self._chosen(), "fault": self.fault,
            "seconds": self.seconds, "cells": self._cell_grid(), "goal_words": self.goal_words,
        }  # fmt: skip
        titles = {"key": "Key", "selector": "What is set", "fault": "Malfunction", "seconds": "",
                  "cells": "", "goal_words": "Goal in words"}  # fmt: skip
        for name, words in titles.items():
            self._titles[name] = _title(words)
            form.addRow(self._titles[name], self._fields[name])
        form.addRow(_title("Own words"), self.words)
        column.addLayout(form)
        column.addWidget(label("Hidden while the question is open", "group"))
        boxes = QGridLayout()
        for place, box in enumerate(self.hides.values()):
            boxes.addWidget(box, place // 3, place % 3)
        column.addLayout(boxes)
        column.addWidget(self.lacks)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.cancel)
        row.addWidget(self.put)
        column.addLayout(row)

    def _chosen(self) -> QWidget:
        """Return the selector with its value beside it."""
        chosen = QWidget()
        chosen.setObjectName("plain")
        pair = QGridLayout(chosen)
        pair.setContentsMargins(0, 0, 0, 0)
        pair.addWidget(self.selector, 0, 0)
        pair.addWidget(self.value, 0, 1)
        return chosen

    def _cell_grid(self) -> QWidget:
        """Return the cells of the strip, each with its picker."""
        box = QWidget()
        box.setObjectName("plain")
        grid = QGridLayout(box)
        grid.setContentsMargins(0, 0, 0, 0)
        for row, (cell, picker) in enumerate(self.cells.items()):
            grid.addWidget(label(CELL_TITLES[cell], "quiet"), row, 0)
            grid.addWidget(picker, row, 1)
        grid.setColumnStretch(1, 1)
        return box

    def _connect(self) -> None:
        self.put.clicked.connect(self.accept)
        self.put.setDefault(True)
        self.cancel.clicked.connect(self.reject)
        self.kind.activated.connect(lambda _place: self.kind_wanted.emit(self.kind.currentData()))
        for picker in (self.key, self.fault, *self.cells.values()):
            picker.activated.connect(lambda _place: self._take())
        self.selector.activated.connect(lambda _place: self._choose_selector())
        for number in (self.value, self.seconds):
            number.valueChanged.connect(lambda _value: self._take())
        for line in (self.goal_words, self.words):
            line.textEdited.connect(lambda _text: self._take())
        for box in self.hides.values():
            box.toggled.connect(lambda _on: self._take())

    def _choose_selector(self) -> None:
        chosen = SELECTORS[_value(self.selector)]
        self.value.setRange(chosen.low, chosen.high)
        self._take()


def _title(words: str) -> QLabel:
    """Return a field's title, standing as high as the field."""
    made = label(words, "quiet")
    made.setMinimumHeight(28)
    return made


def _number(low: float, high: float, name: str) -> EdgedNumber:
    box = EdgedNumber()
    box.setMinimumHeight(28)
    box.setRange(low, high)
    box.setDecimals(1)
    box.setAccessibleName(name)
    return box


def _fill(picker: Picker, choices: list[Choice], value: object) -> None:
    picker.clear()
    picker.addItems([choice.label for choice in choices])
    picker.values = [choice.value for choice in choices]  # Qt would make lists of tuples
    picker.setCurrentIndex(picker.values.index(value) if value in picker.values else 0)


def _value(picker: Picker) -> object:
    return picker.values[picker.currentIndex()]
