"""One selector: its name, its value, and buttons to turn it down and up."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QApplication, QHBoxLayout, QPushButton, QWidget

from trainer.ui.look.kit import button, label
from trainer.ui.practice.controls import Selector, turned, value_words


class SelectorRow(QWidget):
    """Turns; `turned_to` carries the selector's name and the new value."""

    turned_to = Signal(str, float)

    def __init__(self, selector: Selector, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        self._selector = selector
        self._value: float | None = None
        self._value_label = label("—", "number")
        self.buttons: list[QPushButton] = []
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(label(selector.label), 1)
        row.addWidget(self._value_label)
        for clicks, word, key in (
            (-1, "down", selector.down_key),
            (1, "up", selector.up_key),
        ):
            sign = "\N{MINUS SIGN}" if clicks < 0 else "+"
            name = f"{selector.label} {word}"
            widget = button(sign, "step", name=name, hint=f"{name}: key {key}; with Shift: more")
            widget.setAutoRepeat(True)
            widget.setFixedWidth(30)
            widget.clicked.connect(lambda _on=False, c=clicks: self.turn(c))
            self.buttons.append(widget)
            row.addWidget(widget)
        keys = label(f"{_short(selector.down_key)} {_short(selector.up_key)}", "quiet")
        keys.setFixedWidth(42)
        row.addWidget(keys)

    def show_value(self, value: float | None) -> None:
        """Show the value in use; None greys the selector."""
        self._value = value
        text = value_words(self._selector, value)
        if self._value_label.text() != text:
            self._value_label.setText(text)
            self._value_label.setAccessibleName(f"{self._selector.label}: {text}")

    def set_acting(self, is_acting: bool) -> None:
        """Let the buttons act, or not."""
        for widget in self.buttons:
            widget.setEnabled(is_acting and self._value is not None)

    def turn(self, clicks: int, *, is_big: bool | None = None) -> None:
        """Turn by some clicks; Shift held makes them big."""
        if self._value is None:
            return
        if is_big is None:
            held = QApplication.keyboardModifiers()
            is_big = bool(held & Qt.KeyboardModifier.ShiftModifier)
        value = turned(self._selector, self._value, clicks, is_big=is_big)
        self.turned_to.emit(self._selector.name, value)


def _short(key: str) -> str:
    return {"Ctrl+Down": "^↓", "Ctrl+Up": "^↑"}.get(key, key)
