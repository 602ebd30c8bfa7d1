"""Write: the lesson's flight on a timeline, its text, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.errors import TrainerError
from trainer.lesson.questioning import kinds_for, usual_question
from trainer.lesson.spec import Predict
from trainer.lesson.story import Moment, Story
from trainer.ui.look.kit import button, label
from trainer.ui.look.text_panel import TextPanel
from trainer.ui.look.theme import Theme
from trainer.ui.practice.flight_panel import FlightPanel
from trainer.ui.writing.lesson_check import Checked
from trainer.ui.writing.lesson_worker import LessonWorker
from trainer.ui.writing.question_dialog import QuestionDialog
from trainer.ui.writing.story_view import LEGEND, StoryView
from trainer.ui.writing.write_words import dead_key_words
from trainer.ui.writing.writing import Begin, Reading, Writing

FLYING_WORDS = "Flying the lesson…"


class WritePage(QWidget):
    """Shows a `Writing`; what needs files is asked of the owner."""

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
    failed = Signal(str)
    flown = Signal()
    """The lesson has been flown and its timeline is there."""

    def __init__(self, writing: Writing, begin: Callable[[str], Begin]) -> None:
        """Make the page.

        Args:
            writing: The lesson in the making.
            begin: Returns what starts sessions of an installation.
        """
        super().__init__()
        self.setObjectName("page")
        self.writing = writing
        self._begin = begin
        self._wanted_step = -1
        self.worker = LessonWorker(lambda lesson: begin(lesson.installation), self)
        self.view = StoryView()
        self.flight = FlightPanel()
        self.editor = TextPanel()
        self.state = label("", "quiet")
        self.legend = label(LEGEND, "quiet")
        self.dialog = QuestionDialog(self)
        self.list, self.kind, self.narration = (
            self.flight.list,
            self.flight.kind,
            self.flight.narration,
        )
        self.text, self.problems = self.editor.text, self.editor.problems
        self._make_buttons()
        self._lay_out()
        self._connect()
        self.show_writing()

    def show_other(self) -> None:
        """Show a lesson that has taken another one's place."""
        self.flight.clear()
        self.view.show_story(None, None)
        self.view.show_place(-1)
        self.show_writing()

    def show_writing(self) -> None:
        """Show the lesson in hand from its state, and fly it if that isn't done."""
        self.editor.show_text(self.writing.text)
        self.editor.show_problems(self.writing.problems)
        self.editor.show_covered("")
        self._show_flight()
        self._fly()

    def show_checked(self, found: Checked) -> None:
        """Show what flying the lesson has found."""
        self.editor.show_problems(found.problems, flown=True)
        self.editor.show_covered(found.words, found.tip)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.view.set_theme(theme)
        self.editor.set_theme(theme)

    def take_text(self) -> None:
        """Take what was typed at once, without waiting for a pause."""
        self.editor.typing.stop()
        if self.editor.words != self.writing.text:
            self._take(self.writing.read(self.editor.words))

    def go_to_problem(self) -> None:
        """Put the cursor at the line of the problem in hand."""
        self.editor.go_to_problem()

    def go_to_line(self, line: int) -> None:
        """Put the cursor at a line of the text."""
        self.editor.go_to_line(line)

    def close_work(self) -> None:
        """Stop what runs."""
        self.worker.close()

    def _read(self) -> None:
        """Read what was typed, off the paint path."""
        if self.editor.words != self.writing.text:
            self.worker.read_text(self.writing.read, self.editor.words)

    def _take(self, reading: Reading) -> None:
        if reading.text != self.editor.words:
            return  # typed on meanwhile: another reading comes
        self.writing.take(reading)
        self.editor.show_problems(self.writing.problems)
        self.editor.show_covered("")
        self._show_flight()
        self._fly()
        self.changed.emit()

    def _fly(self) -> None:
        if self.writing.lesson is not None and self.writing.story is None:
            self.state.setText(FLYING_WORDS)
            self.worker.fly(self.writing.lesson)

    def _show_story(self, story: Story) -> None:
        if self.writing.take_story(story):
            self._show_flight()
            self.flown.emit()

    def _show_flight(self) -> None:
        writing = self.writing
        self.view.show_story(writing.story, writing.chart, is_stale=writing.story is None)
        self.flight.show_moments(writing, self._wanted_place())
        is_lesson = writing.lesson is not None
        for widget in (self.editor.check, self.editor.preview, self.editor.save):
            widget.setEnabled(is_lesson)
        story = writing.story
        words = "" if is_lesson else "The text must read well first."
        if story is not None:
            words = story.problem and f"The flight breaks off: {story.problem}"
        self.state.setText(words)
        is_dead = story is not None and bool(story.dead_keys)
        self.dead.setVisible(is_dead or writing.can_put_back)
        self.dead.setText(
            "Put them back" if writing.can_put_back else "Remove keys that did nothing"
        )
        if writing.can_put_back and not words:
            self.state.setText(dead_key_words(writing.left_out))

    def _wanted_place(self) -> int:
        """Return the place of the step that an edit was about, or of what was in hand."""
        wanted = self._wanted_step
        if wanted < 0 or not self.writing.moments:
            return max(0, self.flight.list.currentRow(), self.view.place)
        self._wanted_step = -1
        moments = self.writing.moments
        return next((n for n, m in enumerate(moments) if m.step >= wanted), len(moments) - 1)

    def _choose(self, place: int) -> None:
        self.view.show_place(place)
        moment, story = self.flight.moment, self.writing.story
        if moment is not None and story is not None:
            self.editor.show_line(story.lesson.steps[moment.step].line)

    def _edit(self, act: Callable[[Moment], int]) -> None:
        """Do something at the moment in hand, then show and fly what comes of it."""
        self.take_text()
        moment = self.flight.moment
        if moment is None:
            return
        try:
            self._wanted_step = act(moment)
        except TrainerError as error:
            self.failed.emit(str(error))
            return
        self.failed.emit("")
        self.show_writing()
        self.changed.emit()

    def _move(self, place: int, by_s: float) -> None:
        self.flight.choose(place)
        moment = self.flight.moment
        if moment is not None and not moment.is_change:
            self._edit(lambda one: self.writing.move(one, by_s))

    def _begin_here(self) -> None:
        lesson = self.writing.lesson
        if lesson is not None:
            self._edit(lambda m: self.writing.begin_at(m, self._begin(lesson.installation)))

    def _mend_dead_keys(self) -> None:
        if self.writing.can_put_back:
            self.writing.put_back()
            self.show_writing()
            self.changed.emit()
        else:
            self._edit(lambda _moment: self.writing.remove_dead_keys())

    def _show_details(self) -> None:
        """Open the form for the question at the moment in hand, or for a new one."""
        moment, story = self.flight.moment, self.writing.story
        if moment is None or story is None:
            return
        step = story.lesson.steps[moment.step]
        if isinstance(step, Predict):
            question = step
        else:
            kind = next(iter(kinds_for(moment, story)), "next_change")
            question = usual_question(kind, moment, story, self.writing.chart)
        self.dialog.show_question(question, self.writing.chart)
        self.dialog.open()

    def _show_kind(self, kind: object) -> None:
        moment, story = self.flight.moment, self.writing.story
        if moment is not None and story is not None:
            made = usual_question(kind, moment, story, self.writing.chart)
            self.dialog.show_question(made, self.writing.chart)

    def _make_buttons(self) -> None:
        self.record = button("Record a flight", hint="Fly freely, then press Ctrl+L")
        self.open = button("Open…", name="Open a lesson of your own")
        self.import_pack = button("Import pack…", name="Import a lesson pack")
        self.export_pack = button("Export pack…", name="Export your lessons as a pack")
        self.back = button("Back  Esc", name="Back")
        self.dead = button("Remove keys that did nothing")
        self.check, self.preview, self.save = (
            self.editor.check, self.editor.preview, self.editor.save,
        )  # fmt: skip

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 8)
        layout.setSpacing(4)
        head = QHBoxLayout()
        head.addWidget(label("Write a lesson", "title"))
        head.addStretch(1)
        for widget in (self.record, self.open, self.import_pack, self.export_pack, self.back):
            head.addWidget(widget)
        layout.addLayout(head)
        layout.addWidget(self.view)
        foot = QHBoxLayout()
        foot.addWidget(self.legend)
        foot.addStretch(1)
        foot.addWidget(self.state)
        foot.addWidget(self.dead)
        layout.addLayout(foot)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.flight, 2)
        row.addWidget(self.editor, 3)
        layout.addLayout(row, 1)

    def _connect(self) -> None:
        for keys, widget in (
            ("Ctrl+S", self.save), ("F5", self.preview), ("F6", self.check),
            ("F7", self.flight.details),
        ):  # fmt: skip
            QShortcut(QKeySequence(keys), self).activated.connect(widget.click)
        self.editor.paused.connect(self._read)
        self.worker.read.connect(self._take)
        self.worker.flown.connect(self._show_story)
        self.worker.failed.connect(self.failed)
        self.flight.chosen.connect(self._choose)
        self.view.chosen.connect(self.flight.choose)
        self.view.moved.connect(self._move)
        self.dead.clicked.connect(self._mend_dead_keys)
        self._connect_edits()
        for widget, signal in (
            (self.record, self.record_asked), (self.open, self.open_asked),
            (self.import_pack, self.import_asked), (self.export_pack, self.export_asked),
            (self.back, self.closed), (self.check, self.check_asked),
            (self.preview, self.preview_asked), (self.save, self.save_asked),
        ):  # fmt: skip
            widget.clicked.connect(lambda _on=False, said=signal: self._tell(said))

    def _connect_edits(self) -> None:
        flight, writing = self.flight, self.writing
        flight.moved.connect(lambda by_s: self._edit(lambda m: writing.move(m, by_s)))
        flight.removed.connect(lambda: self._edit(writing.remove))
        flight.ended_here.connect(lambda: self._edit(writing.end_at))
        flight.begun_here.connect(self._begin_here)
        flight.asked_throughout.connect(lambda: self._edit(lambda _m: writing.ask_throughout()))
        flight.said.connect(lambda text: self._edit(lambda m: writing.say(m, text)))
        flight.asked.connect(self._ask)
        flight.details_asked.connect(self._show_details)
        self.dialog.kind_wanted.connect(self._show_kind)
        self.dialog.accepted_question.connect(
            lambda question: self._edit(lambda m: writing.put_question(m, question))
        )

    def _ask(self, kind: object) -> None:
        moment, story = self.flight.moment, self.writing.story
        is_question = (
            moment is not None
            and story is not None
            and isinstance(story.lesson.steps[moment.step], Predict)
        )
        if (kind is None) == is_question:
            self._edit(lambda one: self.writing.ask(one, kind))

    def _tell(self, signal: object) -> None:
        self.take_text()
        signal.emit()
