"""Takes every picture of the guide: `python -m tests.helpers.guide_pictures [FOLDER]`.

Run it after a change of what is seen. The window is driven through its states at simulated moments,
with an invented club, so that two runs show the same.
"""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication, QWidget

from tests.helpers.check_pictures import take_check
from tests.helpers.club import NOW, ScriptedAsker, build_world
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.lesson.question import compute_answer
from trainer.resources import guide_folder
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_page import ClubPage
from trainer.ui.window.background import Background
from trainer.ui.window.main_window import MainWindow

SIZE_PX = (1180, 680)
_FRAME_S = 0.2
_COLOURS = 256
_HOLDING = Path("/tmp/mode-trainer-pictures")
"""The same folder at each run, since pages show where files are."""


def save_small(image: QImage, path: Path) -> None:
    """Save a picture with at most 256 colours, the commonest ones, as PNG.

    Flat panels and text need few colours; what is rarer becomes the nearest of them.
    """
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    width, height = image.width(), image.height()
    packed = np.frombuffer(image.constBits(), np.uint32).reshape(height, -1)[:, :width] & 0xFFFFFF
    colours, places, counts = np.unique(packed, return_inverse=True, return_counts=True)
    kept = np.argsort(-counts, kind="stable")[:_COLOURS]
    split = np.stack([colours >> 16 & 255, colours >> 8 & 255, colours & 255], 1).astype(np.int32)
    nearest = np.array([np.abs(split[kept] - one).sum(1).argmin() for one in split], dtype=np.uint8)
    indexed = np.ascontiguousarray(nearest[places].reshape(height, width))
    small = QImage(indexed.data, width, height, width, QImage.Format.Format_Indexed8)
    small.setColorTable([int(colours[one]) | 0xFF000000 for one in kept])
    if not small.save(str(path), "PNG", 0):
        raise OSError(f"{path}: not written")


