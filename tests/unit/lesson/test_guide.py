"""The guide's pages on lessons say what the program does."""

from __future__ import annotations

import re
from pathlib import Path

import trainer.lesson
from trainer.lesson.loader import STEP_KEYS
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.lesson.review import HIGHEST_GRADE, LONGEST_SENTENCE_WORDS, review
from trainer.resources import guide_folder
from trainer.session.faults import FAULTS, SELECTOR_FAULTS, SIMPLE_FAULTS, SLIPS, STUCK

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
    assert f"\n{len(workspace.lesson_paths)} lessons in graded order" in page
    groups = " ".join(re.findall(r"^- \*\*(.*?)\*\*:", page, re.MULTILINE))
    spans = re.findall(r"(\d\d)(?: to (\d\d))?", groups)
    listed = [n for first, last in spans for n in range(int(first), int(last or first) + 1)]
    assert sorted(listed) == [int(path.name[:2]) for path in workspace.lesson_paths]


def test_every_malfunction_that_a_lesson_can_name_is_in_the_guide_and_the_schema():
    schema = (Path(trainer.lesson.__file__).parent / "lesson.schema.json").read_text("utf-8")
    listed = re.findall(r'"Malfunction: ([^"]*)"', schema)
    assert len(listed) == schema.count("Malfunction:") == 3
    (row,) = re.findall(r"^\| `inject: fault`, `clear: fault` \| (.*) \|$", WRITING, re.MULTILINE)
    forms = [f"{prefix}SELECTOR" for prefix in (STUCK, SLIPS)]
    wanted = [*SIMPLE_FAULTS, "runaway_...", f"{STUCK}KEY", *forms]
    assert [text.split(", ") for text in listed] == [wanted] * 3
    assert re.findall(r"`([^`]+)`", row) == wanted
    assert all(name.startswith("runaway_") for name in set(FAULTS) - set(SIMPLE_FAULTS))
    assert all(name.startswith((STUCK, SLIPS)) for name in SELECTOR_FAULTS)
