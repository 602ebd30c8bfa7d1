"""Hours of practice in the window without growth of memory."""

from __future__ import annotations

import gc
import os
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.window.main_window import MainWindow

HOURS = 8
GROWTH_BYTES = 10_000_000
_STATM = Path("/proc/self/statm")


def in_use_bytes() -> int:
    """Return the memory that the process holds, Qt's own included."""
    gc.collect()
    return int(_STATM.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.long
@pytest.mark.skipif(not _STATM.exists(), reason="the system doesn't tell what a process holds")
def test_eight_hours_of_practice_do_not_grow_memory(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(window)
    window.show()
    window.load()
    window.open_free("ship_amber", SITUATIONS[0].start, 0)
    window.driver.stop_clock()
    window.proceed()
    window.practice.speed = 8
    for event in ("director", "autopilot", "heading_select", "altitude_hold"):
        window.practice.press(event)
    window.practice.select("power_percent", 70.0)

    def fly_s(seconds: int) -> None:
        """Let simulated time pass, painting now and then, with a key and a turn each minute."""
        for step in range(seconds // 2):
            window.driver.advance(0.25)
            if step % 30 == 0:
                window.practice.select("selected_heading_deg", float(step * 7 % 360))
                window.practice.press("heading_select" if step % 60 else "altitude_hold")
                QApplication.processEvents()

    fly_s(60)
    before = in_use_bytes()
    fly_s(HOURS * 3600)
    assert window.practice.session.t_s >= HOURS * 3600
    # All that is remembered is counted too: the samples, the track, moments to go back to.
    assert in_use_bytes() - before < GROWTH_BYTES
