"""Verify drill, malfunctions and flying by hand in free practice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.document import parse_document
from trainer.lesson.loader import read_lesson
from trainer.lesson.recording import to_lesson
from trainer.lesson.spec import Do, Set
from trainer.session.faults import FAULTS, SELECTOR_FAULTS, SLIP_STEPS, faults_of
from trainer.session.session import STEP_S, Session
from trainer.ui.lesson.branch import branched, undone
from trainer.ui.lesson.practice import Practice
from trainer.ui.lesson.practice_words import event_line, lesson_text, noticed_line
from trainer.ui.look.notice_box import NoticeBox
from trainer.ui.look.words import StripWords
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.free_panel import FreePanel
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.practice.stick_pad import StickPad, stick_words
from trainer.ui.practice.verify_drill import TIME_TO_NOTICE_S, Noticed, VerifyDrill

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


def test_what_was_missed_and_is_said_late_is_no_false_alarm(practice: Practice) -> None:
    practice.press("director")
    fly(practice, TIME_TO_NOTICE_S + 4.0)
    practice.notice()
    assert practice.noticed.verdict == "late"
    assert practice.noticed.after_s == pytest.approx(TIME_TO_NOTICE_S + 4.0, abs=0.3)
    chart = practice.session.installation.chart
    assert noticed_line(practice.noticed, chart) == ("Too late: the key Director was dead", "wrong")
    assert practice.flyer.verify.record == "Caught 0, missed 1, false alarms 0"
    practice.notice()  # said once already
    assert practice.noticed.verdict == "false_alarm"


def test_late_is_a_false_alarm_once_the_strip_shows_what_was_asked(practice: Practice) -> None:
    practice.press("director")
    fly(practice, TIME_TO_NOTICE_S + 1.0)
    practice.press("director")  # may be dead once more
    practice.press("director")
    assert practice.session.annunciation.engagement == "director"
    practice.notice()
    assert practice.noticed.verdict == "false_alarm"


def test_a_selector_missed_and_said_late_until_it_is_turned() -> None:
    for is_turned in (False, True):
        practice = drilled("stuck")
        fly(practice, TIME_TO_NOTICE_S + 1.0)
        if is_turned:
            practice.verify._share = 0.0
            practice.select("selected_altitude_ft", 5000.0)
        practice.notice()
        assert practice.noticed.verdict == ("false_alarm" if is_turned else "late")


def test_the_button_says_what_it_is_for_and_how_long_one_has(qtbot: QtBot) -> None:
    box = NoticeBox()
    qtbot.addWidget(box)
    told = " ".join(one.text() for one in box.findChildren(QLabel))
    assert f"within {TIME_TO_NOTICE_S:.0f} seconds" in told
    assert "dead" in told


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
        drill.say(session)
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
        for v in ("caught", "missed", "late", "false_alarm")
    }
    assert len(said) == 4


def drilled(how: str, name: str = "selected_altitude_ft") -> Practice:
    """Return free practice whose next turn of a selector is stuck or slips."""
    for seed in range(50):
        made = Practice(FreeFlight(begin_cheaply), lambda _: None)
        made.set_verify(VerifyDrill(seed, share=1.0))
        made.proceed()
        made.select(name, 120.0 if name.endswith("deg") else 5000.0)
        if (made.verify.fault.startswith("stuck")) == (how == "stuck"):
            return made
    raise AssertionError(how)


@pytest.mark.parametrize("name", SLIP_STEPS)
def test_stuck_selector_keeps_its_value_until_it_is_noticed(name: str) -> None:
    before = getattr(begin_cheaply().references, name)
    practice = drilled("stuck", name)
    assert getattr(practice.session.references, name) == before
    practice.select(name, 130.0)  # it sticks for every turn, until that is settled
    assert getattr(practice.session.references, name) == before
    fly(practice, 2.0)
    practice.notice()
    assert practice.noticed.verdict == "caught"
    assert practice.noticed.how == "stuck"
    practice.set_verify(None)
    practice.select(name, 130.0)
    assert getattr(practice.session.references, name) == 130.0


def test_slipping_selector_takes_a_neighbouring_value_and_is_missed_after_the_time() -> None:
    practice = drilled("slipping")
    assert practice.session.references.selected_altitude_ft == 5100.0
    fly(practice, TIME_TO_NOTICE_S + 0.5)
    (result,) = practice.verify.results
    assert (result.verdict, result.how) == ("missed", "slipping")
    words, role = noticed_line(result, practice.session.installation.chart)
    assert "selected altitude went too far" in words
    assert role == "wrong"
    assert not faults_of(practice.session.flight)


def test_recording_has_what_happened_and_not_what_was_asked(practice: Practice) -> None:
    practice.press("director")  # dead
    practice.press("director")
    assert [deed.what for deed in practice.deeds] == [Do("director")]
    slips = drilled("slipping")
    assert [deed.what for deed in slips.deeds] == [Set((("selected_altitude_ft", 5100.0),))]
    stuck = drilled("stuck")
    lesson = to_lesson(stuck.recording(), "x", "x", ["Say what it reads."])
    runner = WORKSPACE.start_lesson_without_trainee(lesson)
    runner.advance(1.0)
    again = runner.session.references.selected_altitude_ft
    assert again == stuck.session.references.selected_altitude_ft


VIGIL = """\
format: lesson/1
title: Watch
installation: ship_amber
objectives: [Notice what isn't as asked.]
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  selected: {altitude_ft: 3000, heading_deg: 90}
  modes: {engagement: autopilot, lateral: roll_hold, vertical: altitude_hold}
steps:
  - inject: stuck:heading_select
  - wait: 1
  - do: heading_select
  - wait: 15
  - clear: stuck:heading_select
  - inject: slips:selected_altitude_ft
  - set: {selected_altitude_ft: 4000}
  - wait: 15
"""


def vigil(*, says: bool) -> Practice:
    """Return a lesson with two failures, flown to its end."""
    lesson = read_lesson(parse_document(VIGIL, "x.yaml"), "x", WORKSPACE.charts)
    practice = Practice(WORKSPACE.start_lesson(lesson), lambda _: None)
    practice.proceed()
    for _ in range(400):
        practice.tick(0.1)
        if says and practice.session.t_s > 3.0 and not practice.verify.results:
            practice.notice()
    assert practice.flyer.phase == "finished"
    return practice


def test_lesson_that_lets_things_fail_judges_what_is_noticed() -> None:
    practice = vigil(says=True)
    assert practice.session.references.selected_altitude_ft == 4100.0
    assert practice.verify.record == "Caught 1, missed 1, false alarms 0"
    assert "Caught 1, missed 1" in lesson_text(practice, StripWords({})).details[0]
    assert vigil(says=False).verify.record == "Caught 0, missed 2, false alarms 0"


def test_question_takes_the_place_of_noticing() -> None:
    text = VIGIL.replace("  - wait: 15\n  - clear", "  - predict: {kind: after_time, after_s: 12}\n"
                         "  - clear", 1)  # fmt: skip
    lesson = read_lesson(parse_document(text, "x.yaml"), "x", WORKSPACE.charts)
    practice = Practice(WORKSPACE.start_lesson(lesson), lambda _: None)
    practice.proceed()
    while practice.flyer.phase == "running":
        practice.tick(0.1)
    practice.answer(Prediction(practice.session.annunciation, "sure"))
    while practice.flyer.phase == "revealing":
        practice.tick(0.1)
    assert practice.verify.results == []


def test_undo_goes_back_to_the_very_instant_with_nothing_lost() -> None:
    practice = Practice(FreeFlight(begin_cheaply), lambda _: None)
    practice.start = SITUATIONS[0].start
    practice.proceed()
    fly(practice, 3.15)
    for event in ("director", "autopilot"):  # two keys at the same instant
        practice.press(event)
    at_s, director = practice.session.t_s, practice.session.fork()
    fly(practice, 4.0)
    again = undone(practice, lambda *_: None)
    assert again.session.t_s == at_s
    assert again.session.annunciation.engagement == "director"
    assert [r.event for r in again.session.trace.records] == ["director"]
    assert [deed.what for deed in again.deeds] == [Do("director")]
    first = undone(again, lambda *_: None)
    assert first.session.t_s == at_s
    assert first.session.annunciation.engagement == "no_guidance"
    assert undone(first, lambda *_: None) is None
    assert director.t_s == at_s


@given(st.integers(0, 400))
@settings(max_examples=10, deadline=None)
def test_any_moment_looked_back_at_is_that_moment(step: int) -> None:
    if not _FLOWN:
        _FLOWN.append(_flown())
    practice = _FLOWN[0]
    t_s = step * STEP_S
    practice.look_back(t_s)
    assert practice.shown.t_s == pytest.approx(min(t_s, practice.session.t_s))
    start = practice.log.session_at(practice.session, t_s)
    branch = branched(practice, start, lambda *_: None)
    branch.proceed()
    assert branch.session.annunciation == practice.shown.annunciation
    assert branch.session.flight.altitude_ft == practice.shown.flight.altitude_ft
    assert not practice.can_act or practice.looking is None
    practice.look_back(practice.session.t_s)
    assert practice.looking is None


_FLOWN: list[Practice] = []


def _flown() -> Practice:
    practice = Practice(FreeFlight(begin_cheaply), lambda _: None)
    practice.proceed()
    for event in ("director", "autopilot", "heading_select"):
        fly(practice, 3.0)
        practice.press(event)
    practice.select("selected_heading_deg", 200.0)
    fly(practice, 11.0)
    return practice


def test_branch_keeps_drills_and_takes_out_what_the_drill_had_put_in() -> None:
    practice = drilled("stuck")
    practice.set_drill_rate(4)
    practice.inject("slips:selected_heading_deg", True)
    fly(practice, 3.0)
    start = practice.log.session_at(practice.session, 2.0)
    assert len(faults_of(start.flight)) == 2
    branch = branched(practice, start, lambda *_: None)
    assert faults_of(branch.session.flight) == ("slips:selected_heading_deg",)
    assert branch.flyer.drill_rate == 4
    assert branch.verify is practice.verify


@pytest.mark.parametrize("fault", [*FAULTS, *SELECTOR_FAULTS])
def test_every_malfunction_can_be_started_and_ended(fault: str) -> None:
    practice = Practice(FreeFlight(begin_on_approach), lambda _: None)
    practice.proceed()
    assert practice.session.annunciation.engagement == "autopilot"
    well = practice.session.fork()
    practice.inject(fault, True)
    assert faults_of(practice.session.flight) == (fault,)
    fly(practice, 5.0)
    fly_ahead(well, 5.0)
    assert acts(practice.session) != acts(well), "it does nothing"
    practice.inject(fault, False)
    assert faults_of(practice.session.flight) == ()
    fly(practice, 1.0)
    assert faults_of(practice.session.flight) == ()
    if fault in SELECTOR_FAULTS:
        fly_ahead(well, 1.0)
        assert acts(practice.session) == acts(well), "it goes on"


def begin_on_approach() -> Session:
    """Return a session on the approach, in which every signal that can be lost is there."""
    start = next(one.start for one in SITUATIONS if one.id == "approach")
    initial = replace(start.initial, heading_deg=360.0, north_nm=8.0, east_nm=0.0)
    return WORKSPACE.begin("ship_amber", replace(start, initial=initial))


def fly_ahead(session: Session, seconds: float) -> None:
    for _ in range(round(seconds / STEP_S)):
        session.step()


def acts(session: Session) -> tuple[object, ...]:
    """Return what a pilot sees, and where every selector that can fail stops when it is turned."""
    session = session.fork()
    flight = session.flight
    seen = (
        session.annunciation, round(flight.bank_deg, 1), round(flight.pitch_deg, 1),
        flight.electrical_ok, tuple(session.signal_names()),
    )  # fmt: skip
    turned = []
    for name, value in zip(SLIP_STEPS, (4500.0, 200.0, 150.0), strict=True):
        session.select(name, value)
        turned.append(getattr(session.references, name))
    return (*seen, *turned)


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
