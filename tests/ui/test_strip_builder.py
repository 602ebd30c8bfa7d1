"""The empty strip: filled with keys and with the mouse, submitted only when all is said."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from trainer.assessment.answers.prediction import Prediction
from trainer.session.annunciation import CELLS, Annunciation
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_builder import StripBuilder

LEFT = Qt.MouseButton.LeftButton
DOT = QPoint(8, 10)
"""Within a radio button's ring, whatever its width."""


@pytest.fixture
def builder(qtbot: QtBot, words: StripWords, climbing: Annunciation) -> StripBuilder:
    """A builder that asks, shown, with the focus on its first cell."""
    widget = StripBuilder(words)
    widget.layout().addWidget(widget.tray)
    qtbot.addWidget(widget)
    widget.resize(640, 500)
    widget.ask(words, climbing)
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    widget.take_focus()
    return widget


def keys(qtbot: QtBot, builder: StripBuilder, cell: str, *strokes: Qt.Key) -> None:
    """Type in a cell."""
    for stroke in strokes:
        qtbot.keyClick(builder.strip.cells[cell], stroke)


def choice(builder: StripBuilder, state: str) -> QPushButton:
    """Return the visible word button of a state."""
    return next(
        button
        for button in builder.choices.findChildren(QPushButton)
        if button.isVisibleTo(builder) and button.objectName() == f"choice_{state}"
    )


def test_builder_starts_empty_whatever_the_strip_shows(builder: StripBuilder) -> None:
    assert builder.draft.cells == {}
    assert builder.draft.confidence is None
    assert not builder.submit.isEnabled()
    assert all("not called yet" in c.accessibleName() for c in builder.strip.cells.values())


def test_whole_prediction_with_keys(
    qtbot: QtBot, builder: StripBuilder, climbing: Annunciation
) -> None:
    keys(qtbot, builder, "vertical_active", Qt.Key.Key_A, Qt.Key.Key_A)
    keys(qtbot, builder, "vertical_armed", Qt.Key.Key_1)
    keys(qtbot, builder, "lateral_active", Qt.Key.Key_Equal)
    qtbot.keyClick(builder, Qt.Key.Key_R, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClick(builder, Qt.Key.Key_2, Qt.KeyboardModifier.ControlModifier)
    with qtbot.waitSignal(builder.submitted) as signal:
        keys(qtbot, builder, "alert", Qt.Key.Key_Return)
    expected = climbing.with_cell("vertical_active", "altitude_capture").with_cell(
        "vertical_armed", ()
    )
    assert signal.args == [Prediction(expected, "think_so")]


def test_whole_prediction_with_the_mouse(
    qtbot: QtBot, builder: StripBuilder, climbing: Annunciation
) -> None:
    qtbot.mouseClick(builder.strip.cells["lateral_active"], LEFT)
    qtbot.mouseClick(choice(builder, "course_track"), LEFT)
    qtbot.mouseClick(builder.strip.cells["lateral_armed"], LEFT)
    qtbot.mouseClick(choice(builder, "nothing"), LEFT)
    qtbot.mouseClick(builder.rest, LEFT)
    qtbot.mouseClick(builder.confidences["guess"], LEFT, pos=DOT)
    with qtbot.waitSignal(builder.submitted) as signal:
        qtbot.mouseClick(builder.submit, LEFT)
    expected = climbing.with_cell("lateral_active", "course_track").with_cell("lateral_armed", ())
    assert signal.args == [Prediction(expected, "guess")]


def test_nothing_changes_is_one_action(
    qtbot: QtBot, builder: StripBuilder, climbing: Annunciation
) -> None:
    qtbot.mouseClick(builder.nothing, LEFT)
    assert not builder.submit.isEnabled()  # the confidence is still to be said
    qtbot.mouseClick(builder.confidences["sure"], LEFT, pos=DOT)
    with qtbot.waitSignal(builder.submitted) as signal:
        qtbot.keyClick(builder, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert signal.args == [Prediction(climbing, "sure")]


def test_arrow_keys_go_through_all_options_and_round(qtbot: QtBot, builder: StripBuilder) -> None:
    seen = []
    for _ in range(5):
        keys(qtbot, builder, "vertical_armed", Qt.Key.Key_Down)
        seen.append(builder.draft.cells["vertical_armed"])
    assert seen == [(), ("altitude",), ("glidepath",), ("altitude", "glidepath"), ()]
    keys(qtbot, builder, "vertical_armed", Qt.Key.Key_Up)
    assert builder.draft.cells["vertical_armed"] == ("altitude", "glidepath")


def test_armed_cell_takes_several_modes(qtbot: QtBot, builder: StripBuilder) -> None:
    keys(qtbot, builder, "vertical_armed", Qt.Key.Key_G, Qt.Key.Key_A)
    assert builder.draft.cells["vertical_armed"] == ("altitude", "glidepath")
    keys(qtbot, builder, "vertical_armed", Qt.Key.Key_G)
    assert builder.draft.cells["vertical_armed"] == ("altitude",)


def test_left_and_right_move_and_backspace_empties(qtbot: QtBot, builder: StripBuilder) -> None:
    keys(qtbot, builder, "engagement", Qt.Key.Key_3, Qt.Key.Key_Right)
    assert builder.strip.cells["alert"].hasFocus()
    keys(qtbot, builder, "engagement", Qt.Key.Key_Backspace)
    assert "engagement" not in builder.draft.cells


def test_enter_leads_to_what_is_missing(qtbot: QtBot, builder: StripBuilder) -> None:
    with qtbot.assertNotEmitted(builder.submitted):
        keys(qtbot, builder, "vertical_armed", Qt.Key.Key_Return)
    assert builder.strip.cells["engagement"].hasFocus()


def test_choices_say_which_is_picked(qtbot: QtBot, builder: StripBuilder) -> None:
    keys(qtbot, builder, "engagement", Qt.Key.Key_2)
    assert choice(builder, "director").isChecked()
    assert not choice(builder, "autopilot").isChecked()


def test_asking_again_starts_empty(
    qtbot: QtBot, builder: StripBuilder, words: StripWords, climbing: Annunciation
) -> None:
    builder.nothing.click()
    builder.ask(words, climbing)
    assert builder.draft.missing == CELLS
    assert not any(radio.isChecked() for radio in builder.confidences.values())
