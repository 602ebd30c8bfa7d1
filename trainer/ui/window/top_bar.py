"""The bar on top: where to go, and how time runs. Every button has its key beside it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from trainer.ui.look.kit import button, label
from trainer.ui.look.picker import Picker
from trainer.ui.look.theme import APPEARANCE_LABELS, APPEARANCES, Appearance

CLOCK_KEYS = ("F5", "F6", "F7", "F8", "F9")


class TopBar(QFrame):
    """Says what is wanted; decides nothing."""

    lessons_asked = Signal()
    attempts_asked = Signal()
    free_asked = Signal()
    run_toggled = Signal()
    speed_changed = Signal(int)
    restart_asked = Signal()
    debrief_asked = Signal()
    designer_asked = Signal()
    settings_asked = Signal()
    club_asked = Signal()
    aircraft_asked = Signal()
    check_asked = Signal()
    help_asked = Signal()
    appearance_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("panel")
        self.setAccessibleName("Commands")
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        row.setSpacing(4)
        self.lessons = self._button(row, "Lessons", "F2", self.lessons_asked.emit)
        self.free = self._button(row, "Free practice", "F3", self.free_asked.emit)
        self.attempts = self._button(row, "My attempts", "F4", self.attempts_asked.emit)
        self.designer = self._button(row, "My strip", "F10", self.designer_asked.emit)
        self.settings = self._button(row, "Settings", "F12", self.settings_asked.emit)
        self.club = self._button(row, "Club", "F11", self.club_asked.emit)
        self.aircraft = self._button(row, "Aircraft", "Ctrl+I", self.aircraft_asked.emit)
        self.check = self._button(row, "Check", "Ctrl+T", self.check_asked.emit)
        row.addStretch(1)
        self.clock = label("0:00", "number")
        self.clock.setMinimumWidth(52)
        self.run = self._button(row, "Run", "F5", self.run_toggled.emit)
        self.run.setMinimumWidth(84)
        row.addWidget(self.clock)
        self.slower = self._button(row, "Slower", "F6", lambda: self.speed_changed.emit(-1))
        self.speed = label("1x", "number")
        self.speed.setAccessibleName("Speed 1 times")
        row.addWidget(self.speed)
        self.faster = self._button(row, "Faster", "F7", lambda: self.speed_changed.emit(1))
        self.restart = self._button(row, "Restart", "F8", self.restart_asked.emit)
        self.debrief = self._button(row, "Debrief", "F9", self.debrief_asked.emit)
        row.addStretch(1)
        self.appearance = Picker("Appearance")
        for name in APPEARANCES:
            self.appearance.addItem(APPEARANCE_LABELS[name], name)
        self.appearance.activated.connect(
            lambda place: self.appearance_chosen.emit(self.appearance.itemData(place))
        )
        row.addWidget(self.appearance)
        self.help = self._button(row, "Help", "F1", self.help_asked.emit)

    def show_appearance(self, appearance: Appearance) -> None:
        """Show which appearance is in use."""
        self.appearance.setCurrentIndex(APPEARANCES.index(appearance))

    def show_time(self, clock: str, speed: int, *, is_running: bool, can_run: bool) -> None:
        """Show how time runs."""
        self.clock.setText(clock)
        self.clock.setAccessibleName(f"Simulated time {clock}")
        self.speed.setText(f"{speed}x")
        self.speed.setAccessibleName(f"Speed {speed} times")
        word = "Pause" if is_running else "Run"
        if self.run.accessibleName() != word:
            self.run.setText(f"{word}  F5")
            self.run.setAccessibleName(word)
        self.run.setEnabled(can_run)

    def show_flying(self, is_flying: bool) -> None:
        """Show the buttons of time only where something flies."""
        clock = (self.run, self.clock, self.slower, self.speed, self.faster, self.restart)
        for widget in (*clock, self.debrief):
            widget.setVisible(is_flying)
        away = (self.designer, self.settings, self.club, self.aircraft, self.check)
        for widget in away:
            widget.setVisible(not is_flying)

    def _button(self, row: QHBoxLayout, word: str, key: str, act: object) -> QPushButton:
        widget = button(f"{word}  {key}", name=word)
        widget.clicked.connect(lambda _on=False: act())
        # A page without a clock may use these keys itself: they act where their button is seen.
        owner = widget if key in CLOCK_KEYS else self
        shortcut = QShortcut(QKeySequence(key), owner)
        shortcut.activated.connect(widget.click)
        row.addWidget(widget)
        return widget
