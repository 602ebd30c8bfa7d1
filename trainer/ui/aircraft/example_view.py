"""What the strip will do: three lines to step through, with the strip beside them."""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from trainer.session.example_words import Example, ExampleSide
from trainer.session.strip_design import StripColours, StripDesign
from trainer.ui.look.kit import button, label, panel, scroll_area, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

_STEP_MS = 1600
_STEP_TITLES = ("1  Before", "2  Then", "3  After")
_POINTER = "\N{BLACK RIGHT-POINTING SMALL TRIANGLE}"
WORKING = "Flying both ways to find where they part…"
NOTHING_FOUND = "No short flight was found in which this answer shows."


class ExampleView(QWidget):
    """Shows examples; the side follows the answer, and can be looked at without answering."""

    fly_asked = Signal(object)
    """The `ExampleSide` from whose beginning is to be flown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self._examples: tuple[Example, ...] = ()
        self._place = 0
        self._wanted = ""
        self.step = 0
        self.is_still = False
        self.message = label("", "quiet", wraps=True)
        self.given = label("", "quiet", wraps=True)
        self.side = Picker("Example for")
        self.strip = StripWidget(StripWords({}))
        self.steps = [button(title) for title in _STEP_TITLES]
        self.lines = [label("", wraps=True) for _ in _STEP_TITLES]
        self.play = button("Play", name="Play the example")
        self.fly = button("Fly it", hint="Free practice from its very beginning")
        self.other = button("Other situation")
        self.others = label("", "quiet", wraps=True)
        self._timer = QTimer(self)
        self._timer.setInterval(_STEP_MS)
        self._timer.timeout.connect(self._play_on)
        self._lay_out()
        self.side.activated.connect(lambda _place: self._show_step(2))
        for number, widget in enumerate(self.steps):
            widget.setCheckable(True)
            widget.clicked.connect(lambda _on=False, n=number: self._stop_at(n))
        self.play.clicked.connect(self._toggle_play)
        self.other.clicked.connect(self._next_situation)
        self.fly.clicked.connect(self._fly)
        self.show_words(NOTHING_FOUND)

    def set_words(self, words: StripWords) -> None:
        """Use the words of an aircraft."""
        self.strip.set_words(words)

    def set_design(self, design: StripDesign, colours: StripColours) -> None:
        """Use another strip design."""
        self.strip.set_design(design, colours)

    def show_words(self, words: str) -> None:
        """Show a message in the example's place."""
        self._timer.stop()
        self._examples = ()
        self.message.setText(words)
        self._set_shown(has_example=False)

    def show_examples(self, examples: tuple[Example, ...], wanted: str) -> None:
        """Show examples from their ends; `wanted` names the side that belongs to the answer."""
        if not examples:
            self.show_words(NOTHING_FOUND)
            return
        self._timer.stop()
        self._examples, self._place = examples, 0
        self._set_shown(has_example=True)
        self.show_side(wanted)

    def show_side(self, wanted: str) -> None:
        """Show the side that belongs to an answer, if there is one."""
        self._wanted = wanted
        if self._examples:
            self._fill_sides()
            self._show_step(2)

    def _fill_sides(self) -> None:
        example = self._examples[self._place]
        keys = [side.key for side in example.sides]
        self.side.clear()
        for one in example.sides:
            words = one.key.replace("_", " ").capitalize()
            self.side.addItem(f"If: {words}" if one.key != one.title else words, one.key)
        self.side.setCurrentIndex(keys.index(self._wanted) if self._wanted in keys else 0)
        self.given.setText(f"Shown with another answer: {example.given}" if example.given else "")
        self.given.setVisible(bool(example.given))
        self.other.setVisible(len(self._examples) > 1)
        count = len(self._examples)
        self.other.setText(f"Situation {self._place + 1} of {count}")
        self.other.setAccessibleName(f"Situation {self._place + 1} of {count}, show the other")

    @property
    def shown_side(self) -> ExampleSide | None:
        """The side that is shown."""
        if not self._examples:
            return None
        return self._examples[self._place].sides[max(0, self.side.currentIndex())]

    def _show_step(self, number: int) -> None:
        side = self.shown_side
        if side is None:
            return
        self.step = number
        for place, (line, one) in enumerate(zip(self.lines, side.steps, strict=True)):
            mark = _POINTER if place == number else f"{place + 1}"
            line.setText(f"{mark}  {one.line}")
            set_role(line, "" if place == number else "quiet")
            self.steps[place].setChecked(place == number)
        now = side.steps[number]
        self.strip.show_annunciation(now.annunciation, now.marks)
        example = self._examples[self._place]
        self.others.setText(
            "\n".join(
                f"{one.key.replace('_', ' ').capitalize()}: {one.steps[2].line}"
                for one in example.sides
                if one is not side
            )
        )

    def _stop_at(self, number: int) -> None:
        self._timer.stop()
        self._name_play()
        self._show_step(number)

    def _toggle_play(self) -> None:
        if self._timer.isActive():
            self._timer.stop()
        else:
            self._show_step(0)
            self._timer.start()
        self._name_play()

    def _play_on(self) -> None:
        self._show_step(min(2, self.step + 1))
        if self.step == 2:
            self._timer.stop()
            self._name_play()

    def _fly(self) -> None:
        self._timer.stop()
        self._name_play()
        if self.shown_side is not None:
            self.fly_asked.emit(self.shown_side)

    def _name_play(self) -> None:
        self.play.setText("Stop" if self._timer.isActive() else "Play")

    def _next_situation(self) -> None:
        self._place = (self._place + 1) % len(self._examples)
        self._fill_sides()
        self._show_step(2)

    def _set_shown(self, *, has_example: bool) -> None:
        self.message.setVisible(not has_example)
        for widget in (self.side, self.strip, self.play, self._box, self._foot):
            widget.setVisible(has_example)
        if not has_example:
            self.given.hide()
            self.other.hide()

    def _lay_out(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        frame, column = panel("What the strip will do")
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("What the strip will do", "group"))
        head.addStretch(1)
        head.addWidget(self.other)
        column.addLayout(head)
        column.addWidget(self.message)
        column.addWidget(self.side)
        column.addWidget(self.given)
        column.addWidget(self.strip)
        row = QHBoxLayout()
        for widget in (*self.steps, self.play):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(self.fly)
        self._foot = QWidget()
        self._foot.setObjectName("plain")
        self._foot.setLayout(row)
        row.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._foot)
        self._box = self._lines_box()
        column.addWidget(self._box, 1)
        column.addStretch(0)
        outer.addWidget(frame)

    def _lines_box(self) -> QScrollArea:
        inside = QWidget()
        inside.setObjectName("plain")
        text = QVBoxLayout(inside)
        text.setContentsMargins(0, 0, 4, 0)
        text.setSpacing(8)
        for line in self.lines:
            text.addWidget(line)
        text.addWidget(label("Otherwise", "group"))
        text.addWidget(self.others)
        text.addStretch(1)
        return scroll_area(inside, "The example in words", sideways=True)
