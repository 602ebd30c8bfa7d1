"""What a member is told fits the flight at the moment of the question, not its beginning."""

import re
from dataclasses import replace

import pytest

from tests.helpers.situations import workspace
from tests.helpers.small_bank import SHIP, small_bank
from trainer.assessment.items.item import LOOK_S, FlownSituation, ItemError, fly_to
from trainer.assessment.items.moment_words import moment_words
from trainer.assessment.items.scene import Scene, scenes
from trainer.session.session import Session
from trainer.session.situation import StartModes

MODES = (
    StartModes(),
    StartModes("director", "go_around", "go_around"),
    StartModes("autopilot", "heading_select", "altitude_hold"),
    StartModes("autopilot", "heading_select", "pitch_hold"),
)


def begin(start) -> Session:
    return workspace().begin(SHIP, start)


def flights() -> tuple[Scene, ...]:
    return scenes(workspace().installation(SHIP))


def flown(scene: Scene, modes: StartModes) -> Session:
    return fly_to(FlownSituation(scene.id, scene.words, scene.with_modes(modes)), begin)


def fits(words: str, session: Session) -> None:
    """Read the words again, and compare them with the flight."""
    now = session.flight.sample()
    selected_ft = session.references.selected_altitude_ft
    if words.startswith("Level"):
        assert abs(now.vertical_speed_fpm) < 80.0, words
    else:
        said = re.match(r"(Climbing|Descending) at ([\d,]+) ft/min through ([\d,]+) ft", words)
        assert said, words
        sign = 1.0 if said[1] == "Climbing" else -1.0
        assert sign * number(said[2]) == pytest.approx(now.vertical_speed_fpm, abs=25.0), words
        assert number(said[3]) == pytest.approx(now.altitude_ft, abs=5.0), words
    assert f"{selected_ft:,.0f} ft" in words
    if not session.references.source_id:
        assert "course" not in words


def number(text: str) -> float:
    return float(text.replace(",", ""))


@pytest.mark.parametrize("modes", MODES, ids=lambda modes: modes.vertical or "none")
def test_words_fit_the_numbers_of_their_moment(modes):
    told = 0
    for scene in flights():
        try:
            session = flown(scene, modes)
        except ItemError:
            continue
        fits(moment_words(session), session)
        told += 1
    assert told > 10


def test_a_descent_in_go_around_tells_the_power_that_explains_it():
    scene = next(one for one in flights() if one.id == "levelling_down")
    session = flown(scene, StartModes("director", "go_around", "go_around"))
    words = moment_words(session)
    assert words.startswith("Descending")
    assert f"the power still at {session.flight.sample().power_percent:.0f} %" in words


@pytest.mark.parametrize(
    ("scene", "part"),
    [
        ("low_climb", "ft above the ground; 3,000 ft is selected."),
        ("slow", ", slow, "),
        ("fast", ", fast, "),
        ("steep_bank", "in a bank of 3"),
        ("nose_high", "the nose 1"),
        ("off_course", "3.0 miles right of the course to Beacon Harrowmere."),
        ("on_course", "On the course to Beacon Harrowmere."),
        ("meeting_course", "heading 040 towards it"),
        ("fading", "On the course from Beacon Ottersley, at the edge of its range."),
        ("beside_approach_no_path", "course of Linnetfield, which has no glidepath."),
        ("on_path", "On the approach course of Linnetfield, on the glidepath."),
        ("meeting_path", "ft below the glidepath."),
        ("above_path", "ft above the glidepath."),
    ],
)
def test_what_a_scene_is_about_is_told(scene, part):
    found = next(one for one in flights() if one.id == scene)
    assert part in moment_words(flown(found, StartModes()))


def test_items_of_a_bank_are_told_at_their_question_under_their_old_ids():
    assert LOOK_S > 0.0
    for item in small_bank().items:
        session = fly_to(item.situation, begin)
        assert item.situation.words == moment_words(session), item.id
        fits(item.situation.words, session)
        assert item.id.startswith("low_climb/")
        assert item.situation == replace(item.situation, words=moment_words(session))
