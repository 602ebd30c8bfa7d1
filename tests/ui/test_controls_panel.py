"""Controls: words from the chart, each with a key of its own, silent while a question is open."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from trainer.charts.loader import load_chart
from trainer.ui.practice.controls import (
    SELECTORS,
    SPARE_KEYS,
    Control,
    assign_keys,
    controls_of,
    reference_words,
    turned,
    value_words,
)
from trainer.ui.practice.controls_panel import ControlsPanel

CHART = load_chart(Path(__file__).parents[2] / "statecharts" / "generic.yaml")
CONTROLS = controls_of(CHART)
ALTITUDE, HEADING = SELECTORS[0], SELECTORS[1]


@pytest.fixture
def panel(qtbot: QtBot) -> ControlsPanel:
    """A shown panel with the generic chart's controls."""
    widget = ControlsPanel(CONTROLS)
    qtbot.addWidget(widget)
    widget.resize(290, 640)
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    widget.setFocus()
    widget.show_values({"selected_altitude_ft": 3000.0}, "North beacon", "")
    return widget


def test_every_key_of_the_chart_is_a_control_with_a_key_of_its_own() -> None:
    keys = {spec.id for spec in CHART.events.values() if spec.kind == "key"}
    shown = {c.event for c in CONTROLS} | {c.release_event for c in CONTROLS if c.release_event}
    assert shown == keys
    used = [control.key for control in CONTROLS]
    assert len(set(used)) == len(used)
    assert all(used)


@given(
    st.lists(st.text("abcdef_", min_size=1, max_size=6), unique=True, max_size=10),
    st.dictionaries(st.text("abcdef_", min_size=1, max_size=6), st.sampled_from(SPARE_KEYS)),
)
def test_no_keyboard_key_is_given_twice(events: list[str], chosen: dict[str, str]) -> None:
    keys = list(assign_keys(events, chosen).values())
    assert len(set(keys)) == len(keys) == len(events)


def test_users_key_wins_over_the_usual_one() -> None:
    keys = assign_keys(["director", "autopilot"], {"autopilot": "D"})
    assert keys["autopilot"] == "D"
    assert keys["director"] != "D"


@pytest.mark.parametrize("control", CONTROLS, ids=lambda c: c.event)
def test_key_and_button_press_the_control(
    qtbot: QtBot, panel: ControlsPanel, control: Control
) -> None:
    key = {"PgUp": Qt.Key.Key_PageUp, "PgDown": Qt.Key.Key_PageDown}.get(control.key, control.key)
    with qtbot.waitSignal(panel.pressed) as signal:
        qtbot.keyClick(panel, key)
    assert signal.args == [control.event]
    with qtbot.waitSignal(panel.pressed) as signal:
        qtbot.mouseClick(panel.buttons[control.event], Qt.MouseButton.LeftButton)
    assert signal.args == [control.event]


def test_nothing_acts_while_a_question_is_open(qtbot: QtBot, panel: ControlsPanel) -> None:
    panel.set_acting(False)
    with qtbot.assertNotEmitted(panel.pressed), qtbot.assertNotEmitted(panel.selected):
        for control in CONTROLS:
            if len(control.key) == 1:
                qtbot.keyClick(panel, control.key)
            qtbot.mouseClick(panel.buttons[control.event], Qt.MouseButton.LeftButton)
        qtbot.keyClick(panel, "]")
    panel.set_acting(True)
    with qtbot.waitSignal(panel.pressed):
        qtbot.keyClick(panel, "H")


def test_held_control_is_pressed_and_released(qtbot: QtBot, panel: ControlsPanel) -> None:
    button = panel.buttons["hand_steering_pressed"]
    seen: list[str] = []
    panel.pressed.connect(seen.append)
    qtbot.mousePress(button, Qt.MouseButton.LeftButton)
    assert seen == ["hand_steering_pressed"]
    qtbot.mouseRelease(button, Qt.MouseButton.LeftButton)
    assert seen == ["hand_steering_pressed", "hand_steering_released"]


def test_altitude_selector_turns_with_keys_and_buttons(qtbot: QtBot, panel: ControlsPanel) -> None:
    with qtbot.waitSignal(panel.selected) as signal:
        qtbot.keyClick(panel, "]")
    assert signal.args == ["selected_altitude_ft", 3100.0]
    row = panel.selectors["selected_altitude_ft"]
    with qtbot.waitSignal(panel.selected) as signal:
        qtbot.mouseClick(row.buttons[0], Qt.MouseButton.LeftButton)
    assert signal.args == ["selected_altitude_ft", 2900.0]


@pytest.mark.parametrize(
    ("value", "clicks", "is_big", "expected"),
    [
        (3000.0, 1, False, 3100.0),
        (3300.0, 1, True, 4000.0),
        (0.0, -1, False, 0.0),
        (19950.0, 1, False, 20000.0),
    ],
)
def test_altitude_stays_in_range(value: float, clicks: int, is_big: bool, expected: float) -> None:
    assert turned(ALTITUDE, value, clicks, is_big=is_big) == expected


def test_heading_wraps_round() -> None:
    assert turned(HEADING, 359.0, 1) == 0.0
    assert turned(HEADING, 0.0, -1) == 359.0
    assert turned(HEADING, 352.0, 1, is_big=True) == 0.0


def test_values_read_as_a_pilot_says_them() -> None:
    assert value_words(HEADING, 5.0) == "005"
    assert value_words(ALTITUDE, 3000.0) == "3000 ft"
    assert value_words(ALTITUDE, None) == "—"
    assert reference_words("vertical_speed", {"vertical_speed_fpm": 500.0}) == (
        "Vertical speed +500 ft/min"
    )
    assert reference_words("glidepath", {}) == "No reference in this mode"
