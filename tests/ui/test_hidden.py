"""What a question hides is gone while it is open, and comes back; nothing tells it otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.document import parse_document
from trainer.lesson.loader import read_lesson
from trainer.lesson.question import compute_answer
from trainer.lesson.spec import HIDEABLE
from trainer.ui.lesson.hidden_words import HIDE_LABELS
from trainer.ui.window.main_window import MainWindow

WORKSPACE = Workspace()
TEXT = """\
format: lesson/1
title: Hidden
installation: ship_amber
objectives: [Say what comes next from memory.]
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  modes: {engagement: director, lateral: roll_hold, vertical: pitch_hold}
steps:
  - predict: {kind: after_key, key: heading_select, hide: [HIDE]}
  - wait: 1
  - predict: {kind: is_allowed, key: director}
"""


def window_asking(qtbot: QtBot, folder: Path, hide: str) -> MainWindow:
    widget = MainWindow(folder, lambda: WORKSPACE)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    document = parse_document(TEXT.replace("HIDE", hide), "hidden.yaml")
    widget.open_preview(read_lesson(document, "hidden", WORKSPACE.charts))
    widget.driver.stop_clock()
    widget.proceed()
    for _ in range(4):
        widget.driver.advance(0.25)
    assert widget.practice.flyer.phase == "asking"
    return widget


@pytest.mark.parametrize("name", HIDEABLE)
def test_it_is_gone_while_the_question_is_open(qtbot: QtBot, tmp_path: Path, name: str) -> None:
    window = window_asking(qtbot, tmp_path, name)
    page = window.desk.page
    parts = {"plan": page.plan, "profile": page.profile, "attitude": page.attitude,
             "numbers": page.numbers, "strip": page.strip}  # fmt: skip
    assert [key for key, part in parts.items() if not part.isVisible()] == [name]
    assert HIDE_LABELS[name] in page.hidden.text()
    flyer = window.practice.flyer
    after = compute_answer(flyer.asked, flyer.session).after
    window.driver.act(lambda practice: practice.answer(Prediction(after, "sure")))
    assert all(part.isVisible() for part in parts.values())
    assert not page.hidden.isVisible()
    window.close()


def test_a_hidden_strip_is_not_filled_in_from(qtbot: QtBot, tmp_path: Path) -> None:
    window = window_asking(qtbot, tmp_path, "strip")
    builder = window.desk.page.builder
    cell = builder.strip.cells["lateral_active"]
    for key, modifier in ((Qt.Key.Key_Equal, Qt.KeyboardModifier.NoModifier),
                          (Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier),
                          (Qt.Key.Key_R, Qt.KeyboardModifier.ControlModifier)):  # fmt: skip
        qtbot.keyClick(cell, key, modifier)
    assert dict(builder.draft.cells) == {}
    assert not builder.nothing.isVisible()
    assert not window.desk.page.latest.isVisible()
    window.close()


def test_without_hiding_all_is_seen_and_can_be_kept(qtbot: QtBot, tmp_path: Path) -> None:
    window = window_asking(qtbot, tmp_path, "")
    builder = window.desk.page.builder
    qtbot.keyClick(builder.strip.cells["lateral_active"], Qt.Key.Key_Equal)
    assert builder.draft.cells["lateral_active"] == "roll_hold"
    assert not window.desk.page.hidden.isVisible()
    window.close()


def test_neither_debrief_nor_statechart_tells_what_is_hidden(qtbot: QtBot, tmp_path: Path) -> None:
    window = window_asking(qtbot, tmp_path, "strip")
    qtbot.keyClick(window, Qt.Key.Key_F9)
    assert window.pages.currentWidget() is window.desk.page
    assert "Answer first" in window.note.text()
    assert window.desk._flying() is None
    answer = compute_answer(window.practice.flyer.asked, window.practice.flyer.session)
    window.driver.act(lambda practice: practice.answer(Prediction(answer.after, "sure")))
    qtbot.keyClick(window, Qt.Key.Key_F9)
    assert window.pages.currentWidget() is window.desk.debrief
    assert window.desk._flying() is window.practice.session
