"""The aircraft's controls: plain words, grouped by what they do, each with its key."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QVBoxLayout, QWidget

from trainer.ui.look.kit import label
from trainer.ui.look.selector_row import SelectorRow
from trainer.ui.look.word_button import WordButton
from trainer.ui.practice.controls import GROUP_TITLES, SELECTORS, Control

COLUMNS = 2
SOURCE_KEY = "N"


class ControlsPanel(QScrollArea):
    """Says what the pilot presses and turns; keys and buttons act only while allowed."""

    pressed = Signal(str)
    """An event's id."""
    selected = Signal(str, float)
    """A selector's name and its new value."""
    source_asked = Signal()
    """The next navigation source is wanted."""

    def __init__(self, controls: tuple[Control, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Controls")
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.buttons: dict[str, WordButton] = {}
        self.selectors: dict[str, SelectorRow] = {}
        self._shortcuts: list[QShortcut] = []
        self._is_acting = True
        self.reference = label("", "quiet")
        self.source = WordButton("Source", SOURCE_KEY)
        self.source.clicked.connect(self.source_asked)
        self.set_controls(controls)

    @property
    def is_acting(self) -> bool:
        """True while keys and buttons act."""
        return self._is_acting

    def set_controls(self, controls: tuple[Control, ...]) -> None:
        """Show the controls of another aircraft."""
        for shortcut in self._shortcuts:
            shortcut.setParent(None)
            shortcut.deleteLater()
        self._shortcuts = []
        self.buttons = {}
        self.reference.setParent(None)
        self.source.setParent(None)
        inner = QWidget()
        inner.setObjectName("plain")
        layout = QVBoxLayout(inner)
        layout.setContentsMargins(0, 0, 4, 0)
        layout.setSpacing(4)
        for group, title in GROUP_TITLES.items():
            members = [control for control in controls if control.group == group]
            if members:
                layout.addWidget(label(title, "group"))
                layout.addLayout(self._group(members))
                layout.addSpacing(2)
        layout.addWidget(self.reference)
        layout.addSpacing(2)
        layout.addWidget(label("Select", "group"))
        self._add_selectors(layout)
        layout.addWidget(self.source)
        self._shortcut(SOURCE_KEY, self.source.click)
        layout.addStretch(1)
        self.setWidget(inner)
        self.set_acting(self._is_acting)

    def set_acting(self, is_acting: bool) -> None:
        """Let keys and buttons act, or not: while a question is open, nothing acts."""
        self._is_acting = is_acting
        for widget in (*self.buttons.values(), self.source):
            widget.setEnabled(is_acting)
        for row in self.selectors.values():
            row.set_acting(is_acting)
        for shortcut in self._shortcuts:
            shortcut.setEnabled(is_acting)

    def show_values(
        self, values: Mapping[str, float | None], source_label: str, reference: str
    ) -> None:
        """Show what is selected, the source in use and the reference of the vertical mode."""
        for name, row in self.selectors.items():
            row.show_value(values.get(name))
            row.set_acting(self._is_acting)
        self.source.set_word(f"Source: {source_label or 'none'}")
        self.reference.setText(reference)

    def _group(self, members: list[Control]) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(4)
        for place, control in enumerate(members):
            widget = WordButton(control.label, control.key)
            widget.setObjectName(f"control_{control.event}")
            if control.release_event:
                widget.pressed.connect(lambda e=control.event: self.pressed.emit(e))
                widget.released.connect(lambda e=control.release_event: self.pressed.emit(e))
            else:
                widget.clicked.connect(lambda _on=False, e=control.event: self.pressed.emit(e))
            self.buttons[control.event] = widget
            grid.addWidget(widget, *divmod(place, COLUMNS))
            self._shortcut(control.key, widget.click)
        for column in range(COLUMNS):
            grid.setColumnStretch(column, 1)
        return grid

    def _add_selectors(self, layout: QVBoxLayout) -> None:
        self.selectors = {}
        for selector in SELECTORS:
            row = SelectorRow(selector)
            row.turned_to.connect(self.selected)
            self.selectors[selector.name] = row
            layout.addWidget(row)
            for key, clicks in ((selector.down_key, -1), (selector.up_key, 1)):
                self._shortcut(key, lambda r=row, c=clicks: r.turn(c, is_big=False))
                self._shortcut(f"Shift+{key}", lambda r=row, c=clicks: r.turn(c, is_big=True))

    def _shortcut(self, keys: str, act: object) -> None:
        if not keys:
            return
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WindowShortcut)
        shortcut.activated.connect(act)
        self._shortcuts.append(shortcut)
