"""What is written is read back the same, for every shipped lesson and for odd values."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.errors import FileError
from trainer.lesson.spec import Lesson, Predict
from trainer.lesson.writer import write_lesson
from trainer.resources import resource_folder

PATHS = sorted(resource_folder("lessons").glob("*.yaml"))


def without_lines(lesson: Lesson) -> Lesson:
    steps = tuple(replace(step, line=0) for step in lesson.steps)
    return replace(lesson, id="", path="", start_line=0, steps=steps)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_shipped_lesson_is_written_and_read_back_the_same(workspace, read, path):
    lesson = workspace.lesson(path)
    assert without_lines(read(write_lesson(lesson))) == without_lines(lesson)


def test_words_that_yaml_could_mistake_stay_words(read, text):
    lesson = replace(read(text), title="no: yes, on # off", summary="'quoted' \"twice\"")
    back = read(write_lesson(lesson))
    assert (back.title, back.summary) == (lesson.title, lesson.summary)


def test_several_keys_of_one_prompt_are_written_and_read_back_the_same(read, text):
    lesson = read(text)
    keys = Predict("after_key", "course_track", 0.0, then=("heading_select", "course_track"))
    lesson = replace(lesson, steps=(*lesson.steps, keys))
    written = write_lesson(lesson)
    assert "then: [heading_select, course_track]" in written
    assert without_lines(read(written)) == without_lines(lesson)


def test_a_further_key_that_is_not_fitted_is_refused_with_its_line(read, text):
    keys = Predict("after_key", "course_track", 0.0, then=("heading_select", "course_tracking"))
    written = write_lesson(replace(read(text), steps=(keys,)))
    with pytest.raises(FileError) as refused:
        read(written)
    problem = refused.value.problems[0]
    assert "course_tracking" in problem.found
    assert written.splitlines()[problem.line - 1].strip().startswith("- predict")


def test_numbers_are_written_as_a_person_would(read, text):
    written = write_lesson(read(text))
    assert "altitude_ft: 3000\n" in written
    assert "3000.0" not in written
    assert "- {id: quillmoor, kind: beacon" in written


SCENE = """
  wind_layers:
    - {altitude_ft: 0, from_deg: 200, speed_kt: 5}
    - {altitude_ft: 6000, from_deg: 260, speed_kt: 30}
  hills:
    - {north_nm: 5, east_nm: -2, radius_nm: 3, height_ft: 900}
  turbulence_seed: 7
"""


def with_scene(text: str, scene: str) -> str:
    return text.replace("start:\n", "start:\n" + scene.strip("\n") + "\n", 1)


def test_wind_with_altitude_and_hills_are_written_and_read_back_the_same(read, text):
    lesson = read(with_scene(text, SCENE))
    environment = lesson.start.environment
    assert [layer.wind.speed_kt for layer in environment.wind_layers] == [5, 30]
    assert environment.hills[0].height_ft == 900
    assert environment.turbulence_seed == 7
    assert without_lines(read(write_lesson(lesson))) == without_lines(lesson)


def test_a_place_and_a_year_give_the_variation_of_the_magnetic_model(read, text):
    """[MAG-02] WMM2020 at 2020.0: declination 1.05 deg east at (0, 21) and 18 km; here at 0 km."""
    place = "  place: {latitude_deg: 0, longitude_deg: 21, year: 2020}\n"
    lesson = read(with_scene(text, place))
    assert lesson.start.environment.variation_deg == pytest.approx(1.05, abs=0.1)
    assert without_lines(read(write_lesson(lesson))) == without_lines(lesson)


@pytest.mark.parametrize(
    ("scene", "found"),
    [
        (
            "  place: {latitude_deg: 0, longitude_deg: 21, year: 2020}\n  variation_deg: 3\n",
            "beside",
        ),
        (
            "  wind_layers:\n    - {altitude_ft: 5000, from_deg: 1, speed_kt: 5}\n"
            "    - {altitude_ft: 900, from_deg: 1, speed_kt: 5}\n",
            "after a higher one",
        ),
        ("  hills:\n    - {north_nm: 1, east_nm: 1, radius_nm: 0, height_ft: 9}\n", "radius_nm"),
    ],
)
def test_a_scene_that_cannot_be_is_refused_with_its_line(read, text, scene, found):
    with pytest.raises(FileError, match=found):
        read(with_scene(text, scene))
