"""The guide's pages on lessons say what the program does."""

from __future__ import annotations

import re

from trainer.lesson.loader import STEP_KEYS
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.lesson.review import HIGHEST_GRADE, LONGEST_SENTENCE_WORDS, review
from trainer.resources import guide_folder

WRITING = (guide_folder() / "writing-lessons.md").read_text("utf-8")


def test_the_example_is_a_sound_lesson(workspace, read):
    lesson = read(re.search(r"```yaml\n(.*?)```", WRITING, re.DOTALL).group(1))
    assert review(lesson, lambda start: workspace.begin(lesson.installation, start)) == ()


def test_every_kind_of_prompt_and_step_is_in_the_tables():
    kinds = re.findall(r"^\| `(\w+)` \|", WRITING, re.MULTILINE)
    assert kinds == list(PROMPT_KINDS)
    for key in STEP_KEYS:
        assert f"`{key}:" in WRITING


def test_the_numbers_are_the_programs():
    assert f"school year {HIGHEST_GRADE:.0f}" in WRITING
    assert f"over {LONGEST_SENTENCE_WORDS} words" in WRITING


def test_the_lessons_page_counts_right(workspace):
    page = (guide_folder() / "lessons.md").read_text("utf-8")
    assert "Sixty-one lessons" in page
    assert len(workspace.lesson_paths) == 61
