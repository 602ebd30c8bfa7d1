"""One question with its answer: choices or a number, and where the answer comes from."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from trainer.charts.installation import STATES, Provenance
from trainer.charts.questionnaire import Answer, Question
from trainer.ui.aircraft.answer_state import (
    STATE_LABELS,
    can_be_carried,
    carried,
    carried_words,
    changed_answer,
    choice_words,
    filled_state,
    state_words,
)
from trainer.ui.look.kit import button, label, panel, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.tick_box import TickBox

_FIELDS = {
    "source": ("Where it stands", "flight manual supplement, section, revision"),
    "entered_by": ("Entered by", "name"),
    "date": ("Date", "year-month-day"),
    "verified_by": ("Verified by", "name of the instructor"),
}
AS_BEFORE = "Source, name and date as in the question before"
_MARK_PX = 22


class AnswerForm(QWidget):
    """Shows a question; `changed` carries the answer after every touch."""

    changed = Signal(object)
    looked_at = Signal(str)
    """A choice that the user points at without choosing it yet."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self._question: Question | None = None
        self._answer = Answer("")
        self._before = Provenance()
        self._has_chosen = False
        """True while the state is the user's choice and not what the filled fields speak for."""
        self.section = label("", "group")
        self.words = label("", "heading", wraps=True)
        self.choices = QButtonGroup(self)
        self._choice_box = QVBoxLayout()
        self._choice_rows: list[QWidget] = []
        self.number = QLineEdit()
        self.number.setAccessibleName("Value")
        self.number.setMaximumWidth(120)
        self.unit = label("")
        self.range = label("", "quiet", wraps=True)
        self.unknown = TickBox("Not known: ask")
        self.state = Picker("State of the answer")
        for state in STATES:
            self.state.addItem(STATE_LABELS[state], state)
        self.fields = {name: QLineEdit() for name in _FIELDS}
        self.as_before = button("As in the question before  Ctrl+E", name=AS_BEFORE)
        self.problem = label("", "wrong", wraps=True)
        self._lay_out()
        self.choices.idToggled.connect(self._choose)
        self.number.textEdited.connect(lambda _text: self._take())
        self.unknown.clicked.connect(self._mark_unknown)
        self.state.activated.connect(lambda _place: self._choose_state())
        self.as_before.clicked.connect(self._take_as_before)
        for field in self.fields.values():
            field.textEdited.connect(lambda _text: self._follow())

    def show_question(
        self, question: Question, answer: Answer, before: Provenance | None = None
    ) -> None:
        """Show a question and the answer so far; `before`: where the one before comes from."""
        self._question, self._answer = question, answer
        self._before = before or Provenance()
        self.section.setText(f"{question.section}  {question.section_title}")
        self.words.setText(question.words)
        self._show_choices(question, answer)
        is_limit = question.kind == "limit"
        for widget in (self.number, self.unit, self.range):
            widget.setVisible(is_limit)
        if is_limit:
            self.number.setText(_number_text(answer.value))
            self.unit.setText(question.unit)
            self.range.setText(f"From {question.low:g} to {question.high:g} {question.unit}.")
        self._show_where(answer)
        self._show_state()

    def take_focus(self) -> None:
        """Put the focus where the answer is given."""
        checked = self.choices.checkedButton()
        (checked or self.number).setFocus()

    def _show_choices(self, question: Question, answer: Answer) -> None:
        self.choices.blockSignals(True)
        for row in self._choice_rows:
            row.hide()
            row.deleteLater()
        for old in self.choices.buttons():
            self.choices.removeButton(old)
        self._choice_rows = []
        for number, (choice, words) in enumerate(question.choices.items()):
            radio = QRadioButton(choice_words(choice))
            radio.setAccessibleDescription(words)
            radio.setProperty("choice", choice)
            radio.setChecked(answer.value == choice)
            self.choices.addButton(radio, number)
            row = QWidget()
            row.setObjectName("plain")
            column = QVBoxLayout(row)
            column.setContentsMargins(0, 2, 0, 2)
            column.setSpacing(0)
            column.addWidget(radio)
            consequence = label(words, "quiet", wraps=True)
            consequence.setContentsMargins(_MARK_PX, 0, 0, 0)
            column.addWidget(consequence)
            self._choice_box.addWidget(row)
            self._choice_rows.append(row)
        self.choices.blockSignals(False)

    def _choose(self, _number: int, is_on: bool) -> None:
        if is_on:
            self._take()

    def _mark_unknown(self, is_on: bool) -> None:
        if is_on:
            self.state.setCurrentIndex(STATES.index("placeholder"))
            self._take()
        elif self._answer.before is not None:
            self._take()  # the fields speak for another value
        else:
            self._has_chosen = False
            self._follow()

    def _choose_state(self) -> None:
        if self.state.currentData() != "placeholder":
            self.unknown.setChecked(False)
        self._has_chosen = self.state.currentData() != filled_state(self._where())
        self._take()

    def _take_as_before(self) -> None:
        self._show_fields(carried(self._where(), self._before))
        self._follow()

    def _follow(self) -> None:
        """Take what was typed; the state follows unless the user chose another one."""
        filled = filled_state(self._where())
        if not self._has_chosen and not self.unknown.isChecked():
            self.state.setCurrentIndex(STATES.index(filled))
        self._has_chosen = self._has_chosen and self.state.currentData() != filled
        self._take()

    def _where(self) -> Provenance:
        return Provenance(
            self.state.currentData(),
            **{name: field.text() for name, field in self.fields.items()},
            is_unknown=self.unknown.isChecked(),
        )

    def _take(self) -> None:
        question = self._question
        if question is None:
            return
        typed = Answer(self._value(question), self._where())
        self._answer = changed_answer(question, self._answer, typed)
        if self._answer.provenance != typed.provenance:
            self._show_where(self._answer)
        self._show_state()
        self.changed.emit(self._answer)

    def _show_where(self, answer: Answer) -> None:
        """Show where an answer comes from."""
        where = answer.provenance
        # A state that fell because the value changed is nobody's choice: filled fields lift it.
        self._has_chosen = where.state != filled_state(where) and answer.before is None
        self.unknown.setChecked(where.is_unknown)
        self.state.setCurrentIndex(STATES.index(where.state))
        self._show_fields(where)

    def _show_fields(self, where: Provenance) -> None:
        for name, field in self.fields.items():
            if field.text() != getattr(where, name):
                field.setText(getattr(where, name))

    def _value(self, question: Question) -> str | float:
        if question.kind == "option":
            checked = self.choices.checkedButton()
            return checked.property("choice") if checked else str(self._answer.value)
        if self.number.text() == _number_text(self._answer.value):
            return self._answer.value  # shown shorter than it is, yet not touched
        text = self.number.text().strip().replace(",", ".")
        try:
            return float(text)
        except ValueError:
            return text

    def _show_state(self) -> None:
        assert self._question is not None
        where = self._answer.provenance
        words, role = state_words(self._question, self._answer)
        has_more = carried(where, self._before) != where
        self.as_before.setEnabled(has_more and can_be_carried(self._before))
        self.as_before.setToolTip(carried_words(self._before))
        self.problem.setText(words)
        set_role(self.problem, role)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.section)
        column.addWidget(self.words)
        column.addLayout(self._choice_box)
        row = QHBoxLayout()
        row.addWidget(self.number)
        row.addWidget(self.unit)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self.range)
        column.addSpacing(6)
        frame, inner = panel("Where the answer comes from")
        inner.addWidget(label("Where the answer comes from", "group"))
        inner.addWidget(self.unknown)
        inner.addWidget(self.state)
        grid = QGridLayout()
        grid.setVerticalSpacing(4)
        for place, (name, (title, hint)) in enumerate(_FIELDS.items()):
            field = self.fields[name]
            field.setAccessibleName(title)
            field.setPlaceholderText(hint)
            field.setMaxLength(200)
            grid.addWidget(label(title), place, 0)
            grid.addWidget(field, place, 1)
        inner.addLayout(grid)
        inner.addWidget(self.as_before)
        inner.addWidget(self.problem)
        column.addWidget(frame)
        column.addStretch(1)


def _number_text(value: str | float) -> str:
    return value if isinstance(value, str) else f"{value:g}"
