"""Whatever is done on a lesson's timeline: the text reads well, flies, and keeps its comments."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.helpers.sample import spread
from trainer.app import Workspace
from trainer.document import parse_document
from trainer.errors import TrainerError
from trainer.lesson import rewrite
from trainer.lesson.lesson_text import with_start, with_steps
from trainer.lesson.loader import read_lesson
from trainer.lesson.questioning import kinds_for, usual_question
from trainer.lesson.spec import Predict, Say
from trainer.lesson.story import tell
from trainer.lesson.writer import write_lesson
from trainer.resources import resource_folder

WORKSPACE = Workspace()
PATHS = sorted(resource_folder("lessons").glob("*.yaml"))
STEEP = ("60-slate-refuses",)
"""It climbs and dives more steeply than any other."""
SOME_PATHS = PATHS[::4]
"""Flown once each, for the normal run; the long tests take all."""
FEW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
MANY = settings(max_examples=600, deadline=None, suppress_health_check=list(HealthCheck))


def noted(text):
    """Return a lesson's text with a note before every step."""
    lines, number = [], 0
    in_steps = False
    for line in text.splitlines():
        if in_steps and line.startswith("  - "):
            number += 1
            lines.append(f"  # note {number}.")
        in_steps = in_steps or line.startswith("steps:")
        lines.append(line)
    return "\n".join(lines) + "\n"


def read(text):
    return read_lesson(parse_document(text, "edited.yaml"), "edited", WORKSPACE.charts)


def begin(lesson):
    return lambda start: WORKSPACE.begin(lesson.installation, start)


@cache
def told(path):
    text = noted(path.read_text("utf-8"))
    lesson = read(text)
    return text, tell(lesson, begin(lesson))


def edits(story, moment, draw):
    """Return the edits that a moment offers, each as a function."""
    chart = WORKSPACE.charts[story.lesson.installation]
    step = story.lesson.steps[moment.step]
    found = [
        lambda: rewrite.narrated(story, moment, "Look at the strip."),
        lambda: rewrite.cut_after(story, moment),
        lambda: rewrite.cut_before(story, moment, begin(story.lesson)),
    ]
    if not moment.is_change:
        by_s = draw(st.floats(-40.0, 40.0))
        found += [
            lambda: rewrite.moved(story, moment.step, by_s),
            lambda: rewrite.removed(story, moment.step),
        ]
    if isinstance(step, Predict):
        found.append(lambda: rewrite.unquestioned(story, moment.step))
    for kind in kinds_for(moment, story):
        question = usual_question(kind, moment, story, chart)
        found.append(lambda question=question: rewrite.questioned(story, moment, question))
    return found


def check(data, paths):
    path = data.draw(st.sampled_from(paths))
    text, story = told(path)
    moment = data.draw(st.sampled_from(story.moments))
    act = data.draw(st.sampled_from(edits(story, moment, data.draw)))
    try:
        edit = act()
    except TrainerError:
        return  # no flight can begin at that moment; the user is told
    made = with_steps(text, story.lesson, edit.steps)
    if edit.start is not None:
        made = with_start(made, story.lesson, edit.start)
    again = read(made)
    assert [type(step) for step in again.steps] == [type(step) for step in edit.steps]
    assert 0 <= edit.at < len(edit.steps)
    # Each note is there once, whatever became of its step.
    assert [made.count(f"# note {n}.") for n in range(1, text.count("# note") + 1)] == (
        [1] * text.count("# note")
    )
    head = text[: text.index("start:")]
    assert made.startswith(head)
    if edit.start is None:
        untouched = {step for step in edit.steps if step in story.lesson.steps}
        assert len(untouched) >= min(len(edit.steps), len(story.lesson.steps)) - 3 or (
            len(edit.steps) < len(story.lesson.steps)
        )


@FEW
@given(st.data())
def test_every_edit_reads_well_and_keeps_every_note(data):
    check(data, SOME_PATHS)


@pytest.mark.long
@MANY
@given(st.data())
def test_many_edits_read_well_and_keep_every_note(data):
    check(data, PATHS)


@settings(FEW, max_examples=8)
@given(st.data())
def test_narration_put_in_and_taken_out_leaves_the_flight_as_it_was(data):
    check_narration(data, SOME_PATHS)


@pytest.mark.long
@settings(FEW, max_examples=60)
@given(st.data())
def test_narration_put_into_any_lesson_and_taken_out_leaves_its_flight_as_it_was(data):
    check_narration(data, PATHS)


def check_narration(data, paths):
    text, story = told(data.draw(st.sampled_from(paths)))
    moment = data.draw(st.sampled_from(story.moments))
    step = story.lesson.steps[moment.step]
    if isinstance(step, Say):
        return
    edit = rewrite.narrated(story, moment, "Look.")
    lesson = read(with_steps(text, story.lesson, edit.steps))
    put_in = tell(lesson, begin(lesson))
    assert put_in.spans == story.spans
    gone = rewrite.removed(put_in, edit.at)
    lesson = read(with_steps(text, story.lesson, gone.steps))
    assert tell(lesson, begin(lesson)).spans == story.spans


@pytest.mark.parametrize("path", spread(PATHS, 4, lambda path: path.stem))
def test_a_lesson_that_is_not_edited_keeps_its_text(path):
    text, story = told(path)
    assert story.problem == ""
    assert with_steps(text, story.lesson, story.lesson.steps) == text
    assert read(write_lesson(story.lesson)).start == story.lesson.start


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=path.stem, marks=[] if path.stem in STEEP else [pytest.mark.long])
        for path in PATHS
    ],
)
def test_a_lesson_may_begin_at_any_of_its_moments(path):
    """However steeply it flies there, what is written can be read again."""
    text, story = told(path)
    begun = 0
    for moment in story.moments:
        try:
            edit = rewrite.cut_before(story, moment, begin(story.lesson))
        except TrainerError:
            continue  # no flight can begin at that moment; the user is told
        if edit.start is not None:
            read(with_start(with_steps(text, story.lesson, edit.steps), story.lesson, edit.start))
            begun += 1
    assert begun or len(story.moments) < 2
