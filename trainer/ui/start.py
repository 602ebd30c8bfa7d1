"""Starts the window; says clearly what is missing where Qt can't be loaded."""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from trainer.ui.window.main_window import MainWindow

TITLE = "Mode trainer"
DEBIAN_LINE = (
    "apt-get install libegl1 libgl1 libxkbcommon0 libxkbcommon-x11-0 libdbus-1-3 libfontconfig1"
    " libglib2.0-0 libx11-xcb1 libxcb-cursor0 libxcb-icccm4 libxcb-image0 libxcb-keysyms1"
    " libxcb-randr0 libxcb-render-util0 libxcb-shape0 libxcb-sync1 libxcb-xfixes0 libxcb-xkb1"
)
"""Packages that Qt's window needs on a bare Debian: what its libraries name as needed."""
SCREEN_LIBRARIES = (
    "libxcb-cursor.so.0",
    "libxcb-icccm.so.4",
    "libxcb-image.so.0",
    "libxcb-keysyms.so.1",
    "libxcb-randr.so.0",
    "libxcb-render-util.so.0",
    "libxcb-shape.so.0",
    "libxcb-sync.so.1",
    "libxcb-xfixes.so.0",
    "libxcb-xkb.so.1",
    "libxkbcommon-x11.so.0",
    "libX11-xcb.so.1",
)
"""Qt loads these only when it opens the screen, and ends the program if one is missing."""


def screen_problem(
    environment: Mapping[str, str], platform: str, load: Callable[[str], object]
) -> str:
    """Return why no window can be opened, or an empty text.

    Args:
        environment: The environment variables.
        platform: `sys.platform`.
        load: Loads a library by name or raises OSError.
    """
    if not platform.startswith("linux") or environment.get("QT_QPA_PLATFORM", "xcb") != "xcb":
        return ""
    if environment.get("WAYLAND_DISPLAY"):
        return ""
    if not environment.get("DISPLAY"):
        return (
            "The window can't open: there is no screen (DISPLAY isn't set).\n"
            "Commands work without one: mode-trainer --help"
        )
    for name in SCREEN_LIBRARIES:
        try:
            load(name)
        except OSError as error:
            return missing_library_message(ImportError(str(error)))
    return ""


def binding_problem(call: Callable[[], None]) -> str:
    """Return why the installed PySide6 would end the program after some minutes, or an empty text.

    PySide6 6.12.0 gives away a reference to None at each call on Python 3.11, which ends the
    program once none is left; on Python 3.12 and newer None can't be lost.

    Args:
        call: A call into Qt that returns nothing.
    """
    calls = 100
    before = sys.getrefcount(None)
    for _ in range(calls):
        call()
    if before - sys.getrefcount(None) < calls // 2:
        return ""
    return (
        "The installed PySide6 doesn't work with this Python: it would end the program after some"
        " minutes.\npip install 'PySide6-Essentials<6.12', or use Python 3.12 or newer"
    )


def missing_library_message(error: ImportError) -> str:
    """Return what to do when PySide6 can't be imported."""
    reason = str(error)
    if isinstance(error, ModuleNotFoundError) and (error.name or "").startswith("PySide6"):
        cure = "pip install PySide6-Essentials"
        return f"The window needs PySide6, which isn't installed: {reason}\n{cure}"
    return (
        f"The window can't start because a system library is missing: {reason}\n"
        f"On Debian or Ubuntu this mends it:\n  {DEBIAN_LINE}"
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window and return the exit code when it closes; 2 if it can't be opened."""
    problem = screen_problem(os.environ, sys.platform, ctypes.CDLL)
    if problem:
        sys.stderr.write(problem + "\n")
        return 2
    try:
        app, window = build(argv or ())
    except ImportError as error:
        sys.stderr.write(missing_library_message(error) + "\n")
        return 2
    problem = binding_problem(lambda: app.setApplicationName(TITLE))
    if problem:
        sys.stderr.write(problem + "\n")
        return 2
    window.show()
    return _run(app, window)


def _run(app: QApplication, window: MainWindow) -> int:
    """Run until the window closes; a mistake of the program's own doesn't end it."""
    from trainer.folders import data_folder
    from trainer.ui.trouble.trouble import TroubleDesk
    from trainer.ui.window.garbage import GarbageCollector
    from trainer.ui.window.hard_end import HardEnd

    trouble = TroubleDesk(window, data_folder())
    trouble.install(app)
    GarbageCollector(window).start()
    with HardEnd(data_folder()) as last:
        window.loaded.connect(lambda: trouble.after_start(last.report))
        return int(app.exec())


def build(argv: Sequence[str] = ()) -> tuple[QApplication, MainWindow]:
    """Return the application and its window, not shown yet.

    Raises:
        ImportError: Qt can't be loaded.
    """
    from PySide6.QtWidgets import QApplication

    from trainer.folders import data_folder
    from trainer.ui.window.main_window import MainWindow

    app = QApplication(["mode-trainer", *argv])
    app.setApplicationName(TITLE)
    app.setStyle("Fusion")
    return app, MainWindow(data_folder(), open_workspace)


def open_workspace() -> object:
    """Return the program's own workspace; imported late, so that the window is up first."""
    from trainer.app import Workspace

    return Workspace()
