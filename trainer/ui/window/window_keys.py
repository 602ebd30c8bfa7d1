"""The keys of the whole window; few of them act while a check asks."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QKeySequence, QShortcut

from trainer.ui.window.main_key import press_main

if TYPE_CHECKING:
    from trainer.ui.window.main_window import MainWindow


class WindowKeys:
    """Owns the shortcuts of a window that no button carries."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._hushed: list[QShortcut] = []
        for keys, act in (
            ("Ctrl+K", lambda: window.desk and window.desk.aircraft.show_statechart()),
            ("Ctrl+L", window.show_write),
            ("Ctrl+Z", self._undo),
            ("Ctrl+D", lambda: window.desk and window.desk.rooms.show_due()),
        ):
            self._hushed.append(self._shortcut(keys, act))
        self._shortcut("Esc", self._back)
        for key in ("Return", "Enter"):
            self._shortcut(key, lambda: press_main(window))

    def set_quiet(self, is_quiet: bool) -> None:
        """Let only Enter and Esc act, or all of them."""
        for shortcut in self._hushed:
            shortcut.setEnabled(not is_quiet)

    def _shortcut(self, keys: str, act: Callable[[], object]) -> QShortcut:
        shortcut = QShortcut(QKeySequence(keys), self._window)
        shortcut.activated.connect(act)
        return shortcut

    def _undo(self) -> None:
        """Go back to before the last key or setting, as a new branch; free practice only."""
        window, flown = self._window, self._window.practice
        on_page = window.desk is not None and window.pages.currentWidget() is window.desk.page
        if on_page and flown is not None and (before := window.desk.undone(flown)) is not None:
            window.open_item(before)

    def _back(self) -> None:
        """Esc leaves a debrief for its flight, and any other page for the one it came from."""
        window = self._window
        page = window.pages.currentWidget()
        desk = window.desk
        if desk is not None and (desk.rooms.press_esc(page) or desk.aircraft.press_esc(page)):
            return
        is_debrief = window.desk is not None and page is window.desk.debrief
        if is_debrief and window.practice is not None:
            window.back_to_flight()
        else:
            window.end_lesson()
