"""The left half of 'Write': the moments of the lesson's flight, and what can be done at each."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.lesson.questioning import kinds_for
from trainer.lesson.spec import Predict, Say
from trainer.lesson.story import Moment
from trainer.ui.look.kit import button, label, show_whole_rows
from trainer.ui.look.picker import Picker
from trainer.ui.writing.write_words import EMPTY_WORDS, KIND_LABELS, NO_QUESTION, moment_line
from trainer.ui.writing.writing import MOVE_S, Writing


class FlightPanel(QFrame):
    """Shows the moments; says what is wanted and decides nothing."""

    chosen = Signal(int)
    """Place of the moment in hand; -1: none."""
    asked = Signal(object)
    """A kind of question, or None for none."""
    details_asked = Signal()
    said = Signal(str)
    """Narration for the moment in hand."""
    moved = Signal(float)
    removed = Signal()
    asked_throughout = Signal()
    begun_here = Signal()
    ended_here = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("panel")
        self.setAccessibleName("Flight of the lesson")
        self.list = QListWidget()
        self.list.setAccessibleName("Moments of the flight")
        self.list.setObjectName("compact")
        show_whole_rows(self.list)
        self.empty = label(EMPTY_WORDS, "quiet", wraps=True)
        self.kind = Picker("Question here")
        self.details = button("Details…  F7", name="Details of the question")
        self.narration = QLineEdit()
        self.narration.setAccessibleName("Narration here")
        self.narration.setPlaceholderText("Narration to add here")
        self.say = button("Say", name="Put the narration in")
        move = f"{MOVE_S:g} s"
        self.earlier = button(f"{move} earlier", name=f"Move {move} earlier")
        self.later = button(f"{move} later", name=f"Move {move} later")
        self.remove = button("Remove  Del", name="Remove from the flight")
        self.begin = button("Begin here", name="Let the lesson begin here")
        self.end = button("End here", name="End the lesson here")
        self.ask_all = button(
            "Ask throughout",
            hint="Put a question to every change and key that matters, up to eight",
        )
        self._moments: tuple[Moment, ...] = ()
        self._writing: Writing | None = None
        self._tools = (
            self.kind, self.details, self.narration, self.say, self.begin, self.end, self.ask_all,
        )  # fmt: skip
        self._lay_out()
        self._connect()

    def show_moments(self, writing: Writing, place: int) -> None:
        """Show the flight of a lesson, with one moment in hand.

        While a changed text is read and flown, the moments before the change stay to be seen.
        """
        self._writing = writing
        story = writing.story
        self.list.setEnabled(story is not None)
        if story is not None:
            self._moments = story.moments
            self.list.blockSignals(True)
            self.list.clear()
            self.list.addItems([moment_line(m, story, writing.chart) for m in story.moments])
            self.list.setCurrentRow(min(place, len(story.moments) - 1))
            self.list.blockSignals(False)
        self.empty.setVisible(not self._moments)
        self.list.setVisible(bool(self._moments))
        self._show_tools()
        if story is not None:
            self.chosen.emit(self.list.currentRow())

    def clear(self) -> None:
        """Forget the moments: another lesson comes."""
        self._moments = ()
        self.list.clear()

    @property
    def moment(self) -> Moment | None:
        """The moment in hand."""
        place = self.list.currentRow()
        is_flown = self._writing is not None and self._writing.story is not None
        return self._moments[place] if is_flown and 0 <= place < len(self._moments) else None

    def choose(self, place: int) -> None:
        """Take another moment in hand."""
        if 0 <= place < len(self._moments):
            self.list.setCurrentRow(place)

    def _show_tools(self) -> None:
        moment, writing = self.moment, self._writing
        is_there = moment is not None
        for widget in self._tools:
            widget.setEnabled(is_there)
        is_step = is_there and not moment.is_change
        for widget in (self.earlier, self.later, self.remove):
            widget.setEnabled(is_step)
        self.kind.clear()
        self.narration.clear()
        self.say.setText("Say")
        if not is_there:
            return
        step = writing.story.lesson.steps[moment.step]
        if isinstance(step, Say) and is_step:
            self.narration.setText(step.text)
            self.narration.setCursorPosition(0)
            self.say.setText("Change")
        is_question = isinstance(step, Predict)
        self.kind.addItem(NO_QUESTION, None)
        kinds = (step.kind,) if is_question else kinds_for(moment, writing.story)
        for kind in kinds:
            self.kind.addItem(KIND_LABELS[kind], kind)
        if is_question:
            self.kind.setCurrentIndex(1)
        has_choice = self.kind.count() > 1
        self.kind.setEnabled(has_choice)
        self.kind.setToolTip("" if has_choice else "Details… puts a question of any kind behind it")

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(4)
        column.addWidget(label("Flight of the lesson", "heading"))
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        column.addWidget(self.empty, 1)
        column.addWidget(self.list, 1)
        column.addWidget(label("Question here", "group"))
        row = QHBoxLayout()
        row.addWidget(self.kind, 1)
        row.addWidget(self.details)
        column.addLayout(row)
        grid = QGridLayout()
        for place, widget in enumerate(
            (self.earlier, self.later, self.remove, self.begin, self.end, self.ask_all)
        ):
            grid.addWidget(widget, place // 3, place % 3)
        column.addLayout(grid)
        said = QHBoxLayout()
        said.addWidget(self.narration, 1)
        said.addWidget(self.say)
        column.addLayout(said)

    def _connect(self) -> None:
        self.list.currentRowChanged.connect(self._choose)
        self.kind.activated.connect(lambda place: self.asked.emit(self.kind.itemData(place)))
        self.details.clicked.connect(self.details_asked)
        self.earlier.clicked.connect(lambda: self.moved.emit(-MOVE_S))
        self.later.clicked.connect(lambda: self.moved.emit(MOVE_S))
        self.remove.clicked.connect(self.removed)
        self.begin.clicked.connect(self.begun_here)
        self.end.clicked.connect(self.ended_here)
        self.ask_all.clicked.connect(self.asked_throughout)
        self.say.clicked.connect(self._say)
        self.narration.returnPressed.connect(self._say)
        delete = QShortcut(QKeySequence("Del"), self.list)
        delete.activated.connect(self.remove.click)

    def _choose(self, place: int) -> None:
        self._show_tools()
        self.chosen.emit(place)

    def _say(self) -> None:
        if self.narration.text().strip():
            self.said.emit(self.narration.text())
