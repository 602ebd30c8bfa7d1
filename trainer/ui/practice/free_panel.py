"""What free practice offers while flying: drills, malfunctions, and the stick."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from trainer.session.faults import FAULTS, SELECTOR_FAULTS
from trainer.ui.look.kit import button, label
from trainer.ui.look.picker import Picker
from trainer.ui.look.theme import Theme
from trainer.ui.look.tick_box import TickBox
from trainer.ui.practice.free_flight import DRILL_RATES, rate_words
from trainer.ui.practice.stick_pad import StickPad


class FreePanel(QWidget):
    """Says what is wanted; decides nothing."""

    drill_chosen = Signal(int)
    verify_chosen = Signal(bool)
    fault_switched = Signal(str, bool)
    hands_chosen = Signal(bool)
    stick_moved = Signal(float, float)
    save_asked = Signal()
    lesson_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self.drill = Picker("Call it first")
        for rate in DRILL_RATES:
            self.drill.addItem(rate_words(rate), rate)
        self.verify = TickBox("Verify: a key or selector may fail")
        self.fault = Picker("Malfunction")
        for fault, words in (FAULTS | SELECTOR_FAULTS).items():
            self.fault.addItem(words, fault)
        self.fault_on = TickBox("on")
        self.fault_on.setAccessibleName("Malfunction on")
        self.hands = TickBox("Fly by hand when the servos are off")
        self.stick = StickPad()
        self.save = button("Save this moment…", name="Save this moment")
        self.lesson = button("Make a lesson of it  Ctrl+L", name="Make a lesson of this flight")
        self._on: set[str] = set()
        self._lay_out()
        self._connect()

    def reset(
        self,
        drill_rate: int,
        *,
        verifies: bool = False,
        faults: Iterable[str] = (),
        has_hands: bool = False,
    ) -> None:
        """Show a new flight as it begins: its drills, what has failed, and who flies."""
        self._on = set(faults)
        shown = next((fault for fault in self._on if self.fault.findData(fault) >= 0), None)
        if shown is not None:
            self.fault.setCurrentIndex(self.fault.findData(shown))
        self._show_fault()
        for widget, is_on in ((self.verify, verifies), (self.hands, has_hands)):
            widget.blockSignals(True)
            widget.setChecked(is_on)
            widget.blockSignals(False)
        self.drill.setCurrentIndex(DRILL_RATES.index(drill_rate))
        self.stick.setVisible(has_hands)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.stick.set_theme(theme)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(label("Drills", "group"))
        for widget in (self.drill, self.verify):
            column.addWidget(widget)
        column.addWidget(label("Malfunctions", "group"))
        row = QHBoxLayout()
        row.addWidget(self.fault, 1)
        row.addWidget(self.fault_on)
        column.addLayout(row)
        column.addWidget(label("Hands", "group"))
        column.addWidget(self.hands)
        column.addWidget(self.stick)
        for widget in (self.save, self.lesson):
            column.addWidget(widget)

    def _connect(self) -> None:
        self.drill.activated.connect(lambda _i: self.drill_chosen.emit(self.drill.currentData()))
        self.verify.toggled.connect(self.verify_chosen)
        self.fault.activated.connect(self._show_fault)
        self.fault_on.toggled.connect(self._switch)
        self.save.clicked.connect(self.save_asked)
        self.lesson.clicked.connect(self.lesson_asked)
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
