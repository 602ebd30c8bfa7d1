"""No word is cut in any page, at the least size and at the usual one, with a long lesson too."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.session.annunciation import Annunciation, AxisAnnunciation
from trainer.ui.look.view import PictureView
from trainer.ui.look.word_button import WordButton
from trainer.ui.practice.verify_drill import VerifyDrill
from trainer.ui.strip.strip_widget import StripCell
from trainer.ui.window.main_window import MainWindow

LONG = """\
format: lesson/1
title: A long title of a lesson about all that may happen between take-off and going around
summary: A summary that goes on and on, since somebody will write one like this some day.
installation: ship_amber
objectives: ["An objective much longer than objectives ought to be, since there was much to say."]
competencies: [engaging_and_disengaging]
minutes: 1
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  selected: {altitude_ft: 5000, heading_deg: 90}
  modes: {engagement: autopilot, lateral: heading_select, vertical: pitch_hold, armed: [altitude]}
steps:
  - say: "A story about the fuel, the weather and the passengers, told while nothing happens, so
      that one has to read three, four or even five lines of it before the question comes."
  - wait: 1
  - do: disconnect
  - predict: {kind: after_key, key: disconnect}
  - predict: {kind: is_allowed, key: autopilot}
  - predict: {kind: which_key, shows: {engagement: autopilot}}
  - predict: {kind: level_off, within_s: 20}
"""
WRONG = Annunciation(
    "autopilot",
    AxisAnnunciation("course_track", ("approach_course",)),
    AxisAnnunciation("altitude_capture", ("altitude", "glidepath")),
    "automatic_disconnect_sounding",
    "underspeed",
)


@pytest.fixture(params=[(1180, 680), (1280, 780)], ids=["least", "usual"])
def window(request: pytest.FixtureRequest, qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """The window with one long lesson."""
    lessons = tmp_path / "lessons"
    lessons.mkdir()
    (lessons / "01-long.yaml").write_text(LONG, encoding="utf-8")
    widget = MainWindow(tmp_path / "data", lambda: Workspace(lessons=lessons))
    qtbot.addWidget(widget)
    widget.resize(*request.param)
    with qtbot.waitSignal(widget.loaded):
        widget.show()
    yield widget
    widget.close()


def cut_words(root: QWidget) -> list[str]:
    """Return the words of labels and buttons that have less room than they need."""
    for _ in range(3):
        QApplication.processEvents()
    cut = []
    for widget in root.findChildren(QWidget):
        is_drawn = isinstance(widget, StripCell | PictureView | WordButton)
        if is_drawn or not widget.isVisible() or not isinstance(widget, QLabel | QPushButton):
            continue
        needed = widget.fontMetrics().horizontalAdvance(widget.text().replace("&&", "&"))
        if isinstance(widget, QLabel) and widget.wordWrap():
            if widget.height() < widget.heightForWidth(widget.width()):
                cut.append(widget.text())
        elif widget.width() < needed:
            cut.append(widget.text())
    return cut


def middle_fits(window: MainWindow) -> bool:
    """Return whether the middle of the flying page is no wider than its room."""
    inner = window.desk.page.strip.parentWidget()
    return inner.width() <= inner.parentWidget().width()


def test_no_word_is_cut_on_any_page(window: MainWindow) -> None:
    found: dict[str, list[str]] = {"lessons": cut_words(window)}
    window.show_write()
    found["write, empty"] = cut_words(window)
    window.show_attempts()
    found["attempts, empty"] = cut_words(window)
    window.chooser.start.click()
    window.driver.stop_clock()
    found["begin"] = cut_words(window)
    window.proceed()
    while window.practice.is_moving:
        window.driver.advance(0.25)
    for cell in window.desk.page.builder.strip.cells.values():
        cell.focused.emit(cell.cell)
        found[f"asking {cell.cell}"] = cut_words(window)
    window.driver.act(lambda practice: practice.answer(Prediction(WRONG, "sure")))
    found["explained"] = cut_words(window)
    window.show_debrief()
    found["debrief"] = cut_words(window)
    window.back_to_flight()
    for name in ("choice", "key", "number"):
        window.proceed()
        while window.practice.is_moving:
            window.driver.advance(0.25)
        found[f"asking {name}"] = cut_words(window)
        said = Prediction(WRONG, "sure", choice="refused", number=1.0)
        window.driver.act(lambda practice, said=said: practice.answer(said))
        while window.practice.is_moving:
            window.driver.advance(0.25)
        found[f"explained {name}"] = cut_words(window)
    window.proceed()
    found["finished"] = cut_words(window)
    for name in ("attempts", "designer", "settings", "free"):
        getattr(window, f"show_{name}")()
        found[name] = cut_words(window)
    window.desk.free.start.click()
    window.driver.stop_clock()
    window.practice.press("director")
    window.driver.advance(0.25)
    window.show_write()
    found["write, recorded"] = cut_words(window)
    page = window.desk.write.page
    page.text.setPlainText("format: lesson/1\ntitel: x\n" * 3)
    page.take_text()
    found["write, problems"] = cut_words(window)
    window.show_free()
    window.desk.free.start.click()
    window.driver.stop_clock()
    found["free flight"] = cut_words(window)
    window.practice.set_verify(VerifyDrill(3, share=1.0))
    window.proceed()
    window.practice.select("selected_altitude_ft", 9000.0)
    while not window.practice.verify.results:
        window.driver.advance(0.25)
    window.refresh()
    found["verify, missed"] = cut_words(window)
    assert middle_fits(window)
    window.driver.act(lambda practice: practice.look_back(1.0))
    found["looking back"] = cut_words(window)
    assert middle_fits(window)
    assert {page: words for page, words in found.items() if words} == {}
