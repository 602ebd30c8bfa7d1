"""Differences lessons: loaded, reviewed and flown as any other; every question is one of habit."""

from functools import cache
from pathlib import Path

import pytest

from tests.helpers.differences import alike, planted, quiet_ship, shipped
from tests.helpers.situations import workspace
from trainer.assessment.differences.differences_habit import foreseen_by_habit
from trainer.assessment.differences.differences_lesson import (
    COMPETENCY,
    build_lessons,
    change_words,
    short_titles,
)
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.lesson.loader import load_lesson
from trainer.lesson.review import review
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson
from trainer.lesson.writer import write_lesson
from trainer.session.annunciation import Annunciation, AxisAnnunciation


@cache
def lessons_of(study) -> tuple[Lesson, ...]:
    pair = study()
    return build_lessons(pair.groups, pair.flown, pair.first, pair.second)


def test_every_question_of_every_lesson_is_one_that_the_habit_fails():
    pair = planted()
    count = 0
    for lesson in lessons_of(planted):
        runner = LessonRunner(lesson, lambda start=lesson.start: pair.second.begin(start))
        while runner.phase != "finished":
            if runner.phase == "asking":
                assert runner.playing is not None
                foreseen = foreseen_by_habit(pair.first.logic, runner.session, runner.playing)
                runner.commit()
                while runner.phase == "playing":
                    runner.advance(1.0)
                assert foreseen is not None
                assert foreseen.after != runner.played[-1].after
                count += 1
            elif runner.phase == "explained":
                runner.proceed()
            else:
                runner.advance(1.0)
    assert count >= len(planted().groups)


def test_a_lesson_written_loads_again_and_its_review_finds_nothing(tmp_path: Path):
    pair = planted()
    charts = {"ship_other": pair.second.logic.installation.chart}
    known = tuple(load_competencies(workspace().charts_folder / FILE_NAME))
    assert COMPETENCY in known
    for number, lesson in enumerate(lessons_of(planted)):
        path = tmp_path / f"lesson-{number}.yaml"
        path.write_text(write_lesson(lesson))
        loaded = load_lesson(path, charts)
        assert [type(step) for step in loaded.steps] == [type(step) for step in lesson.steps]
        assert review(loaded, pair.second.begin, known) == ()


def test_ships_that_are_alike_need_no_lesson():
    assert lessons_of(alike) == ()


def test_short_titles_tell_the_ships_apart():
    one, other = (workspace().installation(name) for name in ("ship_amber", "ship_slate"))
    assert short_titles(one, other) == ("Ship Amber", "Ship Slate")
    assert short_titles(one, one) == (one.title, one.title)


def test_change_words_name_what_becomes_and_what_is_no_longer():
    label = quiet_ship().chart.mode_label
    before = Annunciation("director", AxisAnnunciation("heading_select", ("course_track",)))
    after = Annunciation(
        "autopilot", AxisAnnunciation("roll_hold"), AxisAnnunciation("vertical_speed"), "quiet"
    )
    assert change_words(before, after, label) == [
        "autopilot", "lateral roll hold", "course no longer armed", "vertical speed",
    ]  # fmt: skip


@pytest.mark.long
def test_the_shipped_ships_lessons_cover_what_the_strip_shows_and_review_finds_nothing(tmp_path):
    pair = shipped()
    known = tuple(load_competencies(workspace().charts_folder / FILE_NAME))
    asked = 0
    for number, lesson in enumerate(lessons_of(shipped)):
        path = tmp_path / f"lesson-{number}.yaml"
        path.write_text(write_lesson(lesson))
        loaded = load_lesson(path, workspace().charts)
        assert review(loaded, pair.second.begin, known) == ()
        asked += sum(step.__class__.__name__ == "Predict" for step in loaded.steps)
    assert asked >= 8
