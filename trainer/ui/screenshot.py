"""Takes pictures of the window: `python -m trainer.ui.screenshot FOLDER [dark [1180x680]]`.

Used to look at the window in every state, and for the picture in the guide. Flies the first
lesson with right answers, which it computes as the lesson itself does.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QApplication, QWidget

from trainer.assessment.prediction import Prediction
from trainer.lesson.question import compute_answer
from trainer.ui.design_edit import with_colour, with_word
from trainer.ui.main_window import MainWindow
from trainer.ui.start import open_workspace
from trainer.ui.theme import Appearance

_FRAME_S = 0.2


class Photographer:
    """Drives a window through its states and saves a picture of each."""

    def __init__(self, app: QApplication, folder: Path, appearance: Appearance) -> None:
        self._app = app
        self._folder = folder
        self._appearance = appearance
        self._data = tempfile.TemporaryDirectory()
        self.window = MainWindow(Path(self._data.name), open_workspace)
        self.window.set_appearance(appearance)

    def take_all(self) -> None:
        """Take every picture."""
        window = self.window
        window.show()
        self._settle()
        window.load()
        window.show_attempts()
        self.take("attempts-empty")
        window.show_lessons()
        self.take("lessons")
        window.chooser.start.click()
        window.driver.stop_clock()  # pictures are taken at simulated, not at real, moments
        self.take("lesson-begin")
        self._play_lesson()
        window.show_attempts()
        self.take("attempts")
        window.show_designer()
        self._spoil_design()
        self.take("designer")
        window.show_settings()
        self.take("settings")
        window.show_free()
        self.take("free")
        window.desk.free.start.click()
        window.driver.stop_clock()
        self.take("free-flying")

    def take(self, name: str, widget: QWidget | None = None) -> None:
        """Save a picture."""
        self._settle()
        path = self._folder / f"{self._appearance}-{name}.png"
        (widget or self.window).grab().save(str(path))

    def _spoil_design(self) -> None:
        """Show a design of one's own with something to repair."""
        page = self.window.desk.designer
        for _ in range(40):
            page.advance(0.5)
        weak = with_colour(page.design, "light", "title", "#9AA0A6")
        page.edit(with_word(weak, "heading_select", "My heading"))
        page.options.setCurrentIndex(1)

    def _play_lesson(self) -> None:
        window = self.window
        window.proceed()
        self._run_until(lambda: window.practice.flyer.phase != "running")
        number = 0
        while window.practice.flyer.phase == "asking":
            number += 1
            self._answer(number)
            window.proceed()
            is_photo = number == 3
            self._run_until(
                lambda: window.practice.flyer.phase != "running", 6.0 if is_photo else 900.0
            )
            if is_photo:
                self.take("running")
                self._run_until(lambda: window.practice.flyer.phase != "running")
        self.take("finished")
        window.show_debrief()
        self.take("debrief")
        window.back_to_flight()
        window.driver.stop_clock()

    def _answer(self, number: int) -> None:
        window = self.window
        flyer, builder = window.practice.flyer, window.desk.page.builder
        if number == 4:
            self.take("asking")
        after = compute_answer(flyer.asked, flyer.session).after
        draft = builder.draft.with_cell("lateral_active", after.lateral.active)
        builder._set(draft.with_cell("vertical_armed", after.vertical.armed))
        if number == 4:
            self.take("answering")
            after = after.with_cell("vertical_active", "altitude_hold")
        window.driver.act(lambda practice: practice.answer(Prediction(after, "think_so")))
        if number == 4:
            self.take("revealing")
        self._run_until(lambda: flyer.phase != "revealing")
        if number == 4:
            self.take("explained")

    def _run_until(self, is_done: Callable[[], bool], most_s: float = 900.0) -> None:
        passed_s = 0.0
        while not is_done() and passed_s < most_s:
            self.window.driver.advance(_FRAME_S)
            passed_s += _FRAME_S

    def _settle(self) -> None:
        for _ in range(5):
            self._app.processEvents()


def main(argv: list[str]) -> int:
    """Take pictures into a folder; the second word is an appearance, the third a size."""
    folder = Path(argv[0])
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication([])
    app.setStyle("Fusion")
    appearance: Appearance = argv[1] if len(argv) > 1 else "light"
    photographer = Photographer(app, folder, appearance)
    if len(argv) > 2:
        photographer.window.resize(*map(int, argv[2].split("x")))
    photographer.take_all()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
