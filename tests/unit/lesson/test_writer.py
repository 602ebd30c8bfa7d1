"""What is written is read back the same, for every shipped lesson and for odd values."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.lesson.spec import Lesson
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


def test_numbers_are_written_as_a_person_would(read, text):
    written = write_lesson(read(text))
    assert "altitude_ft: 3000\n" in written
    assert "3000.0" not in written
    assert "- {id: quillmoor, kind: beacon" in written
