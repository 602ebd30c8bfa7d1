"""Settings: motion, and a key of one's own for each control of the aircraft."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.look.kit import button, label, panel, set_role
from trainer.ui.look.picker import Picker
from trainer.ui.look.tick_box import TickBox
from trainer.ui.practice.controls import GROUP_TITLES, Control
from trainer.ui.window.key_map import key_problem
from trainer.ui.window.preferences import Preferences

HINT = "Choose a control, press 'Change key', then the new key. Esc keeps the old one."
VOLUMES = (0, 25, 50, 75, 100)
_BARE = (
    Qt.Key.Key_Shift,
    Qt.Key.Key_Control,
    Qt.Key.Key_Alt,
    Qt.Key.Key_Meta,
    Qt.Key.Key_AltGr,
)


class SettingsPage(QWidget):
    """Says what is wanted; the window remembers it."""

    closed = Signal()
    still_chosen = Signal(bool)
    sound_chosen = Signal(int, bool)
    """Volume [%] and whether captures are heard."""
    key_chosen = Signal(str, str)
    """An event and its new key."""
    keys_reset = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._controls: tuple[Control, ...] = ()
        self._is_waiting = False
        self.still = TickBox("Reduced motion: nothing pulses")
        self.volume = Picker("Volume")
        for percent in VOLUMES:
            self.volume.addItem(f"{percent} %" if percent else "Mute", percent)
        self.capture = TickBox("A tone when a mode changes by itself")
        self.table = QTableWidget(0, 3)
        self.change = button("Change key", "main")
        self.usual = button("All usual keys")
        self.message = label(HINT, "quiet", wraps=True)
        self._lay_out()
        self.still.toggled.connect(self.still_chosen)
        self.volume.activated.connect(lambda _place: self._sound())
        self.capture.clicked.connect(self._sound)
        self.change.clicked.connect(self._wait)
        self.usual.clicked.connect(self.keys_reset)
        self.change.installEventFilter(self)

    def show_settings(self, controls: tuple[Control, ...], chosen: Preferences) -> None:
        """Show what is chosen now."""
        self._controls = controls
        self.still.blockSignals(True)
        self.still.setChecked(chosen.is_still)
        self.still.blockSignals(False)
        nearest = min(VOLUMES, key=lambda percent: abs(percent - chosen.volume_percent))
        self.volume.setCurrentIndex(VOLUMES.index(nearest))
        self.capture.setChecked(chosen.has_capture_tone)
        row = max(0, self.table.currentRow())
        self.table.setRowCount(len(controls))
        for place, control in enumerate(controls):
            for column, text in enumerate(
                (control.label, GROUP_TITLES[control.group], control.key)
            ):
                self.table.setItem(place, column, QTableWidgetItem(text))
        self.table.selectRow(row)
        self._say(HINT, "quiet")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """See what a watched widget is told: the next key is the new one."""
        is_key = event.type() in (QEvent.Type.KeyPress, QEvent.Type.ShortcutOverride)
        if not self._is_waiting or not is_key:
            return super().eventFilter(watched, event)
        event.accept()
        if event.type() == QEvent.Type.KeyPress:
            self._take(event)
        return True

    def _sound(self) -> None:
        self.sound_chosen.emit(self.volume.currentData(), self.capture.isChecked())

    def _wait(self) -> None:
        self._is_waiting = True
        self.change.setFocus()
        control = self._controls[self.table.currentRow()]
        self._say(f"Press the new key for {control.label}.", "caution")

    def _take(self, event: QKeyEvent) -> None:
        if event.key() in _BARE:
            return
        self._is_waiting = False
        if event.key() == Qt.Key.Key_Escape:
            self._say(HINT, "quiet")
            return
        key = QKeySequence(event.keyCombination()).toString()
        control = self._controls[self.table.currentRow()]
        problem = key_problem(key, control.event, self._controls)
        if problem:
            self._say(problem, "wrong")
        else:
            self.key_chosen.emit(control.event, key)

    def _say(self, words: str, role: str) -> None:
        self.message.setText(words)
        set_role(self.message, role)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Settings", "title"))
        head.addStretch(1)
        back = button("Back  Esc", name="Back")
        back.clicked.connect(self.closed)
        head.addWidget(back)
        layout.addLayout(head)
        frame, column = panel("Settings")
        column.addWidget(label("Motion", "group"))
        column.addWidget(self.still)
        column.addSpacing(8)
        column.addWidget(label("Sound", "group"))
        sound = QHBoxLayout()
        sound.addWidget(self.volume)
        sound.addWidget(self.capture)
        sound.addStretch(1)
        column.addLayout(sound)
        column.addSpacing(8)
        column.addWidget(label("Keys of the aircraft", "group"))
        column.addWidget(self.message)
        self._set_up_table()
        column.addWidget(self.table, 1)
        row = QHBoxLayout()
        row.addWidget(self.change)
        row.addWidget(self.usual)
        row.addStretch(1)
        column.addLayout(row)
        layout.addWidget(frame, 1)

    def _set_up_table(self) -> None:
        self.table.setHorizontalHeaderLabels(["Control", "Group", "Key"])
        self.table.setAccessibleName("Keys of the aircraft")
        self.table.verticalHeader().hide()
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.table.horizontalHeader().setHighlightSections(False)
        self.table.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
