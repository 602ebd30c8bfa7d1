"""Starts the window; says clearly what is missing where Qt can't be loaded."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from trainer.ui.main_window import MainWindow

DEBIAN_LINE = (
    "apt-get install libegl1 libgl1 libxkbcommon0 libdbus-1-3 libfontconfig1 libglib2.0-0"
    " libxcb-cursor0 libxcb-icccm4 libxcb-image0 libxcb-keysyms1 libxcb-randr0"
    " libxcb-render-util0 libxcb-shape0 libxcb-xinerama0 libxcb-xkb1 libxkbcommon-x11-0"
)
"""Packages that Qt's window needs on a bare Debian 12 or newer."""


def missing_library_message(error: ImportError) -> str:
    """Return what to do when PySide6 can't be imported."""
    reason = str(error)
    if isinstance(error, ModuleNotFoundError) and (error.name or "").startswith("PySide6"):
        return f"The window needs PySide6, which isn't installed: {reason}\npip install PySide6"
    return (
        f"The window can't start because a system library is missing: {reason}\n"
        f"On Debian or Ubuntu this mends it:\n  {DEBIAN_LINE}"
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window and return the exit code when it closes; 2 if it can't be opened."""
    try:
        app, window = build(argv or ())
    except ImportError as error:
        sys.stderr.write(missing_library_message(error) + "\n")
        return 2
    window.show()
    return int(app.exec())


def build(argv: Sequence[str] = ()) -> tuple[QApplication, MainWindow]:
    """Return the application and its window, not shown yet.

    Raises:
        ImportError: Qt can't be loaded.
    """
    from PySide6.QtWidgets import QApplication

    from trainer.ui.main_window import MainWindow
    from trainer.ui.preferences import user_folder

    app = QApplication(["mode-trainer", *argv])
    app.setApplicationName("Mode trainer")
    app.setStyle("Fusion")
    return app, MainWindow(user_folder(), open_workspace)


def open_workspace() -> object:
    """Return the program's own workspace; imported late, so that the window is up first."""
    from trainer.app import Workspace

    return Workspace()
