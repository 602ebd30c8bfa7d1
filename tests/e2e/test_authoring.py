"""An instructor flies once and has a lesson; a member at another desk takes it and flies it."""

from __future__ import annotations

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from tests.helpers.whole_lesson import play_right
from trainer.app import Workspace
from trainer.lesson.spec import Do, Predict
from trainer.ui.window.main_window import MainWindow

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")
LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
SHARED = Workspace()


def desk(qtbot: QtBot, folder: Path) -> MainWindow:
    """Return the window of a person whose program has no lessons but their own."""
    (folder / "none").mkdir(parents=True)
    workspace = Workspace(lessons=folder / "none", user=folder / "data")
    workspace.__dict__["installations"] = SHARED.installations
    window = MainWindow(folder / "data", lambda: workspace)
    qtbot.addWidget(window)
    with qtbot.waitSignal(window.loaded, timeout=20_000):
        window.show()
    window.activateWindow()
    return window


def fly(window: MainWindow, seconds: float) -> None:
    for _ in range(round(seconds / 0.25)):
        window.driver.advance(0.25)


def wait_flown(qtbot: QtBot, window: MainWindow) -> None:
    page = window.desk.write.page
    qtbot.waitUntil(lambda: page.writing.story is not None, timeout=20_000)


def record(qtbot: QtBot, window: MainWindow) -> None:
    """Fly from the situation chosen first: director, autopilot, heading, a climb that levels."""
    qtbot.keyClick(window, "L", CTRL)
    qtbot.mouseClick(window.desk.write.page.record, LEFT)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    fly(window, 8)  # too long a beginning
    for stroke in "DAH":
        qtbot.keyClick(window, stroke)
        fly(window, 2)
    window.practice.select("selected_altitude_ft", 4300.0)
    window.practice.press("vertical_speed")
    for _ in range(5):
        window.practice.press("reference_up")
    fly(window, 60)  # and too long an end
    qtbot.mouseClick(window.desk.page.free.lesson, LEFT)
    wait_flown(qtbot, window)


def place_of(window: MainWindow, *, key: str = "", capture: bool = False) -> int:
    """Return the place on the timeline of a key, or of the altitude capture."""
    writing = window.desk.write.page.writing
    for place, moment in enumerate(writing.moments):
        step = writing.lesson.steps[moment.step]
        shown = dict(moment.shows).get("vertical_active")
        if capture and moment.is_change and shown == "altitude_capture":
            return place
        if not capture and isinstance(step, Do) and step.event == key:
            return place
    raise LookupError(key)


def edit(qtbot: QtBot, window: MainWindow) -> None:
    """Cut both ends, ask about the capture with the numbers hidden, move a key, say a line."""
    page = window.desk.write.page
    flight = page.flight
    flight.choose(place_of(window, key="director"))
    for act in (flight.earlier, flight.begin):
        qtbot.mouseClick(act, LEFT)
        wait_flown(qtbot, window)
    assert page.writing.story.ended_s == pytest.approx(71.0, abs=1.0)
    flight.choose(place_of(window, capture=True) + 1)
    qtbot.mouseClick(flight.end, LEFT)
    wait_flown(qtbot, window)
    flight.choose(place_of(window, capture=True))
    qtbot.keyClick(page, Qt.Key.Key_F7)
    qtbot.waitUntil(page.dialog.isVisible, timeout=20_000)
    assert page.dialog.kind.currentData() == "next_change"
    page.dialog.hides["numbers"].setChecked(True)
    qtbot.mouseClick(page.dialog.put, LEFT)
    wait_flown(qtbot, window)
    for key, kind in (("director", "after_key"), ("heading_select", "is_allowed")):
        flight.choose(place_of(window, key=key))
        flight.asked.emit(kind)
        wait_flown(qtbot, window)
    flight.choose(0)
    flight.narration.setText("Level, by hand. What would the director show?")
    qtbot.mouseClick(flight.say, LEFT)
    wait_flown(qtbot, window)
    text = page.text.toPlainText().replace("A recorded flight", "Up by three hundred")
    page.text.setPlainText("# for Tuesday's group\n" + text)
    page.take_text()
    wait_flown(qtbot, window)


def test_one_flight_becomes_a_lesson_that_a_member_flies(qtbot: QtBot, tmp_path: Path) -> None:
    instructor = desk(qtbot, tmp_path / "instructor")
    record(qtbot, instructor)
    edit(qtbot, instructor)
    door, page = instructor.desk.write, instructor.desk.write.page
    qtbot.mouseClick(page.check, LEFT)
    qtbot.waitUntil(page.editor.covers.isVisible, timeout=60_000)
    assert page.editor.verdict.text() == "Flown: nothing to mend"
    qtbot.mouseClick(page.save, LEFT)
    (path,) = door.lessons.paths
    assert path.stem == "up-by-three-hundred"
    before = page.writing.moments
    instructor.show_lessons()
    door.open(path)
    instructor.show_write()
    wait_flown(qtbot, instructor)
    assert page.writing.moments == before
    assert page.text.toPlainText().startswith("# for Tuesday's group\n")
    pack = tmp_path / "tuesday.zip"
    door.export_pack(pack)
    instructor.close()

    member = desk(qtbot, tmp_path / "member")
    member.show_write()
    member.desk.write.import_pack(pack)
    assert "yours now" in member.note.text()
    member.show_lessons()
    chooser = member.chooser
    rows = [chooser.list.item(n).text() for n in range(chooser.list.count())]
    assert rows == ["Your lessons", "Up by three hundred"]
    chooser.list.setCurrentRow(1)
    qtbot.mouseClick(chooser.start, LEFT)
    kinds = [step.kind for step in member.practice.flyer.lesson.steps if isinstance(step, Predict)]
    assert play_right(member) == [("after_key", True), ("is_allowed", True), ("next_change", False)]
    assert kinds == ["after_key", "is_allowed", "next_change"]
    attempts = member.desk.recorder.attempts()
    assert [attempt.is_right for attempt in attempts] == [True] * 3
    member.close()
