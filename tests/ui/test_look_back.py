"""The flight's timeline under the strip: look back, and fly on from there; verify in the window."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.session.annunciation import Annunciation
from trainer.ui.practice.verify_drill import VerifyDrill
from trainer.ui.window.main_window import MainWindow

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """The window in free practice: director after 3 s, autopilot after 6 s, flown to 10 s."""
    widget = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    widget.activateWindow()
    qtbot.keyClick(widget, Qt.Key.Key_F3)
    qtbot.mouseClick(widget.desk.free.start, LEFT)
    widget.driver.stop_clock()
    widget.proceed()
    for seconds, stroke in ((3, "D"), (3, "A"), (4, "")):
        for _ in range(seconds * 4):
            widget.driver.advance(0.25)
        if stroke:
            qtbot.keyClick(widget, stroke)
    yield widget
    widget.close()


def test_look_back_with_keys_and_fly_on_from_there(qtbot: QtBot, window: MainWindow) -> None:
    page, practice = window.desk.page, window.practice
    assert page.look_back.isVisible()
    assert page.look_back.moment.text() == "Now"
    for _ in range(5):
        qtbot.keyClick(window, Qt.Key.Key_Left, CTRL)
    qtbot.keyClick(window, Qt.Key.Key_Left, CTRL | SHIFT)
    assert page.look_back.moment.text() == "0:04.95"
    assert page.strip.annunciation.engagement == "director"
    assert practice.session.annunciation.engagement == "autopilot"
    assert not page.controls.is_acting
    assert page.lesson.next.text() == "Fly on from here  Enter"
    qtbot.keyClick(window, Qt.Key.Key_Return)
    window.driver.stop_clock()
    assert window.practice is not practice
    assert window.practice.session.t_s == pytest.approx(4.95)
    assert window.practice.session.annunciation.engagement == "director"
    assert page.controls.is_acting
    # What was flown before stays as it was.
    assert practice.session.t_s == pytest.approx(10.0)


def test_look_back_with_the_mouse_and_come_back_to_the_present(
    qtbot: QtBot, window: MainWindow
) -> None:
    page, practice = window.desk.page, window.practice
    slider = page.look_back.slider
    qtbot.mouseClick(slider, LEFT, pos=QPoint(4, slider.height() // 2))
    assert practice.looking is not None
    assert practice.looking.t_s < 10.0
    assert not practice.is_moving
    qtbot.keyClick(slider, Qt.Key.Key_Home)
    assert practice.looking.t_s == 0.0
    assert page.strip.annunciation == Annunciation()
    qtbot.keyClick(window, Qt.Key.Key_F5)
    window.driver.stop_clock()
    assert practice.looking is None
    assert practice.is_moving
    assert page.look_back.moment.text() == "Now"
    assert page.strip.annunciation.engagement == "autopilot"
    assert window.practice is practice


def test_keys_of_the_aircraft_do_nothing_while_one_looks_back(
    qtbot: QtBot, window: MainWindow
) -> None:
    practice = window.practice
    qtbot.keyClick(window, Qt.Key.Key_Left, CTRL)
    deeds = list(practice.deeds)
    qtbot.keyClick(window, "H")
    window.desk.page.controls.pressed.emit("heading_select")
    assert practice.deeds == deeds
    qtbot.keyClick(window, Qt.Key.Key_Right, CTRL)
    assert practice.looking is None
    qtbot.keyClick(window, "H")
    assert len(practice.deeds) > len(deeds)


def test_verify_drill_with_keyboard_and_mouse(qtbot: QtBot, window: MainWindow) -> None:
    page, practice = window.desk.page, window.practice
    assert not page.notice.isVisible()
    qtbot.keyClick(page.free.verify, Qt.Key.Key_Space)
    assert page.notice.isVisible()
    practice.set_verify(VerifyDrill(3, share=1.0))
    row = page.controls.selectors["selected_altitude_ft"]
    row.turn(5, is_big=False)
    assert practice.verify.fault
    qtbot.keyClick(window, "B", CTRL)
    assert page.notice.record.text() == "Caught 1, missed 0, false alarms 0"
    assert "selected altitude" in page.latest.text()
    qtbot.mouseClick(page.notice.notice, LEFT)
    assert page.notice.record.text() == "Caught 1, missed 0, false alarms 1"
    qtbot.keyClick(window, Qt.Key.Key_F9)
    lines = [window.desk.debrief.marks.item(n).text() for n in range(4)]
    assert sum("Verify" in line for line in lines) == 2
    assert QApplication.focusWidget() is window.desk.debrief.scrubber
