"""An item of a check on a quiet screen: the flight as in lessons, the question, and the time."""

from __future__ import annotations

import time

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from trainer.assessment.answers.prediction import Prediction
from trainer.ui.check.check_desk import Taken
from trainer.ui.check.check_words import item_text
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.lesson.practice import Practice
from trainer.ui.lesson.practice_page import PracticePage
from trainer.ui.lesson.practice_words import clock_words
from trainer.ui.look.kit import button, item_head, label, set_role

_SHOWN_EVERY_MS = 500


class QuietPage(PracticePage):
    """The flying page with words of its own beside it: nothing is told of any answer."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = LessonText()

    def show_item(self, practice: Practice, text: LessonText) -> None:
        """Show an item at its question."""
        self._text = text
        self.show_practice(practice)

    def refresh(self, frame: int = -1) -> None:
        """Show the flight, and the check's own words."""
        super().refresh(frame)
        self.lesson.show_text(self._text)


class CheckItemView(QWidget):
    """Shows the item that is asked; `answered` carries what was built."""

    answered = Signal(object, float)
    """A `Prediction`, and the time taken [s]."""
    stopped = Signal()
    seen = Signal(bool)
    """True while it is shown: the rest of the window then keeps quiet."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.taken: Taken | None = None
        self._began_s = 0.0
        self.page = QuietPage()
        self.title = label("", "heading", wraps=True)
        self.clock = label("", "number")
        self.message = label("", "caution", wraps=True)
        self.stop = button("Stop, go on later  Esc", name="Stop, go on later")
        self._timer = QTimer(self)
        self._timer.setInterval(_SHOWN_EVERY_MS)
        self._timer.timeout.connect(self._show_time)
        self.page.builder.submitted.connect(self._answer)
        self.stop.clicked.connect(self.stopped)
        self._lay_out()

    def show_taken(self, taken: Taken) -> None:
        """Show the item that is asked now, on an empty strip."""
        assert taken.tutor is not None
        assert taken.tutor.prompt is not None
        assert taken.item is not None
        self.taken = taken
        self.title.setText(f"Check of {taken.sitting.aircraft_title}: {taken.sitting.member}")
        text = item_text(
            taken.number, taken.sitting.plan, taken.item.situation.words,
            taken.tutor.prompt.question,
        )  # fmt: skip
        self.say("")
        self.page.show_item(Practice(taken.tutor, lambda _answered: None), text)
        self._began_s = time.monotonic()
        self._show_time()

    def take_focus(self) -> None:
        """Put the keyboard on the strip that is to be built."""
        self.page.builder.take_focus()

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """Show a line above the item."""
        self.message.setText(words)
        self.message.setVisible(bool(words))
        set_role(self.message, "caution" if is_problem else "quiet")

    def showEvent(self, event: QShowEvent) -> None:
        """Let the clock run, and tell that it is quiet now."""
        super().showEvent(event)
        self._timer.start()
        self.seen.emit(True)

    def hideEvent(self, event: QHideEvent) -> None:
        """Stop the clock's display."""
        super().hideEvent(event)
        self._timer.stop()
        self.seen.emit(False)

    @property
    def taken_s(self) -> float:
        """Time since the item was shown [s]."""
        return time.monotonic() - self._began_s

    def _answer(self, said: Prediction) -> None:
        self.answered.emit(said, self.taken_s)

    def _show_time(self) -> None:
        if self.taken is not None:
            item_s, all_s = self.taken_s, self.taken.taken_s + self.taken_s
            self.clock.setText(f"Item {clock_words(item_s)}   Check {clock_words(all_s)}")

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(item_head(self.title, self.clock, self.stop))
        self.message.setContentsMargins(8, 0, 8, 0)
        layout.addWidget(self.message)
        layout.addWidget(self.page, 1)
