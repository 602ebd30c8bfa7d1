"""The practice behind the window: time, keys, answers and what is kept; the free-flight drill."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.session.annunciation import Annunciation
from trainer.session.session import Session
from trainer.ui.lesson.practice import SPEEDS, Answered, Practice, reveal_speed
from trainer.ui.lesson.practice_words import (
    calls,
    clock_words,
    details_beyond,
    event_line,
    lesson_text,
)
from trainer.ui.look.words import StripWords, words_of_chart
from trainer.ui.practice.free_flight import DRILL_RATES, FreeFlight, rate_words
from trainer.ui.practice.situations import SITUATIONS, Situation
from trainer.ui.practice.verify_drill import VerifyDrill

WORKSPACE = Workspace()
CRUISE = SITUATIONS[0]


def begin(situation: Situation = CRUISE) -> Session:
    """Return a session in a situation."""
    return WORKSPACE.begin("ship_amber", situation.start)


@pytest.fixture
def kept() -> list[Answered]:
    """What was given to the store."""
    return []


@pytest.fixture
def practice(kept: list[Answered]) -> Practice:
    """Free practice in cruise."""
    return Practice(FreeFlight(begin), kept.append)


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda s: s.id)
@pytest.mark.parametrize("ship", WORKSPACE.installations)
def test_every_situation_begins_in_every_aircraft_and_flies(
    situation: Situation, ship: str
) -> None:
    session = WORKSPACE.begin(ship, situation.start)
    flown = Practice(FreeFlight(lambda: session), lambda _: None)
    flown.proceed()
    for _ in range(50):
        flown.tick(0.2)
    assert flown.session.t_s == pytest.approx(10.0)


def test_intercept_and_approach_situations_lead_to_their_capture() -> None:
    for name, event, mode in (
        ("intercept", "course_track", "course_track"),
        ("approach", "approach", "approach_course"),
    ):
        session = begin(next(s for s in SITUATIONS if s.id == name))
        record = session.press(event)
        assert record.refusal is None, record
        for _ in range(20 * 240):
            session.step()
            if session.annunciation.lateral.active == mode:
                break
        assert session.annunciation.lateral.active == mode, name


def test_time_runs_only_when_begun_and_by_the_speed(practice: Practice) -> None:
    practice.tick(0.2)
    assert practice.session.t_s == 0.0
    practice.proceed()
    practice.tick(0.2)
    assert practice.session.t_s == pytest.approx(0.2)
    practice.change_speed(1)
    practice.tick(0.2)
    assert practice.session.t_s == pytest.approx(0.6)


def test_window_held_up_does_not_make_the_flight_jump(practice: Practice) -> None:
    practice.proceed()
    practice.tick(60.0)
    assert practice.session.t_s <= 0.25


def test_speed_stays_within_its_range(practice: Practice) -> None:
    for _ in range(9):
        practice.change_speed(1)
    assert practice.speed == SPEEDS[-1]
    for _ in range(9):
        practice.change_speed(-1)
    assert practice.speed == SPEEDS[0]


def test_drill_asks_at_the_chosen_rate(practice: Practice) -> None:
    practice.flyer.drill_rate = 2
    practice.press("director")
    assert practice.flyer.phase == "running"
    practice.press("heading_select")
    assert practice.flyer.phase == "asking"
    assert practice.session.annunciation.lateral.active == "roll_hold"


def test_call_acts_once_answered_and_is_kept_with_its_time(
    practice: Practice, kept: list[Answered]
) -> None:
    practice.flyer.drill_rate = 1
    practice.press("director")
    practice.tick(1.5)
    practice.press("autopilot")  # dead: a question is open
    practice.select("selected_altitude_ft", 9000.0)
    practice.answer(Prediction(Annunciation(), "guess"))
    assert practice.session.annunciation.engagement == "director"
    assert practice.session.references.selected_altitude_ft == 4000.0
    (answered,) = kept
    assert answered.taken_s == pytest.approx(1.5)
    assert not answered.outcome.score.is_right
    practice.proceed()
    practice.press("autopilot")
    assert practice.flyer.prompt.number == 2
    assert calls(practice.flyer.outcomes) == "1 call, 0 right"


def test_source_key_goes_round_all_sources(practice: Practice) -> None:
    seen = []
    for _ in range(4):
        practice.next_source()
        seen.append(practice.session.references.source_id)
    assert seen == ["east_line", "runway_36", "mill_beacon", "east_line"]


def test_restart_begins_again(practice: Practice) -> None:
    practice.proceed()
    practice.press("director")
    practice.tick(0.2)
    practice.restart()
    assert practice.session.t_s == 0.0
    assert practice.session.annunciation == Annunciation()
    assert len(practice.track.points) == 1
    assert not practice.is_running


def test_reveal_begins_as_flown_and_never_slows() -> None:
    speeds = [reveal_speed(step / 4) for step in range(80)]
    assert speeds[0] == 1.0
    assert speeds == sorted(speeds)
    assert speeds[-1] == 32.0


def test_last_event_is_told_in_a_line(practice: Practice) -> None:
    chart = practice.session.installation.chart
    assert event_line(None, chart) == ("", "quiet")
    practice.press("director")
    words, role = event_line(practice.last_record, chart)
    assert words.startswith("0:00  Director: new in engagement, lateral active, vertical active")
    assert role == "quiet"
    practice.select("source", "")
    practice.press("course_track")
    words, role = event_line(practice.last_record, chart)
    assert words.startswith("Course refused: ")
    assert role == "caution"


def test_a_key_that_does_nothing_is_told_too_but_not_in_a_drill(practice: Practice) -> None:
    chart = practice.session.installation.chart
    for event in ("director", "go_around", "go_around"):
        practice.press(event)
    assert practice.last_record is not None
    assert practice.last_record.is_empty
    words, role = event_line(practice.last_record, chart)
    assert "no cell" in words
    assert role == "quiet"
    practice.press("altitude_hold")
    assert isinstance(practice.flyer, FreeFlight)
    practice.flyer.verify = VerifyDrill(1, share=0.0)
    told = practice.last_record
    practice.press("go_around")
    practice.press("go_around")
    assert practice.last_record is not None
    assert not practice.last_record.is_empty
    assert practice.last_record is not told


def test_a_lessons_key_that_does_nothing_is_told_after_its_answer() -> None:
    lesson = WORKSPACE.lesson(next(WORKSPACE.lessons_folder.glob("30-*.yaml")))
    tutor = WORKSPACE.start_lesson(lesson)
    flown = Practice(tutor, lambda _: None)
    while tutor.phase != "asking":
        flown.proceed() if not flown.is_running else flown.tick(0.2)
    flown.answer(Prediction(tutor.session.annunciation, "sure"))
    while tutor.phase == "revealing":
        flown.tick(0.2)
    words, _ = event_line(flown.last_record, tutor.session.installation.chart)
    assert "Heading" in words
    assert "no cell" in words


def test_reversion_is_called_one(practice: Practice) -> None:
    practice.proceed()
    for event in ("director", "autopilot"):
        practice.press(event)
    practice.inject("servo", True)
    for _ in range(20):
        practice.tick(0.2)
    chart = practice.session.installation.chart
    words, role = event_line(practice.last_record, chart)
    assert words.endswith("Reversion: new in engagement, alert")
    assert role == "caution"


def test_panel_text_follows_the_phase(practice: Practice) -> None:
    words: StripWords = words_of_chart(practice.session.installation.chart)
    assert lesson_text(practice, words).next_step == "Begin"
    practice.proceed()
    assert lesson_text(practice, words).next_step == ""
    practice.flyer.drill_rate = 1
    practice.press("director")
    asking = lesson_text(practice, words)
    assert "Director" in asking.question
    assert (asking.verdict, asking.cells, asking.reasons) == ("", (), ())
    practice.answer(Prediction(Annunciation(), "sure"))
    told = lesson_text(practice, words)
    assert len(told.cells) == 7
    assert told.reasons
    assert told.next_step == "Go on"


def test_clock_and_rates_read_well() -> None:
    assert clock_words(125.9) == "2:05"
    assert len({rate_words(rate) for rate in DRILL_RATES}) == len(DRILL_RATES)


def test_details_say_only_what_the_reasons_did_not() -> None:
    reasons = ("It arms.", "It turns.")
    details = ("It arms; a course lies ahead.", "It turns.", "Something else.")
    assert details_beyond(reasons, details) == ("A course lies ahead.", "Something else.")
