"""What changes is painted in the very frame of the step that changed it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.session.annunciation import CELLS
from trainer.session.strip_content import CellPicture, chips_of
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.strip.strip_widget import StripCell
from trainer.ui.window.main_window import MainWindow

FRAME_S = 1 / 60


@pytest.fixture
def painted(monkeypatch: pytest.MonkeyPatch) -> dict[str, CellPicture]:
    """The picture of each cell that was painted last."""
    seen: dict[str, CellPicture] = {}
    paint = StripCell.paintEvent

    def spy(cell: StripCell, event: object) -> None:
        paint(cell, event)
        seen[cell.cell] = cell.picture

    monkeypatch.setattr(StripCell, "paintEvent", spy)
    return seen


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path, painted: dict[str, CellPicture]) -> Iterator[MainWindow]:
    """Free practice with a running clock that only the test turns."""
    widget = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    widget.activateWindow()
    widget.open_free("ship_amber", SITUATIONS[0].start, 0)
    widget.driver.stop_clock()
    widget.proceed()
    QApplication.processEvents()
    assert set(painted) == set(CELLS)
    yield widget
    widget.close()


def is_painted(window: MainWindow, painted: dict[str, CellPicture]) -> bool:
    """Return whether every cell was painted with what the strip reads now."""
    strip, shown = window.desk.page.strip, window.practice.session.annunciation
    return all(
        painted[cell].chips == chips_of(cell, shown.cell(cell), strip._words) for cell in CELLS
    )


def test_key_is_painted_before_time_goes_on(
    qtbot: QtBot, window: MainWindow, painted: dict[str, CellPicture]
) -> None:
    session = window.practice.session
    changes = 0
    for stroke in "DAHVEHASXD":
        before = session.annunciation
        qtbot.keyClick(window, stroke)
        QApplication.processEvents()  # no frame passes
        changes += session.annunciation != before
        assert is_painted(window, painted), stroke
    assert changes >= 6


def test_what_changes_by_itself_is_painted_in_the_frame_of_its_step(
    window: MainWindow, painted: dict[str, CellPicture]
) -> None:
    practice = window.practice
    for event in ("director", "autopilot", "vertical_speed"):
        window.driver.act(lambda p, e=event: p.press(e))
    window.driver.act(lambda p: p.select("selected_altitude_ft", 4200.0))
    for _ in range(5):
        window.driver.act(lambda p: p.press("reference_up"))
    changes = 0
    for _ in range(60 * 60):
        before = practice.session.annunciation
        window.driver.advance(FRAME_S)
        if practice.session.annunciation != before:
            QApplication.processEvents()
            changes += 1
            assert is_painted(window, painted)
    assert changes >= 2
    assert practice.session.annunciation.vertical.active == "altitude_hold"
