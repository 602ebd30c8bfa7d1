"""Leads the window through its states at simulated moments: to be looked at, or to be tested.

`python -m tests.helpers.window_states FOLDER [APPEARANCE [WIDTHxHEIGHT]]` takes a picture of each.
With `QT_SCALE_FACTOR=2` the pictures are twice as large.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtWidgets import QApplication, QWidget

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.document import parse_document
from trainer.lesson.loader import read_lesson
from trainer.lesson.question import compute_answer
from trainer.session.strip_layout import reading_order
from trainer.ui.practice.verify_drill import VerifyDrill
from trainer.ui.strip.design_edit import with_colour, with_word
from trainer.ui.window.main_window import MainWindow

State = tuple[str, QWidget]
_FRAME_S = 0.25
HIDING = """\
format: lesson/1
title: Without looking
installation: ship_slate
objectives: [Know what the strip reads without looking at it.]
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  selected: {altitude_ft: 3000, heading_deg: 90}
  modes: {engagement: autopilot, lateral: roll_hold, vertical: altitude_hold}
steps:
  - say: What did it read?
  - predict: {kind: after_key, key: heading_select, hide: [strip, plan, numbers]}
  - wait: 2
"""


class States:
    """Yields the name of each state with the widget to look at, just after it has been reached."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window

    def all(self) -> Iterator[State]:
        """Go through every state."""
        yield from self._first()
        yield from self._lesson("27", "first-form")
        yield from self._flown_lesson()
        yield from self._hidden()
        yield from self._free()
        yield from self._pages()

    def _first(self) -> Iterator[State]:
        window = self.window
        yield "lessons", window
        window.show_attempts()
        yield "attempts-empty", window
        window.show_free()
        yield "free-choose", window
        window.desk.free.start.click()
        window.driver.stop_clock()
        window.show_debrief()
        yield "debrief-empty", window
        window.show_lessons()

    def _lesson(self, prefix: str, name: str) -> Iterator[State]:
        window = self.window
        lesson = next(one for one in window.desk.workspace.lessons() if one.id.startswith(prefix))
        window.open_lesson(lesson)
        window.driver.stop_clock()
        window.proceed()
        while window.practice.flyer.phase != "finished":
            self.until(lambda: window.practice.flyer.phase != "running")
            prompt = window.practice.flyer.prompt
            if window.practice.flyer.phase == "asking":
                if prompt is not None and prompt.form != "strip":
                    yield f"{name}-{prompt.form}", window
                    return
                self._answer(right=True)
            else:
                window.proceed()

    def _flown_lesson(self) -> Iterator[State]:
        window = self.window
        lesson = next(one for one in window.desk.workspace.lessons() if one.id.startswith("09"))
        window.open_lesson(lesson)
        window.driver.stop_clock()
        yield "lesson-begin", window
        window.proceed()
        number = 0
        while window.practice.flyer.phase != "finished":
            self.until(lambda: window.practice.flyer.phase != "running")
            if window.practice.flyer.phase == "finished":
                break
            if window.practice.flyer.phase == "asking":
                number += 1
                if number == 1:
                    yield "asking", window
                    page = window.desk.page
                    first = reading_order(page.builder.strip.design)[0]
                    page.builder.choices.picked.emit(page.builder.draft.words.cells[first][-1].id)
                    yield "asking-one-cell", window
                self._answer(right=number != 2)
                if number == 2:
                    yield "revealing", window
                self.until(lambda: window.practice.flyer.phase != "revealing")
                if number < 3:
                    yield ("explained-right" if number == 1 else "explained-wrong"), window
            window.proceed()
        yield "finished", window
        window.show_debrief()
        yield "debrief-lesson", window
        marks = window.desk.debrief.marks
        row = next(n for n in range(marks.count()) if "not so" in marks.item(n).text())
        marks.setCurrentRow(row)
        yield "debrief-call", window
        window.show_lessons()
        yield "lessons-done", window
        window.show_attempts()
        yield "attempts", window

    def _hidden(self) -> Iterator[State]:
        window = self.window
        lesson = read_lesson(parse_document(HIDING, "x.yaml"), "x", window.desk.workspace.charts)
        window.open_lesson(lesson)
        window.driver.stop_clock()
        window.proceed()
        self.until(lambda: window.practice.flyer.phase == "asking")
        yield "asking-hidden", window

    def _free(self) -> Iterator[State]:
        window = self.window
        window.show_free()
        window.desk.free.start.click()
        window.driver.stop_clock()
        yield "free-begin", window
        window.proceed()
        practice = window.practice
        self.fly(2)
        for event in ("director", "autopilot", "heading_select", "course_track", "vertical_speed"):
            window.driver.act(lambda p, e=event: p.press(e))
            self.fly(1)
        yield "free-refused", window
        for name, value in (("selected_heading_deg", 60.0), ("selected_altitude_ft", 5000.0)):
            window.driver.act(lambda p, n=name, v=value: p.select(n, v))
        for _ in range(5):
            window.driver.act(lambda p: p.press("reference_up"))
        self.fly(20)
        yield "free-flying", window
        self.until(lambda: "altitude_capture" in practice.session.annunciation.vertical.active, 400)
        yield "free-by-itself", window
        window.driver.act(lambda p: p.inject("servo", True))
        self.fly(1)
        yield "free-alert", window
        window.driver.act(lambda p: p.inject("servo", False))
        window.driver.act(lambda p: p.set_verify(VerifyDrill(3, share=1.0)))
        window.driver.act(lambda p: p.select("selected_altitude_ft", 9000.0))
        self.fly(12)
        yield "free-missed", window
        window.desk.page.free.hands.click()
        yield "free-hands", window
        window.driver.act(lambda p: p.look_back(12.0))
        yield "free-looking-back", window
        window.proceed()
        window.driver.stop_clock()
        window.driver.act(lambda p: p.set_drill_rate(1))
        window.driver.act(lambda p: p.press("altitude_hold"))
        yield "free-drill", window
        self._answer(right=False)
        window.proceed()
        self.fly(2)
        window.show_debrief()
        yield "debrief-free", window

    def _pages(self) -> Iterator[State]:
        window = self.window
        window.show_designer()
        page = window.desk.designer
        for _ in range(40):
            page.advance(0.5)
        yield "designer", window
        weak = with_colour(page.design, "light", "title", "#9AA0A6")
        page.edit(with_word(weak, "heading_select", "Turn to the heading that is selected"))
        page.options.setCurrentIndex(1)
        yield "designer-findings", window
        page.acts["Delete"].click()
        window.show_settings()
        yield "settings", window
        window.desk.show_help()
        window.desk.help.resize(980, 700)
        yield "help", window.desk.help
        window.desk.help.close()
        window.show_aircraft()
        yield "aircraft", window
        window.show_club()
        yield "club-empty", window
        window.show_write()
        yield "write-empty", window
        window.show_lessons()

    def fly(self, seconds: float) -> None:
        """Let time pass."""
        for _ in range(round(seconds / _FRAME_S)):
            self.window.driver.advance(_FRAME_S)

    def until(self, is_done: Callable[[], bool], most_s: float = 900.0) -> None:
        """Let time pass until something is so."""
        passed_s = 0.0
        while not is_done() and passed_s < most_s:
            self.window.driver.advance(_FRAME_S)
            passed_s += _FRAME_S

    def _answer(self, *, right: bool) -> None:
        flyer = self.window.practice.flyer
        after = flyer.session.annunciation
        if right:
            after = compute_answer(flyer.asked, flyer.session).after
        elif after.lateral.active != "go_around":
            after = after.with_cell("lateral_active", "go_around")
        self.window.driver.act(lambda practice: practice.answer(Prediction(after, "sure")))


def main(argv: list[str]) -> int:
    """Take a picture of every state."""
    folder = Path(argv[0])
    folder.mkdir(parents=True, exist_ok=True)
    appearance = argv[1] if len(argv) > 1 else "light"
    size = argv[2] if len(argv) > 2 else "1280x800"
    app = QApplication([])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as data:
        window = MainWindow(Path(data), Workspace)
        window.set_appearance(appearance)
        window.resize(*map(int, size.split("x")))
        window.show()
        app.processEvents()
        window.load()
        for name, widget in States(window).all():
            for _ in range(6):
                app.processEvents()
            widget.grab().save(str(folder / f"{name}-{appearance}-{size}.png"))
        window.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
