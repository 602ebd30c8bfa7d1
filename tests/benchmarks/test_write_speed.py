"""How long the page 'Write' needs for a lesson of 250 steps: to read, to fly, to edit its text."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.document import parse_document
from trainer.lesson.lesson_text import with_steps
from trainer.lesson.loader import read_lesson
from trainer.lesson.story import tell

WORKSPACE = Workspace()
FIRST = WORKSPACE.lesson_paths[7].read_text("utf-8")
STEPS = "".join(
    f"  - say: Words number {number}.\n  - wait: 5\n"
    f"  - set: {{selected_heading_deg: {number}}}\n"
    "  - predict: {kind: after_key, key: heading_select}\n  - wait: 3\n"
    for number in range(50)
)
TEXT = FIRST[: FIRST.index("steps:")] + "steps:\n" + STEPS


def read():
    return read_lesson(parse_document(TEXT, "long.yaml"), "long", WORKSPACE.charts)


@pytest.fixture(scope="module")
def lesson():
    return read()


def test_a_long_lesson_is_read(benchmark):
    assert len(benchmark(read).steps) == 250


def test_a_long_lesson_is_flown(benchmark, lesson):
    begin = lambda start: WORKSPACE.begin(lesson.installation, start)  # noqa: E731
    assert benchmark(lambda: tell(lesson, begin)).problem == ""


def test_the_text_of_a_long_lesson_is_edited(benchmark, lesson):
    assert benchmark(lambda: with_steps(TEXT, lesson, lesson.steps)) == TEXT
