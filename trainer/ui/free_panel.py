"""What free practice offers while flying: drills, malfunctions, and the stick."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.session.faults import FAULTS
from trainer.ui.free_flight import DRILL_RATES, rate_words
from trainer.ui.kit import button, label
from trainer.ui.picker import Picker
from trainer.ui.stick_pad import StickPad
from trainer.ui.theme import Theme
from trainer.ui.tick_box import TickBox

NOTICE_KEY = "Ctrl+B"


class FreePanel(QWidget):
    """Says what is wanted; decides nothing."""

    drill_chosen = Signal(int)
    verify_chosen = Signal(bool)
    noticed = Signal()
    fault_switched = Signal(str, bool)
    hands_chosen = Signal(bool)
    stick_moved = Signal(float, float)
    save_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.drill = Picker("Call it first")
        for rate in DRILL_RATES:
            self.drill.addItem(rate_words(rate), rate)
        self.verify = TickBox("Verify: a key may be dead")
        self.notice = button(f"Not what I asked  {NOTICE_KEY}", name="Not what I asked")
        self.record = label("", "quiet")
        self.fault = Picker("Malfunction")
        for fault, words in FAULTS.items():
            self.fault.addItem(words, fault)
        self.fault_on = TickBox("on")
        self.fault_on.setAccessibleName("Malfunction on")
        self.hands = TickBox("Fly by hand when the servos are off")
        self.stick = StickPad()
        self.save = button("Save this moment…", name="Save this moment")
        self._on: set[str] = set()
        self._lay_out()
        self._connect()

    def reset(self, drill_rate: int) -> None:
        """Show a new flight: no drill but the one chosen, nothing failed, the pilot flies."""
        self._on.clear()
        for widget in (self.verify, self.fault_on, self.hands):
            widget.blockSignals(True)
            widget.setChecked(False)
            widget.blockSignals(False)
        self.drill.blockSignals(True)
        self.drill.setCurrentIndex(DRILL_RATES.index(drill_rate))
        self.drill.blockSignals(False)
        self.show_record("")
        self.stick.setVisible(False)

    def show_record(self, words: str) -> None:
        """Show the record of the verify drill; empty: the drill is off."""
        self.record.setText(words)
        for widget in (self.record, self.notice):
            widget.setVisible(bool(words))

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.stick.set_theme(theme)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(label("Drills", "group"))
        for widget in (self.drill, self.verify, self.notice, self.record):
            column.addWidget(widget)
        column.addWidget(label("Malfunctions", "group"))
        row = QHBoxLayout()
        row.addWidget(self.fault, 1)
        row.addWidget(self.fault_on)
        column.addLayout(row)
        column.addWidget(label("Hands", "group"))
        column.addWidget(self.hands)
        column.addWidget(self.stick)
        column.addWidget(self.save)

    def _connect(self) -> None:
        self.drill.activated.connect(lambda _i: self.drill_chosen.emit(self.drill.currentData()))
        self.verify.toggled.connect(self.verify_chosen)
        self.notice.clicked.connect(self.noticed)
        QShortcut(QKeySequence(NOTICE_KEY), self).activated.connect(self.notice.click)
        self.fault.activated.connect(self._show_fault)
        self.fault_on.toggled.connect(self._switch)
        self.save.clicked.connect(self.save_asked)
        self.hands.toggled.connect(self.stick.setVisible)
        self.hands.toggled.connect(self.hands_chosen)
        self.stick.moved.connect(self.stick_moved)

    def _show_fault(self) -> None:
        self.fault_on.blockSignals(True)
        self.fault_on.setChecked(self.fault.currentData() in self._on)
        self.fault_on.blockSignals(False)

    def _switch(self, is_on: bool) -> None:
        fault = self.fault.currentData()
        (self._on.add if is_on else self._on.discard)(fault)
        self.fault_switched.emit(fault, is_on)
