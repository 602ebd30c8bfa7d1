"""What was done last, for a report: which keys and buttons, never what was typed."""

from __future__ import annotations

import time
from collections import deque

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QTextEdit, QWidget

MOST_EVENTS = 60
_TYPED_INTO = (QLineEdit, QTextEdit)
_WATCHED = frozenset(
    {QEvent.Type.KeyPress, QEvent.Type.MouseButtonRelease, QEvent.Type.WindowActivate}
)
_NAMED_KEYS = Qt.Key.Key_Escape  # every key from here on has a name instead of a letter


class LastEvents(QObject):
    """Watches an application; keeps the latest of what its user did."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._began_s = time.monotonic()
        self._events: deque[str] = deque(maxlen=MOST_EVENTS)

    @property
    def lines(self) -> tuple[str, ...]:
        """The events, oldest first, with the seconds since the start."""
        return tuple(self._events)

    def watch(self, app: QApplication) -> None:
        """Begin to watch."""
        app.installEventFilter(self)

    def note(self, words: str) -> None:
        """Keep one more event."""
        self._events.append(f"{time.monotonic() - self._began_s:.1f} s  {words}")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """See what a widget is told; nothing is ever held back."""
        if event.type() in _WATCHED and isinstance(watched, QWidget):
            words = _words(watched, event)
            if words:
                self.note(words)
        return False


def _words(widget: QWidget, event: QEvent) -> str:
    kind = type(widget).__name__
    if event.type() == QEvent.Type.WindowActivate:
        return f"window {kind} in front" if widget.isWindow() else ""
    if event.type() == QEvent.Type.MouseButtonRelease:
        name = widget.accessibleName() if isinstance(widget, QAbstractButton) else ""
        return f"click on {kind} {name!r}" if name else f"click on {kind}"
    return _key_words(widget, event, kind)


def _key_words(widget: QWidget, event: QKeyEvent, kind: str) -> str:
    # A key goes up from a widget to its parents; only the one with the focus tells it.
    if QApplication.focusWidget() is not widget:
        return ""
    is_typed = isinstance(widget, _TYPED_INTO) and event.key() < _NAMED_KEYS
    if is_typed and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
        return f"a key typed into {kind}"
    return f"key {QKeySequence(event.keyCombination()).toString()!a} in {kind}"
