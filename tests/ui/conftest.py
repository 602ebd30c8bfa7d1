"""Windows without a screen; values to show in them; any Qt warning fails the test."""

from __future__ import annotations

import gc
import os
from collections.abc import Generator, Iterator
from datetime import date

os.environ["QT_QPA_PLATFORM"] = "offscreen"

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QtMsgType, qInstallMessageHandler

from trainer.flight.types import FlightSample
from trainer.session.annunciation import Annunciation, AxisAnnunciation
from trainer.ui.look.words import Choice, StripWords

_HARMLESS = (
    "This plugin does not support propagateSizeHints()",
    "This plugin does not support raise()",
    "This plugin does not support grabbing the keyboard",
)
"""Said by the offscreen platform whatever a window does; a real screen never says it."""
_MODES = {
    "engagement": "no_guidance director autopilot",
    "lateral_active": "none roll_hold heading_select course_track approach_course go_around level",
    "lateral_armed": "course_track approach_course back_course",
    "vertical_active": "none pitch_hold vertical_speed airspeed_hold altitude_capture"
    " altitude_hold glidepath go_around level",
    "vertical_armed": "altitude glidepath",
    "alert": "quiet disconnect_sounding signal_lost",
    "protection": "none underspeed overspeed",
}


@pytest.fixture(autouse=True)
def a_day_after_all_that_tests_type(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no test depend on the day that it runs on: a date to come is refused."""
    monkeypatch.setattr("trainer.ui.aircraft.answer_state.today", lambda: date(2026, 12, 30))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> Generator[None]:
    """Let no thread of a test destroy the widgets of an earlier one."""
    gc.disable()
    return (yield)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown(item: pytest.Item) -> Generator[None]:
    """Destroy the test's windows here and now."""
    try:
        return (yield)
    finally:
        if QCoreApplication.instance() is not None:
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        gc.collect(0)
        gc.enable()


@pytest.fixture(autouse=True)
def fail_on_qt_warnings() -> Iterator[None]:
    """Collect what Qt says and fail on a warning or worse."""
    said: list[str] = []

    def note(kind: QtMsgType, _context: object, message: str) -> None:
        is_quiet = kind in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg)
        if not is_quiet and message not in _HARMLESS:
            said.append(message)

    previous = qInstallMessageHandler(note)
    yield
    qInstallMessageHandler(previous)
    assert not said, f"Qt warned: {said}"


@pytest.fixture(autouse=True)
def silence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Start no player of sounds, whatever the machine has."""
    monkeypatch.setattr("trainer.ui.sound.speaker.find_player", lambda: ())


@pytest.fixture
def words() -> StripWords:
    """Words for every cell, as a chart would give them."""
    return StripWords(
        {
            cell: tuple(
                Choice(state, state.replace("_", " ").capitalize(), state[:8])
                for state in states.split()
            )
            for cell, states in _MODES.items()
        }
    )


@pytest.fixture
def climbing() -> Annunciation:
    """Heading select and vertical speed, with a course and the altitude armed."""
    return Annunciation(
        "autopilot",
        AxisAnnunciation("heading_select", ("course_track",)),
        AxisAnnunciation("vertical_speed", ("altitude",)),
    )


@pytest.fixture
def sample() -> FlightSample:
    """A climb on an easterly heading."""
    return FlightSample(
        t_s=12.0, north_nm=1.0, east_nm=2.0, altitude_ft=3200.0, pressure_altitude_ft=3200.0,
        height_ft=2700.0, heading_deg=92.0, track_deg=95.0, bank_deg=4.0, pitch_deg=3.5,
        airspeed_kt=98.0, true_airspeed_kt=103.0, ground_speed_kt=110.0, vertical_speed_fpm=510.0,
        load_factor_g=1.0, power_percent=85.0, course_valid=True, course_deviation=0.4,
        glidepath_valid=False, glidepath_deviation=0.0, distance_nm=8.0, cue_bank_deg=10.0,
        cue_pitch_deg=3.0, on_ground=False,
    )  # fmt: skip
