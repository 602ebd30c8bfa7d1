"""The questions of an aircraft: the list, the question in hand, and what the strip will do."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QHideEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.charts.installation import Provenance
from trainer.charts.provenance import trust_of, trust_words
from trainer.charts.questionnaire import (
    Answer,
    Answers,
    Question,
    installation_of,
    questions_of,
)
from trainer.charts.spec import ChartSpec
from trainer.ui.aircraft.aircraft_shelf import flyable
from trainer.ui.aircraft.answer_state import answer_problem, can_be_carried
from trainer.ui.aircraft.example_view import ExampleView
from trainer.ui.lesson.answer_form import AnswerForm
from trainer.ui.look.kit import button, label, panel, scroll_area, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.theme import BODY_PX
from trainer.ui.look.words import words_of_chart

MARKS = {
    "placeholder": "\N{WHITE CIRCLE}",
    "entered": "\N{CIRCLE WITH LEFT HALF BLACK}",
    "verified": "\N{BLACK CIRCLE}",
    "unknown": "?",
    "problem": "\N{BALLOT X}",
}
LEGEND = (
    f"{MARKS['placeholder']} placeholder   {MARKS['unknown']} not known: ask\n"
    f"{MARKS['entered']} entered   {MARKS['verified']} verified   {MARKS['problem']} unfinished"
)
_LIST_PX, _FORM_PX = 292, 400
_ROW_MARGIN_PX = 40
"""Frame, scroll bar and padding of a row."""
_KEY = Qt.ItemDataRole.UserRole


class QuestionnairePage(QWidget):
    """Holds the answers in hand; every touch is told, so that it can be kept as a draft."""

    closed = Signal()
    left = Signal()
    """The page went out of sight."""
    kept = Signal(object)
    """`Answers` that changed."""
    save_asked = Signal()
    discard_asked = Signal()
    sheet_asked = Signal()
    example_asked = Signal(object, object)
    """A question, and the installation as answered so far."""

    def __init__(self, aircraft: dict[str, str], parent: QWidget | None = None) -> None:
        """Make the page.

        Args:
            aircraft: Aircraft that an installation can be of: id -> words.
            parent: The owner.
        """
        super().__init__(parent)
        self.setObjectName("page")
        self.answers: Answers | None = None
        self._chart: ChartSpec | None = None
        self._shortcuts: list[QShortcut] = []
        self._worked_on = ""
        """Key of the question below which something was typed last."""
        self.questions: tuple[Question, ...] = ()
        self.name = QLineEdit()
        self.name.setAccessibleName("Name of the aircraft")
        self.name.setMaxLength(60)
        self.kind = Picker("Flies like")
        for one, words in aircraft.items():
            self.kind.addItem(words, one)
        self.list = QListWidget()
        self.list.setAccessibleName("Questions")
        self.list.setObjectName("compact")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # Rows are measured before a bar that comes by itself takes its part of the width.
        self.list.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.form = AnswerForm()
        self.example = ExampleView()
        self.statement = label("", "caution", wraps=True)
        self.save = button("Save  Ctrl+S", "main", name="Save")
        self.sheet = button("Question sheet…")
        self.discard = button("Discard the draft")
        self.back = button("Back")
        self.next = button("Next question  Ctrl+Down", name="Next question")
        self.previous = button("Previous  Ctrl+Up", name="Previous question")
        self._lay_out()
        self._connect()

    def show_answers(self, answers: Answers, chart: ChartSpec, key: str = "") -> None:
        """Show the questions of a chart with the answers so far, one of them in hand."""
        self.answers, self._chart, self._worked_on = answers, chart, ""
        self.questions = questions_of(chart)
        self.name.setText(answers.title)
        self.kind.setCurrentIndex(self.kind.findData(answers.aircraft))
        self._fill_list()
        self.show_question(key or self.questions[0].key)
        self._show_statement()

    def show_question(self, key: str) -> None:
        """Show one question."""
        for row in range(self.list.count()):
            if self.list.item(row).data(_KEY) == key:
                self.list.setCurrentRow(row)
                return

    @property
    def question(self) -> Question | None:
        """The question in hand."""
        item = self.list.currentItem()
        key = item.data(_KEY) if item is not None else None
        return next((one for one in self.questions if one.key == key), None)

    def say_unsaved(self, is_unsaved: bool) -> None:
        """Show whether there is a draft to be saved or discarded."""
        self.discard.setEnabled(is_unsaved)

    def refresh_example(self) -> None:
        """Ask for the example of the question in hand, in the aircraft as answered."""
        question = self.question
        if question is None or self.answers is None or self._chart is None:
            return
        base = installation_of(flyable(self.answers, self.questions), self._chart)
        self.example.set_words(words_of_chart(self._chart))
        self.example_asked.emit(question, base)

    def hideEvent(self, event: QHideEvent) -> None:
        """Tell that nobody looks any more."""
        super().hideEvent(event)
        self.left.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep a line edit from taking a key of the page as one of its own.

        On some desktops Ctrl+E means 'end of the line' there.
        """
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            pressed = QKeySequence(event.keyCombination())
            if any(pressed == one.key() for one in self._shortcuts):
                event.ignore()
                return True
        return super().eventFilter(watched, event)

    def _fill_list(self) -> None:
        self.list.blockSignals(True)
        self.list.clear()
        section = None
        for question in self.questions:
            if question.section != section:
                section = question.section
                title = QListWidgetItem(f"{section}  {question.section_title}")
                title.setFlags(Qt.ItemFlag.NoItemFlags)
                font = QFont(self.list.font())
                font.setBold(True)
                title.setFont(font)
                self.list.addItem(title)
            item = QListWidgetItem()
            item.setData(_KEY, question.key)
            self.list.addItem(item)
            self._mark(item, question)
        self.list.blockSignals(False)

    def _mark(self, item: QListWidgetItem, question: Question) -> None:
        assert self.answers is not None
        answer = self.answers.answer(question)
        state = mark_of(question, answer)
        item.setText(f"{MARKS[state]}  {question.words}")
        item.setSizeHint(self._row_size(item.text()))
        item.setToolTip(f"{question.words}\n{state}")

    def _row_size(self, words: str) -> QSize:
        """Return the room of a row: the list's own measure forgets the style sheet's padding."""
        font = QFont(self.font())
        font.setPixelSize(BODY_PX)
        room = QRect(0, 0, _LIST_PX - _ROW_MARGIN_PX, 1000)
        box = QFontMetrics(font).boundingRect(room, Qt.TextFlag.TextWordWrap, words)
        return QSize(_LIST_PX - _ROW_MARGIN_PX, box.height() + 8)

    def _show_in_hand(self) -> None:
        question = self.question
        if question is None or self.answers is None:
            return
        self.form.show_question(question, self.answers.answer(question), self._before(question))
        self.refresh_example()

    def _before(self, question: Question) -> Provenance | None:
        """Return where the answer worked on last comes from, or the nearest above that has one."""
        assert self.answers is not None
        above = self.questions[: self.questions.index(question)]
        last = [one for one in self.questions if one.key == self._worked_on and one != question]
        found = (self.answers.answer(one).provenance for one in (*last, *reversed(above)))
        return next((where for where in found if can_be_carried(where)), None)

    def _take(self, answer: Answer) -> None:
        question = self.question
        if question is None or self.answers is None:
            return
        old = self.answers.answer(question)
        if old.provenance != answer.provenance:
            self._worked_on = question.key
        self._change(self.answers.with_answer(question, answer))
        self._mark(self.list.currentItem(), question)
        if answer.value != old.value:
            if question.kind == "option":
                self.example.show_side(str(answer.value))
            else:
                self.refresh_example()

    def _change(self, answers: Answers) -> None:
        if answers != self.answers:
            self.answers = answers
            self._show_statement()
            self.kept.emit(answers)

    def _show_statement(self) -> None:
        assert self.answers is not None
        assert self._chart is not None
        installation = installation_of(flyable(self.answers, self.questions), self._chart)
        self.statement.setText(trust_words(installation))
        set_role(self.statement, "caution" if trust_of(installation).unsigned else "quiet")

    def _move(self, step: int) -> None:
        keys = [one.key for one in self.questions]
        question = self.question
        if question is None:
            return
        place = keys.index(question.key) + step
        if 0 <= place < len(keys):
            self.show_question(keys[place])
            self.form.take_focus()

    def _rename(self) -> None:
        if self.answers is not None:
            title = self.name.text().strip() or self.answers.title
            self._change(replace(self.answers, title=title))

    def _choose_kind(self) -> None:
        if self.answers is not None:
            self._change(replace(self.answers, aircraft=self.kind.currentData()))
            self.refresh_example()

    def _connect(self) -> None:
        self.list.currentRowChanged.connect(lambda _row: self._show_in_hand())
        self.form.changed.connect(self._take)
        self.name.textEdited.connect(lambda _text: self._rename())
        self.kind.activated.connect(lambda _place: self._choose_kind())
        self.save.clicked.connect(self.save_asked)
        self.sheet.clicked.connect(self.sheet_asked)
        self.discard.clicked.connect(self.discard_asked)
        self.back.clicked.connect(self.closed)
        self.next.clicked.connect(lambda: self._move(1))
        self.previous.clicked.connect(lambda: self._move(-1))
        for keys, act in (
            ("Ctrl+S", self.save.click),
            ("Ctrl+Down", self.next.click),
            ("Ctrl+Up", self.previous.click),
            ("Ctrl+E", self.form.as_before.click),
        ):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)
            self._shortcuts.append(shortcut)
        for field in self.findChildren(QLineEdit):
            field.installEventFilter(self)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 4)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Aircraft", "heading"))
        head.addWidget(self.name, 1)
        head.addWidget(label("flies like"))
        head.addWidget(self.kind)
        for widget in (self.back, self.discard, self.sheet, self.save):
            head.addWidget(widget)
        column.addLayout(head)
        column.addWidget(self.statement)
        row = QHBoxLayout()
        row.setSpacing(8)
        left = QVBoxLayout()
        left.addWidget(self.list, 1)
        left.addWidget(label(LEGEND, "quiet", wraps=True))
        holder = QWidget()
        holder.setObjectName("plain")
        holder.setLayout(left)
        left.setContentsMargins(0, 0, 0, 0)
        holder.setFixedWidth(_LIST_PX)
        row.addWidget(holder)
        row.addWidget(self._form_panel())
        row.addWidget(self.example, 1)
        column.addLayout(row, 1)

    def _form_panel(self) -> QWidget:
        frame, inner = panel("Question in hand")
        inner.addWidget(scroll_area(self.form, by_keys=False), 1)
        foot = QHBoxLayout()
        foot.addWidget(self.previous)
        foot.addStretch(1)
        foot.addWidget(self.next)
        inner.addLayout(foot)
        frame.setFixedWidth(_FORM_PX)
        return frame


def mark_of(question: Question, answer: Answer) -> str:
    """Return the state that the list marks: a provenance state, unknown, or problem."""
    if answer_problem(question, answer):
        return "problem"
    return "unknown" if answer.provenance.is_unknown else answer.provenance.state
