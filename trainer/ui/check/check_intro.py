"""Before a check: who answers, what for, how it decides; and the checks begun earlier."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from trainer.assessment.check.check_plan_file import NamedPlan
from trainer.records.check_sitting import ENDED_WITHOUT, SittingState
from trainer.ui.check.check_desk import Purpose
from trainer.ui.check.check_wait import NOT_KNOWN, WaitLine
from trainer.ui.check.check_words import (
    HOW_IT_GOES,
    STATE_HEADS,
    WHAT_IT_IS,
    form_line,
    identity_words,
    plan_words,
    state_row,
)
from trainer.ui.club.club_kit import fill, fill_picker, named, table
from trainer.ui.look.kit import button, label, panel, scroll_area, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.tick_box import WrappingTick
from trainer.ui.window.whose_answers import NAME_MOST, TOO_LONG

NONE_YET = "None yet."
_MEMBER_COLUMN, _MEMBER_PX = 1, 120


class CheckIntro(QWidget):
    """Says what is wanted; decides nothing."""

    begun = Signal(object, str, str)
    """A `Purpose`, the id of a plan, and who answers."""
    resumed = Signal(object)
    """A `SittingState`: to be gone on with, or looked at."""
    given_up = Signal(object)
    due_asked = Signal()
    closed = Signal()

    def __init__(
        self,
        caution_of: Callable[[str, str], str] = lambda _installation, _title: "",
        parent: QWidget | None = None,
    ) -> None:
        """Make the page.

        Args:
            caution_of: Returns what has to be said of an installation, called by a title.
            parent: Who owns it.
        """
        super().__init__(parent)
        self.setObjectName("page")
        self._caution_of = caution_of
        self._purposes: list[Purpose] = []
        self._plans: Mapping[str, NamedPlan] = {}
        self._states: list[SittingState] = []
        self._own_name = ""
        self.due = button("Due practice  Ctrl+D", name="Due practice")
        self.back = button("Back  Esc", name="Back")
        self.purpose = Picker("What the check is for")
        self.member = QLineEdit()
        self.member.setMaxLength(NAME_MOST)
        self.renamed = label("", "quiet", wraps=True)
        self.form = Picker("Form of the check")
        self.plan = label("", wraps=True)
        self.confirm = WrappingTick()
        self.message = label("", "caution", wraps=True)
        self.missing = label("", "caution", wraps=True)
        self.unsigned = label("", "caution", wraps=True)
        self.wait = WaitLine()
        self.begin = button("Begin the check  Enter", "main", name="Begin the check")
        self.earlier = table("Checks begun", STATE_HEADS, 2)
        self.none = label(NONE_YET, "quiet")
        self.resume = button("Go on")
        self.drop = button("Give up…", hint="End it without a verdict; its answers stay")
        self._lay_out()
        self._connect()
        self.say("")
        self.show_missing(())

    def show_choices(
        self, member: str, purposes: Sequence[Purpose], plans: Mapping[str, NamedPlan]
    ) -> None:
        """Show what can be begun."""
        self._purposes, self._plans, self._own_name = list(purposes), plans, member
        fill_picker(self.purpose, [(one.words, one.words) for one in self._purposes])
        fill_picker(self.form, [(one.id, form_line(one)) for one in plans.values()])
        self.confirm.setChecked(False)
        self._show_purpose()

    def show_missing(self, words: Sequence[str]) -> None:
        """Show why an assignment isn't among the choices."""
        self.missing.setText("\n".join(words))
        self.missing.setVisible(bool(words))

    def show_states(self, states: Sequence[SittingState]) -> None:
        """Show the checks of the member, and all that are open."""
        self._states = list(states)
        fill(self.earlier, [state_row(one) for one in self._states])
        if self._states:
            self.earlier.selectRow(0)
        self.earlier.setVisible(bool(self._states))
        self.none.setVisible(not self._states)
        self._show_state()

    def say(self, words: str, *, is_problem: bool = True) -> None:
        """Show why something isn't possible, or news."""
        self.message.setText(words)
        self.message.setVisible(bool(words))
        set_role(self.message, "caution" if is_problem else "quiet")

    def show_waiting(self, words: str, done: float = NOT_KNOWN, *, can_stop: bool = True) -> None:
        """Show what is going on; meanwhile nothing else can be begun."""
        self.wait.show_words(words, done, can_stop=can_stop)
        self._show_state()
        self._show_ready()

    @property
    def state(self) -> SittingState | None:
        """The earlier check in hand."""
        place = self.earlier.currentRow()
        return self._states[place] if 0 <= place < len(self._states) else None

    @property
    def chosen(self) -> Purpose | None:
        """What the check is for."""
        place = self.purpose.currentIndex()
        return self._purposes[place] if 0 <= place < len(self._purposes) else None

    def take_focus(self) -> None:
        """Put the keyboard where one begins, or goes on."""
        has_open = any(one.is_open for one in self._states)
        (self.resume if has_open and self.resume.isEnabled() else self.purpose).setFocus()

    def press_enter(self) -> None:
        """Do what comes next: go on with the check in hand, or confirm, then begin."""
        if self.earlier.hasFocus():
            self.resume.click()
        elif not self.confirm.isChecked():
            self.confirm.setFocus()
            self.say("Confirm who you are with the space bar, then press Enter.")
        else:
            self._begin()

    def _begin(self) -> None:
        if self.chosen is not None and self.begin.isEnabled():
            self.say("")
            form = self.form.currentData() or ""
            self.begun.emit(self.chosen, form, self.member.text().strip())

    def _show_purpose(self) -> None:
        """Show who is asked: the roster's name for an assignment, else one's own."""
        asked = self.chosen.assignment if self.chosen is not None else None
        self.member.setText(asked.member if asked is not None else self._own_name)
        self.member.setReadOnly(asked is not None)
        if asked is not None:
            self.form.setCurrentIndex(self.form.findData(asked.check_form))
        elif self.form.currentIndex() < 0:
            self.form.setCurrentIndex(0)
        self.form.setEnabled(asked is None)
        self.confirm.setChecked(False)
        self._show_name()
        self._show_plan()
        one = self.chosen
        words = self._caution_of(one.installation_id, one.aircraft_title) if one else ""
        self.unsigned.setText(words)
        self.unsigned.setVisible(bool(words))

    def _show_name(self) -> None:
        asked = self.chosen.assignment if self.chosen is not None else None
        club = asked.club if asked is not None else ""
        self.confirm.set_words(identity_words(self.member.text(), club))
        name = self.member.text().strip()
        is_other = bool(name) and name != self._own_name
        self.renamed.setVisible(is_other)
        self.renamed.setText(
            f"From the check on you are '{name}' in the whole program; what you answered so far"
            f" stays under '{self._own_name}'."
        )
        self._show_ready()

    def _show_plan(self) -> None:
        asked = self.chosen.assignment if self.chosen is not None else None
        found = self._plans.get(self.form.currentData() or "")
        missing = (
            f"The assignment asks for form '{asked.check_form}', which this program hasn't got."
            if asked is not None
            else ""
        )
        self.plan.setText(plan_words(found) if found is not None else missing)
        set_role(self.plan, "" if found is not None else "caution")

    def _show_ready(self) -> None:
        is_ready = self.confirm.isChecked() and bool(self.member.text().strip())
        self.begin.setEnabled(is_ready and bool(self._purposes) and self.wait.isHidden())

    def _show_state(self) -> None:
        state, is_idle = self.state, self.wait.isHidden()
        is_over = state is not None and not state.is_open
        words = "Show the outcome" if is_over else "Go on"
        whose = f"{words} as {state.sitting.member}" if state is not None and not is_over else words
        self.resume.setText(words)
        self.resume.setAccessibleName(whose)
        self.resume.setToolTip(whose)
        can_resume = state is not None and state.decision != ENDED_WITHOUT
        self.resume.setEnabled(can_resume and is_idle)
        self.drop.setEnabled(state is not None and state.is_open and is_idle)

    def _connect(self) -> None:
        self.back.clicked.connect(self.closed)
        self.due.clicked.connect(self.due_asked)
        self.begin.clicked.connect(self._begin)
        self.member.returnPressed.connect(self.press_enter)
        self.member.textChanged.connect(lambda _text: self._rename())
        self.member.inputRejected.connect(lambda: self.say(TOO_LONG))
        self.confirm.toggled.connect(lambda _on: self._show_ready())
        self.purpose.currentIndexChanged.connect(lambda _place: self._show_purpose())
        self.form.currentIndexChanged.connect(lambda _place: self._show_plan())
        self.earlier.currentCellChanged.connect(lambda *_: self._show_state())
        self.earlier.itemActivated.connect(lambda _item: self.resume.click())
        self.resume.clicked.connect(lambda: self.state and self.resumed.emit(self.state))
        self.drop.clicked.connect(lambda: self.state and self.given_up.emit(self.state))

    def _rename(self) -> None:
        """A name that is changed has to be confirmed again."""
        self.confirm.setChecked(False)
        self._show_name()

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("The club's check", "title"))
        head.addStretch(1)
        head.addWidget(self.due)
        head.addWidget(self.back)
        layout.addLayout(head)
        layout.addWidget(label(WHAT_IT_IS, wraps=True))
        layout.addWidget(self.missing)
        layout.addWidget(self.message)
        layout.addWidget(self.wait)
        both = QHBoxLayout()
        both.setSpacing(12)
        both.addWidget(self._new(), 1)
        both.addWidget(self._old(), 1)
        layout.addLayout(both, 1)

    def _new(self) -> QWidget:
        frame, column = panel("A new check")
        column.addWidget(label("A new check", "heading"))
        column.addLayout(named("What it is for", self.purpose))
        column.addLayout(named("Your name, kept with your answers", self.member))
        column.addWidget(self.renamed)
        column.addLayout(named("Form", self.form))
        # The lead's rationale may be long, and the window small.
        column.addWidget(_scrolled(self.plan, "What the form asks for"), 1)
        column.addWidget(self.unsigned)
        column.addWidget(self.confirm)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.begin)
        column.addLayout(foot)
        return frame

    def _old(self) -> QWidget:
        frame, column = panel("How it goes")
        column.addWidget(label("How it goes", "heading"))
        column.addWidget(label(HOW_IT_GOES, wraps=True))
        column.addWidget(label("Checks begun", "heading"))
        column.addWidget(self.none)
        header = self.earlier.horizontalHeader()
        header.setSectionResizeMode(_MEMBER_COLUMN, QHeaderView.ResizeMode.Interactive)
        self.earlier.setColumnWidth(_MEMBER_COLUMN, _MEMBER_PX)  # the tool tip has a long name
        column.addWidget(self.earlier, 1)
        column.addStretch(0)
        foot = QHBoxLayout()
        foot.addWidget(self.drop)
        foot.addStretch(1)
        foot.addWidget(self.resume)
        column.addLayout(foot)
        return frame


def _scrolled(words: QWidget, name: str) -> QScrollArea:
    """Return words that scroll where they don't fit, also with the keys."""
    inner = QWidget()
    inner.setObjectName("plain")
    column = QVBoxLayout(inner)
    column.setContentsMargins(0, 0, 8, 0)
    column.addWidget(words)
    column.addStretch(1)
    return scroll_area(inner, name)
