"""A window in the middle of a check, made to be killed: it says what is asked and what is answered.

Usage: check_window_victim.py FOLDER. Begins a check, or goes on with the one that is open, by the
same buttons as a member would use, and answers until it is killed.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtWidgets import QApplication

from tests.helpers.check_window import ME, answer, asked, choose
from trainer.app import Workspace
from trainer.ui.window.main_window import MainWindow

PATIENCE_S = 60.0


def main(folder: Path) -> None:
    """Answer until killed."""
    app = QApplication([])
    window = MainWindow(folder, lambda: Workspace(user=folder))
    window.show()
    wait(app, lambda: window.desk is not None)
    intro = choose(window)
    if intro.resume.isEnabled():
        intro.resume.click()
    else:
        intro.member.setText(ME)
        intro.confirm.setChecked(True)
        intro.begin.click()
    door = window.desk.rooms.check_door
    wait(app, lambda: window.pages.currentWidget() is door.item)
    while window.pages.currentWidget() is door.item:
        say(f"asked {door.item.taken.number} {asked(door)}")
        say(f"kept {answer(door)}")


def wait(app: QApplication, is_so: object) -> None:
    """Wait for something; end if it doesn't come."""
    end_s = time.monotonic() + PATIENCE_S
    while not is_so():
        app.processEvents()
        if time.monotonic() > end_s:
            raise SystemExit("waited in vain")


def say(words: str) -> None:
    """Say it at once."""
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
