"""Settings: reduced motion, and keys of one's own that never clash."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from trainer.charts.loader import load_chart
from trainer.ui.practice.controls import RESERVED, SELECTORS, Control, controls_of
from trainer.ui.window.key_map import key_problem
from trainer.ui.window.preferences import Preferences
from trainer.ui.window.settings_page import HINT, SettingsPage

CONTROLS: tuple[Control, ...] = controls_of(
    load_chart(Path(__file__).parents[2] / "statecharts" / "generic.yaml")
)


@pytest.fixture
def page(qtbot: QtBot) -> SettingsPage:
    """The settings, shown."""
    widget = SettingsPage()
    qtbot.addWidget(widget)
    widget.resize(900, 600)
    widget.show_settings(CONTROLS, Preferences(volume_percent=60))
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    return widget


def choose(page: SettingsPage, event: str) -> None:
    """Put a control in hand and ask for a new key."""
    page.table.selectRow([control.event for control in CONTROLS].index(event))
    page.change.click()


def test_usual_keys_are_none_of_the_windows_own() -> None:
    assert not {control.key for control in CONTROLS} & RESERVED


@pytest.mark.parametrize("key", ["A", "F5", "N", "[", "Ctrl+J", "", "Esc"])
def test_key_that_is_taken_is_refused_with_a_reason(key: str) -> None:
    assert key_problem(key, "director", CONTROLS)


@pytest.mark.parametrize("key", ["Q", "7", "D", "Home", "+"])
def test_free_key_and_its_own_are_taken(key: str) -> None:
    assert key_problem(key, "director", CONTROLS) == ""


def test_next_key_is_the_new_one(qtbot: QtBot, page: SettingsPage) -> None:
    choose(page, "director")
    with qtbot.waitSignal(page.key_chosen) as signal:
        qtbot.keyClick(page.change, "Q")
    assert signal.args == ["director", "Q"]


def test_taken_key_is_not_taken_again(qtbot: QtBot, page: SettingsPage) -> None:
    choose(page, "director")
    with qtbot.assertNotEmitted(page.key_chosen):
        qtbot.keyClick(page.change, "A")
    assert "works Autopilot already" in page.message.text()


def test_escape_keeps_the_old_key(qtbot: QtBot, page: SettingsPage) -> None:
    choose(page, "director")
    with qtbot.assertNotEmitted(page.key_chosen):
        qtbot.keyClick(page.change, Qt.Key.Key_Escape)
    assert page.message.text() == HINT


def test_reduced_motion_is_asked_for(qtbot: QtBot, page: SettingsPage) -> None:
    with qtbot.waitSignal(page.still_chosen) as signal:
        page.still.click()
    assert signal.args == [True]


def test_volume_and_capture_tone_are_asked_for(qtbot: QtBot, page: SettingsPage) -> None:
    assert page.volume.currentData() == 50  # the nearest that is offered
    page.volume.setCurrentIndex(0)
    with qtbot.waitSignal(page.sound_chosen) as signal:
        page.volume.activated.emit(0)
    assert signal.args == [0, True]
    with qtbot.waitSignal(page.sound_chosen) as signal:
        page.capture.click()
    assert signal.args == [0, False]


def test_selectors_have_keys_of_their_own() -> None:
    keys = [key for s in SELECTORS for key in (s.down_key, s.up_key)]
    assert len(set(keys)) == len(keys)
    assert set(keys) <= RESERVED