class GuidePictures:
    """Drives a window through what the guide shows."""

    def __init__(self, app: QApplication, folder: Path) -> None:
        self._app = app
        self._folder = folder
        shutil.rmtree(_HOLDING, ignore_errors=True)
        _HOLDING.mkdir(parents=True)
        self._workspace = Workspace(user=_HOLDING)
        self.window = MainWindow(_HOLDING, lambda: self._workspace)
        self.window.set_appearance("light")
        self.window.resize(*SIZE_PX)

    def take_all(self) -> None:
        """Take every picture."""
        self.window.show()
        self.window.load()
        self.window.chooser.member.setText("Bo Hill")
        for take in PICTURES.values():
            take(self)
        self.window.close()
        self.settle()

    def lessons(self) -> None:
        self.window.show_lessons()
        self.take("lessons")

    def lesson(self) -> None:
        """The fourth question of the first lesson, and what came of a wrong answer."""
        window = self.window
        window.chooser.list.setCurrentRow(1)  # below the aircraft's name
        window.chooser.start.click()
        window.driver.stop_clock()
        window.proceed()
        flyer = window.practice.flyer
        self._run_until(lambda: flyer.phase != "running")
        for _ in range(3):
            self._answer()
        builder = window.desk.page.builder
        after = compute_answer(flyer.asked, flyer.session).after
        builder._set(builder.draft.with_cell("lateral_active", after.lateral.active))
        self.take("lesson")
        self._answer("altitude_hold", goes_on=False)
        self.take("explained")
        window.show_debrief()
        self.take("debrief")
        window.show_lessons()

    def write(self) -> None:
        """A short flight made into a lesson, with questions, one of them in its form; checked."""
        window = self.window
        window.show_free()
        window.desk.free.start.click()
        window.driver.stop_clock()
        window.proceed()
        practice = window.practice
        self._fly(3)
        for key in ("director", "autopilot", "heading_select"):
            practice.press(key)
            self._fly(4)
        practice.select("selected_altitude_ft", 4300.0)
        practice.press("vertical_speed")
        for _ in range(5):
            practice.press("reference_up")
        self._fly(60)
        window.show_write()
        page = window.desk.write.page
        self._wait_until(lambda: page.writing.story is not None)
        page.flight.ask_all.click()
        self._wait_until(lambda: page.writing.story is not None)
        page.check.click()
        self._wait_until(page.editor.covers.isVisible)
        page.flight.choose(page.list.count() - 2)
        self.take("write")
        page.flight.choose(page.list.count() - 9)
        page.flight.details.click()
        page.dialog.kind_wanted.emit("what_to_do")
        self.take("question", page.dialog)
        page.dialog.reject()
        page.writing.is_saved = True
        window.show_lessons()

    def aircraft(self) -> None:
        """A question of a new aircraft, with its example."""
        window, door = self.window, self.window.desk.aircraft
        window.show_aircraft()
        door.begin_copy("ship_amber", "Ship Ochre")
        door.questions.show_question("option:selected_altitude_in_capture")
        self.settle()
        door.finder.run_to_end()
        self.take("aircraft")
        door.discard()

    def differences(self) -> None:
        """Two ships compared; takes half a minute."""
        door = self.window.desk.aircraft
        door.show_differences("ship_amber")
        self.settle()
        page = door.differences.made
        page.other.setCurrentIndex(page.other.findData("ship_slate"))
        page.compare.click()
        self.wait_for(door.differences.background)
        self.take("differences")
        self.window.show_lessons()

    def board(self) -> None:
        """The board of an invented club after its first results."""
        world = build_world(_HOLDING, self._workspace)
        club = self.window.desk.club
        club.page = page = ClubPage(ClubDesk(_HOLDING, self._workspace, lambda: NOW))
        asker = ScriptedAsker([world.results])
        page.use_asker(asker)
        self.window.show_club()
        page.open_book(world.book_path)
        self.settle_work(page)
        page.exchange.choose.click()
        self.settle_work(page)
        page.exchange.take.click()
        self.settle_work(page)
        page.tabs.setCurrentWidget(page.board)
        table = page.board.table
        table.setCurrentIndex(page.board.model.index(2, 2))
        self.take("board")
        page.close_book()

    def take(self, name: str, dialog: QWidget | None = None) -> None:
        """Save a picture of the window, with a dialog in front of it."""
        self.settle()
        picture = self.window.grab()
        if dialog is not None:
            front = dialog.grab()
            place = picture.rect().center() - front.rect().center()
            painter = QPainter(picture)
            painter.fillRect(picture.rect(), QColor(0, 0, 0, 70))
            painter.drawPixmap(place, front)
            painter.drawRect(front.rect().translated(place))
            painter.end()
        save_small(picture.toImage(), self._folder / f"{name}.png")

    def _wait_until(self, is_so: Callable[[], bool]) -> None:
        end_s = time.monotonic() + 300.0
        while not is_so():
            self._app.processEvents()
            time.sleep(0.01)
            assert time.monotonic() < end_s, "it doesn't come"

    def settle(self) -> None:
        """Let everything be laid out and painted."""
        for _ in range(8):
            self._app.processEvents()

    def settle_work(self, page: QWidget) -> None:
        """Wait for what a page does in the background."""
        for one in page.findChildren(Background):
            self.wait_for(one)
        self.settle()

    def wait_for(self, background: Background) -> None:
        """Wait for a job in the background."""
        end_s = time.monotonic() + 300.0
        while background.is_busy:
            self._app.processEvents()
            time.sleep(0.01)
            assert time.monotonic() < end_s, "the job doesn't end"

    def _fly(self, seconds: float) -> None:
        for _ in range(round(seconds / _FRAME_S)):
            self.window.driver.advance(_FRAME_S)

    def _run_until(self, is_done: Callable[[], bool], most_s: float = 900.0) -> None:
        passed_s = 0.0
        while not is_done() and passed_s < most_s:
            self.window.driver.advance(_FRAME_S)
            passed_s += _FRAME_S

    def _answer(self, wrong_vertical: str = "", *, goes_on: bool = True) -> None:
        window = self.window
        flyer = window.practice.flyer
        after = compute_answer(flyer.asked, flyer.session).after
        if wrong_vertical:
            after = after.with_cell("vertical_active", wrong_vertical)
        window.driver.act(lambda practice: practice.answer(Prediction(after, "sure")))
        self._run_until(lambda: flyer.phase != "revealing")
        if goes_on:
            window.proceed()
            self._run_until(lambda: flyer.phase != "running")


PICTURES: dict[str, Callable[[GuidePictures], None]] = {
    "lessons": GuidePictures.lessons,
    "lesson explained debrief": GuidePictures.lesson,
    "write question": GuidePictures.write,
    "aircraft": GuidePictures.aircraft,
    "differences": GuidePictures.differences,
    "check outcome due": take_check,
    "board": GuidePictures.board,
}
"""What is taken -> how, in this order."""
NAMES = tuple(name for names in PICTURES for name in names.split())


def take_pictures(folder: Path) -> None:
    """Take every picture of the guide into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication([])
    app.setStyle("Fusion")
    GuidePictures(app, folder).take_all()


if __name__ == "__main__":
    take_pictures(Path(sys.argv[1]) if len(sys.argv) > 1 else guide_folder() / "pictures")
