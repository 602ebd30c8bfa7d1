"""Due practice: the rules that have come up, when each is due again, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.ui.check.check_wait import WaitLine
from trainer.ui.check.due_desk import DueRule
from trainer.ui.check.due_words import HEADS, WHAT_IT_IS, rule_row, summary_words, why_words
from trainer.ui.club.club_kit import fill, fill_picker, named, row, table
from trainer.ui.look.kit import button, label, panel, set_role
from trainer.ui.look.picker import Picker


class DuePage(QWidget):
    """A list on the left, the rule in hand on the right."""

    aircraft_chosen = Signal(str)
    practised = Signal(str)
    """The rule to be met; empty: a new one."""
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._rules: list[DueRule] = []
        self._now = datetime.now(UTC)
        self.back = button("Back  Esc", name="Back")
        self.aircraft = Picker("Aircraft")
        self.summary = label("", "heading", wraps=True)
        self.message = label("", "caution", wraps=True)
        self.wait = WaitLine()
        self.list = table("Rules met", HEADS)
        self.sentence = label("", "heading", wraps=True)
        self.why = label("", wraps=True)
        self.new = button("Something new", hint="A rule that you haven't met yet")
        self.practise = button("Practise  Enter", "main", name="Practise")
        self._lay_out()
        self._connect()
        self.say("")

    def show_aircraft(self, titles: Mapping[str, str], chosen: str) -> None:
        """Show the aircraft."""
        fill_picker(self.aircraft, titles.items())
        place = self.aircraft.findData(chosen)
        self.aircraft.setCurrentIndex(max(0, place))

    def show_rules(self, rules: Sequence[DueRule], now: datetime) -> None:
        """Show the rules met in the aircraft, and keep the one in hand unless another is due."""
        self._rules, self._now = list(rules), now
        self.summary.setText(summary_words(self._rules, now))
        fill(self.list, [rule_row(one, now) for one in self._rules])
        if self._rules:
            self.list.selectRow(0)
        self.panel.setVisible(bool(self._rules))
        self.list.setVisible(bool(self._rules))
        self._show_rule()

    def say(self, words: str) -> None:
        """Show why something isn't possible."""
        self.message.setText(words)
        self.message.setVisible(bool(words))
        set_role(self.message, "caution")

    def show_waiting(self, words: str, done: float) -> None:
        """Show what is going on and how far it is; meanwhile nothing else can be begun."""
        self.wait.show_words(words, done)
        self._show_rule()

    @property
    def rule(self) -> DueRule | None:
        """The rule in hand."""
        place = self.list.currentRow()
        return self._rules[place] if 0 <= place < len(self._rules) else None

    def take_focus(self) -> None:
        """Put the keyboard on the list, or on what is left to do."""
        (self.list if self._rules else self.new).setFocus()

    def press_enter(self) -> None:
        """Practise the rule in hand, or something new where there is none."""
        (self.practise if self._rules else self.new).click()

    def _show_rule(self) -> None:
        one, is_idle = self.rule, self.wait.isHidden()
        self.sentence.setText(one.sentence if one is not None else "")
        self.why.setText(why_words(one, self._now) if one is not None else "")
        self.practise.setEnabled(one is not None and one.can_ask and is_idle)
        self.new.setEnabled(is_idle)

    def _practise(self) -> None:
        if self.rule is not None:
            self.practised.emit(self.rule.rule)

    def _connect(self) -> None:
        self.back.clicked.connect(self.closed)
        self.aircraft.activated.connect(
            lambda _place: self.aircraft_chosen.emit(self.aircraft.currentData())
        )
        self.list.currentCellChanged.connect(lambda *_: self._show_rule())
        self.list.itemActivated.connect(lambda _item: self.practise.click())
        self.practise.clicked.connect(self._practise)
        self.new.clicked.connect(lambda: self.practised.emit(""))

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Due practice", "title"))
        head.addStretch(1)
        head.addWidget(self.back)
        layout.addLayout(head)
        layout.addWidget(label(WHAT_IT_IS, wraps=True))
        layout.addLayout(row(named("Aircraft", self.aircraft)))
        layout.addWidget(self.summary)
        layout.addWidget(self.message)
        layout.addWidget(self.wait)
        both = QHBoxLayout()
        both.setSpacing(12)
        both.addWidget(self.list, 3)
        self.panel, column = panel("Rule in hand")
        column.addWidget(self.sentence)
        column.addWidget(label("Why it comes up", "group"))
        column.addWidget(self.why)
        column.addStretch(1)
        both.addWidget(self.panel, 2)
        layout.addLayout(both, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.new)
        foot.addWidget(self.practise)
        layout.addLayout(foot)
