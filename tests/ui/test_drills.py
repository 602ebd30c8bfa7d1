"""Verify drill, malfunctions and flying by hand in free practice."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.session.faults import FAULTS
from trainer.session.session import Session
from trainer.ui.free_flight import FreeFlight
from trainer.ui.free_panel import FreePanel
from trainer.ui.practice import Practice
from trainer.ui.practice_words import event_line, noticed_line
from trainer.ui.situations import SITUATIONS
from trainer.ui.stick_pad import StickPad, stick_words
from trainer.ui.verify_drill import TIME_TO_NOTICE_S, Noticed, VerifyDrill

WORKSPACE = Workspace()


def begin() -> Session:
    """Return a session in cruise."""
    return WORKSPACE.begin("ship_amber", SITUATIONS[0].start)


@pytest.fixture
def practice() -> Practice:
    """Free practice in which every key that would do something is dead once."""
    made = Practice(FreeFlight(begin), lambda _: None)
    made.set_verify(VerifyDrill(1, share=1.0))
    made.proceed()
    return made


def fly(practice: Practice, seconds: float) -> None:
    """Let time pass."""
    for _ in range(round(seconds / 0.2)):
        practice.tick(0.2)


def test_dead_key_leaves_the_strip_as_it_is_and_is_caught_by_saying_so(practice: Practice) -> None:
    before = practice.session.annunciation
    practice.press("director")
    assert practice.session.annunciation == before
    fly(practice, 3.0)
    practice.notice()
    assert practice.noticed.verdict == "caught"
    assert practice.noticed.after_s == pytest.approx(3.0)
    assert practice.flyer.verify.record == "Caught 1, missed 0, false alarms 0"


def test_dead_key_works_when_pressed_again_and_counts_as_caught(practice: Practice) -> None:
    practice.press("director")
    practice.press("director")
    assert practice.session.annunciation.engagement == "director"
    assert [r.verdict for r in practice.flyer.verify.results] == ["caught"]


def test_dead_key_not_noticed_in_time_is_missed(practice: Practice) -> None:
    practice.press("director")
    fly(practice, TIME_TO_NOTICE_S - 0.5)
    assert practice.flyer.verify.results == []
    fly(practice, 1.0)
    assert [r.verdict for r in practice.flyer.verify.results] == ["missed"]
    words, role = noticed_line(practice.noticed, practice.session.installation.chart)
    assert "Director" in words
    assert role == "wrong"


def test_false_alarm_is_counted(practice: Practice) -> None:
    practice.notice()
    assert practice.flyer.verify.record == "Caught 0, missed 0, false alarms 1"


def test_key_that_does_nothing_is_never_made_dead(practice: Practice) -> None:
    practice.press("manual_trim")
    practice.notice()
    assert practice.flyer.verify.results[-1].verdict == "false_alarm"


def test_share_of_dead_keys_is_about_what_is_asked() -> None:
    drill = VerifyDrill(7, share=0.3)
    dead = 0
    for _ in range(400):
        session = begin_cheaply()
        dead += not drill.press(session, "director").has_changed
        drill.say(session.t_s)
    assert 0.2 < dead / 400 < 0.4


_TEMPLATE: list[Session] = []


def begin_cheaply() -> Session:
    """Return a fork of one session."""
    if not _TEMPLATE:
        _TEMPLATE.append(begin())
    return _TEMPLATE[0].fork()


def test_noticed_words_differ() -> None:
    chart = begin_cheaply().installation.chart
    said = {
        noticed_line(Noticed(v, "director", 2.0), chart)[0]
        for v in ("caught", "missed", "false_alarm")
    }
    assert len(said) == 3


@pytest.mark.parametrize("fault", FAULTS)
def test_every_malfunction_can_be_started_and_ended(fault: str) -> None:
    practice = Practice(FreeFlight(begin_cheaply), lambda _: None)
    practice.proceed()
    for event in ("director", "autopilot", "heading_select"):
        practice.press(event)
    practice.inject(fault, True)
    fly(practice, 5.0)
    practice.inject(fault, False)
    fly(practice, 1.0)


def test_servo_fault_disconnects_and_is_told() -> None:
    practice = Practice(FreeFlight(begin_cheaply), lambda _: None)
    practice.proceed()
    for event in ("director", "autopilot"):
        practice.press(event)
    practice.inject("servo", True)
    fly(practice, 2.0)
    assert practice.session.annunciation.engagement != "autopilot"
    words, role = event_line(practice.last_record, practice.session.installation.chart)
    assert "engagement" in words
    assert role == "caution"


def test_hands_fly_the_aircraft() -> None:
    practice = Practice(FreeFlight(begin_cheaply), lambda _: None)
    practice.proceed()
    practice.select("pilot", "hands")
    practice.move_stick(0.5, 0.0)
    fly(practice, 3.0)
    assert practice.session.flight.sample().bank_deg > 5.0


@pytest.fixture
def stick(qtbot: QtBot) -> StickPad:
    """A shown stick."""
    pad = StickPad()
    qtbot.addWidget(pad)
    pad.resize(200, 100)
    pad.show()
    return pad


def test_stick_follows_the_pointer_and_springs_back(qtbot: QtBot, stick: StickPad) -> None:
    with qtbot.waitSignal(stick.moved):
        qtbot.mousePress(stick, Qt.MouseButton.LeftButton, pos=QPoint(190, 90))
    assert (stick.bank, stick.pitch) == (1.0, 1.0)
    qtbot.mouseRelease(stick, Qt.MouseButton.LeftButton)
    assert (stick.bank, stick.pitch) == (0.0, 0.0)


def test_stick_moves_with_the_arrow_keys(qtbot: QtBot, stick: StickPad) -> None:
    qtbot.keyClick(stick, Qt.Key.Key_Right)
    qtbot.keyClick(stick, Qt.Key.Key_Down)
    assert (stick.bank, stick.pitch) == pytest.approx((0.2, 0.2))
    assert stick.accessibleDescription() == "stick 20% right, pull 20%"
    qtbot.keyClick(stick, Qt.Key.Key_Home)
    assert stick_words(stick.bank, stick.pitch) == "stick in the middle"


def test_panel_says_what_is_wanted_and_forgets_it_for_a_new_flight(qtbot: QtBot) -> None:
    panel = FreePanel()
    qtbot.addWidget(panel)
    panel.show()
    panel.fault.setCurrentIndex(panel.fault.findData("navigation"))
    with qtbot.waitSignal(panel.fault_switched) as signal:
        panel.fault_on.setChecked(True)
    assert signal.args == ["navigation", True]
    with qtbot.waitSignal(panel.verify_chosen) as signal:
        panel.verify.setChecked(True)
    assert signal.args == [True]
    with qtbot.waitSignal(panel.hands_chosen):
        panel.hands.setChecked(True)
    assert panel.stick.isVisible()
    panel.reset(2)
    assert not any(w.isChecked() for w in (panel.verify, panel.fault_on, panel.hands))
    assert panel.drill.currentData() == 2
    assert not panel.stick.isVisible()
