"""Edits on the timeline of a lesson: what they touch, and that all else stays, comments too."""

from __future__ import annotations

import pytest

from trainer.errors import StoppedError
from trainer.lesson import rewrite
from trainer.lesson.lesson_text import with_start, with_steps
from trainer.lesson.questioning import kinds_for, usual_question
from trainer.lesson.spec import Do, Inject, Predict, Say, Set, Wait, WaitUntil
from trainer.lesson.story import tell

HEAD = """\
# for Tuesday
format: lesson/1
title: Up and over  # a working title
installation: ship_amber
objectives: [Say what comes next.]
start:
  # as in the club's practice
  altitude_ft: 3200
  heading_deg: 90
  airspeed_kt: 95
  vertical_speed_fpm: 500
  power_percent: 100
  selected: {altitude_ft: 4000, heading_deg: 90, vertical_speed_fpm: 500}
  modes:
    {engagement: autopilot, lateral: heading_select, vertical: vertical_speed, armed: [altitude]}
# now it flies
steps:
"""
STEPS = """\
    # first words
    - say: "Up # we go."
    - wait: 10.0
    # a key that does nothing here
    - do: reference_down   # dead?
    - do: heading_select   # back to the default
    - wait_until: {change: true, within_s: 120}
    - say: >
        Well, that
        was it.
    - wait: 20
    # the last one
    - predict: {kind: after_key, key: director}
    - set: {selected_heading_deg: 120}
    - wait: 30
# the end
"""
TEXT = HEAD + STEPS


@pytest.fixture
def flown(workspace, read):
    def look(text=TEXT):
        lesson = read(text)
        return tell(lesson, lambda start: workspace.begin(lesson.installation, start))

    return look


def at(story, kind):
    return next(n for n, step in enumerate(story.lesson.steps) if isinstance(step, kind))


def moment_of(story, number):
    return next(one for one in story.moments if one.step == number and not one.is_change)


def change_of(story):
    return next(one for one in story.moments if one.is_change)


def test_the_story_tells_steps_changes_and_what_became_of_keys(flown):
    story = flown()
    steps = story.lesson.steps
    assert story.problem == ""
    assert len(story.began_s) == len(steps)
    keys = {steps[m.step].event: m.did for m in story.moments if m.did}
    assert keys == {"reference_down": "acted", "heading_select": "acted"}
    change = change_of(story)
    assert dict(change.shows)["vertical_active"] == "altitude_capture"
    assert isinstance(steps[change.step], WaitUntil)
    assert not any(isinstance(steps[m.step], Wait) and not m.is_change for m in story.moments)
    times = [one.t_s for one in story.moments]
    assert times == sorted(times)
    ends = {span.cell: span.end_s for span in story.spans}
    assert set(ends.values()) == {story.ended_s}


def test_a_flight_that_breaks_off_tells_until_then(flown):
    story = flown(HEAD + "  - do: director\n  - wait_until: {alert: signal_lost, within_s: 2}\n"
                         "  - do: go_around\n")  # fmt: skip
    assert "the wait was not over" in story.problem
    assert len(story.began_s) == 2
    assert story.ended_s == pytest.approx(2.0, abs=0.2)
    edit = rewrite.moved(story, 0, 1.0)
    assert edit.steps[-1] == story.lesson.steps[-1]


def test_a_start_that_does_not_hold_is_a_story_with_a_problem(flown):
    story = flown(TEXT.replace("altitude_ft: 4000", "altitude_ft: 3210"))
    assert story.problem
    assert story.moments == ()


def test_a_flight_not_wanted_any_more_is_stopped(workspace, read):
    lesson = read(TEXT)
    with pytest.raises(StoppedError):
        tell(lesson, lambda s: workspace.begin("ship_amber", s), goes_on=lambda: False)


def test_moving_a_step_leaves_the_others_where_they_were(flown):
    story = flown()
    number = at(story, Set)
    edit = rewrite.moved(story, number, 5.0)
    assert edit.steps[edit.at] == story.lesson.steps[number]
    again = flown(with_steps(TEXT, story.lesson, edit.steps))
    moved = again.began_s[edit.at]
    assert moved == pytest.approx(story.began_s[number] + 5.0)
    assert again.ended_s == pytest.approx(story.ended_s)
    key, other = (one.began_s[one.lesson.steps.index(one.lesson.steps[at(one, Predict)])]
                  for one in (story, again))  # fmt: skip
    assert key == pytest.approx(other)


def test_moving_earlier_splits_a_wait_or_goes_before_it(flown):
    story = flown()
    number = at(story, Predict)
    edit = rewrite.moved(story, number, -5.0)
    again = flown(with_steps(TEXT, story.lesson, edit.steps))
    assert again.began_s[edit.at] == pytest.approx(story.began_s[number] - 5.0)
    first = rewrite.moved(story, number, -1e6)
    assert first.at == 0
    last = rewrite.moved(story, at(story, Do), 1e6)
    assert last.at == len(last.steps) - 1


def test_nothing_is_put_into_the_middle_of_a_question(flown):
    text = (
        HEAD + "  - predict: {kind: after_time, after_s: 10}\n  - do: heading_select\n  - wait: 5\n"
    )
    story = flown(text)
    edit = rewrite.moved(story, 1, -5.0)
    assert isinstance(edit.steps[0], Do)
    assert isinstance(edit.steps[1], Predict)


def test_untouched_text_and_comments_stay_as_they_were(flown):
    story = flown()
    number = at(story, Set)
    text = with_steps(TEXT, story.lesson, rewrite.moved(story, number, 5.0).steps)
    for line in TEXT.splitlines():
        if "wait: 30" not in line:
            assert line in text.splitlines()
    assert with_steps(TEXT, story.lesson, story.lesson.steps) == TEXT


def test_comments_of_a_changed_step_stay_with_it_and_of_a_gone_one_before_the_next(flown):
    story = flown()
    number = at(story, Predict)
    asked = rewrite.unquestioned(story, number)
    text = with_steps(TEXT, story.lesson, asked.steps)
    assert "    # the last one\n    - do: director\n" in text
    gone = rewrite.removed(story, number)
    text = with_steps(TEXT, story.lesson, gone.steps)
    assert "director" not in text
    assert "    # the last one\n    - set: {selected_heading_deg: 120}\n" in text
    key = next(m for m in story.moments if m.did)
    question = usual_question("after_key", key, story, chart_of(story))
    text = with_steps(TEXT, story.lesson, rewrite.questioned(story, key, question).steps)
    assert "- predict: {kind: after_key, key: reference_down}  # dead?\n" in text


_CHARTS: dict[str, object] = {}


@pytest.fixture(autouse=True)
def _charts(workspace):
    _CHARTS.update(workspace.charts)


def chart_of(story):
    return _CHARTS[story.lesson.installation]


def test_a_change_becomes_a_question_before_it(flown):
    story = flown()
    change = change_of(story)
    assert kinds_for(change, story) == ("next_change", "after_time", "first_capture", "level_off")
    for kind in kinds_for(change, story):
        question = usual_question(kind, change, story, chart_of(story))
        edit = rewrite.questioned(story, change, question)
        assert edit.steps[edit.at] == question
        again = flown(with_steps(TEXT, story.lesson, edit.steps))
        assert again.problem == ""
        asked_s = again.began_s[edit.at]
        assert change.t_s - 20.1 <= asked_s <= change.t_s - 5
        captured = change_of(again)
        assert captured.step == edit.at
        assert captured.t_s == pytest.approx(change.t_s)
        # Turned back, the flight is as it was.
        back = rewrite.unquestioned(again, edit.at)
        last = flown(with_steps(TEXT, again.lesson, back.steps))
        assert change_of(last).t_s == pytest.approx(change.t_s)
        assert not any(step.kind == kind for step in last.lesson.steps if isinstance(step, Predict))


def test_keys_settings_and_faults_become_questions(flown):
    text = HEAD + (
        "  - do: altitude_hold\n  - set: {selected_heading_deg: 120}\n"
        "  - inject: servo\n  - wait: 5\n"
    )
    story = flown(text)
    wanted = {
        0: ("after_key", "is_allowed", "which_key", "what_to_do"),
        1: ("after_set",),
        2: ("after_fault",),
    }
    for number, kinds in wanted.items():
        moment = moment_of(story, number)
        assert kinds_for(moment, story) == kinds
        for kind in kinds:
            question = usual_question(kind, moment, story, chart_of(story))
            edit = rewrite.questioned(story, moment, question)
            assert len(edit.steps) == len(story.lesson.steps)
            again = flown(with_steps(text, story.lesson, edit.steps))
            assert again.problem == ""
            assert again.spans == story.spans
            back = rewrite.unquestioned(again, edit.at)
            assert type(back.steps[number]) is type(story.lesson.steps[number])


def test_what_to_do_asks_for_what_the_key_brought(flown):
    story = flown(HEAD + "  - do: altitude_hold\n  - wait: 5\n")
    question = usual_question("what_to_do", moment_of(story, 0), story, chart_of(story))
    assert question.goal.active == ("altitude_hold",)
    assert question.goal_words == "altitude hold is active"


def test_a_question_about_something_else_is_put_behind(flown):
    story = flown()
    moment = moment_of(story, 0)
    question = usual_question("next_change", moment, story, chart_of(story))
    edit = rewrite.questioned(story, moment, question)
    assert edit.steps[0] == story.lesson.steps[0]
    assert edit.steps[1] is question
    change = change_of(story)
    behind = usual_question("is_allowed", change, story, chart_of(story))
    edit = rewrite.questioned(story, change, behind)
    again = flown(with_steps(TEXT, story.lesson, edit.steps))
    assert again.began_s[edit.at] >= change.t_s - 0.01


def test_a_question_is_edited_in_its_place(flown):
    story = flown()
    number = at(story, Predict)
    edit = rewrite.questioned(
        story, moment_of(story, number), Predict("is_allowed", "go_around", 0.0)
    )
    text = with_steps(TEXT, story.lesson, edit.steps)
    assert "    # the last one\n    - predict: {kind: is_allowed, key: go_around}\n" in text


def test_narration_goes_before_a_question_and_replaces_narration(flown):
    story = flown()
    number = at(story, Predict)
    edit = rewrite.narrated(story, moment_of(story, number), "Think  now.")
    assert edit.steps[number] == Say("Think now.")
    assert isinstance(edit.steps[number + 1], Predict)
    edit = rewrite.narrated(story, moment_of(story, 0), "Down we go.")
    assert edit.steps[0].text == "Down we go."
    assert len(edit.steps) == len(story.lesson.steps)
    key = at(story, Do)
    edit = rewrite.narrated(story, moment_of(story, key), "Pressed.")
    assert edit.steps[key + 1] == Say("Pressed.")


def test_cut_after_and_before(flown, workspace):
    story = flown()
    change = change_of(story)
    edit = rewrite.cut_after(story, change)
    short = flown(with_steps(TEXT, story.lesson, edit.steps))
    assert short.ended_s == pytest.approx(change.t_s + rewrite.TAIL_S)
    assert edit.left == pytest.approx(short.ended_s / story.ended_s)
    assert not any(isinstance(step, Predict) for step in short.lesson.steps)
    moment = moment_of(story, at(story, Predict))
    edit = rewrite.cut_before(story, moment, lambda s: workspace.begin("ship_amber", s))
    text = with_start(with_steps(TEXT, story.lesson, edit.steps), story.lesson, edit.start)
    late = flown(text)
    assert late.problem == ""
    assert late.ended_s == pytest.approx(story.ended_s - moment.t_s)
    assert edit.left == pytest.approx(late.ended_s / story.ended_s)
    assert isinstance(late.lesson.steps[0], Predict)
    assert late.lesson.start.initial.altitude_ft == pytest.approx(4000, abs=60)
    for kept in ("# for Tuesday", "# as in the club's practice", "# now it flies", "# the last one",
                 "# a working title", "# the end"):  # fmt: skip
        assert kept in text


def test_keys_that_did_nothing_are_found_and_taken_out(flown):
    level = HEAD.replace("vertical: vertical_speed, armed: [altitude]", "vertical: altitude_hold")
    level = level.replace("altitude_ft: 4000", "altitude_ft: 3200")
    level = level.replace("  vertical_speed_fpm: 500\n", "")
    story = flown(level + "  - wait: 1\n  - do: reference_up\n  - wait: 1\n")
    assert [m.did for m in story.moments] == ["nothing"]
    assert story.dead_keys == (1,)
    assert rewrite.without_dead_keys(story) == (Wait(2.0, story.lesson.steps[0].line),)


def test_an_injected_fault_that_ends_is_no_question(flown):
    story = flown(HEAD + "  - inject: servo\n  - wait: 3\n  - clear: servo\n  - wait: 1\n")
    assert kinds_for(moment_of(story, 2), story) == ()
    assert isinstance(story.lesson.steps[2], Inject)


def test_a_lesson_can_begin_on_the_ground(workspace, read):
    path = next(workspace.lessons_folder.glob("29-*.yaml"))
    text = path.read_text("utf-8")
    lesson = read(text)
    story = tell(lesson, lambda s: workspace.begin(lesson.installation, s))
    edit = rewrite.cut_before(
        story, story.moments[1], lambda s: workspace.begin(lesson.installation, s)
    )
    again = read(with_start(with_steps(text, story.lesson, edit.steps), story.lesson, edit.start))
    assert again.start.initial.on_ground


def test_asking_throughout_makes_a_lesson_of_a_flight(flown):
    text = HEAD + (
        "  - do: heading_select\n  - wait: 2\n  - do: heading_select\n  - wait: 200\n"
        "  - do: heading_select\n  - set: {selected_heading_deg: 120}\n  - wait: 30\n"
    )
    story = flown(text)
    edit = rewrite.asked_throughout(story, chart_of(story))
    asked = [step for step in edit.steps if isinstance(step, Predict)]
    # The two changes of the long wait are one moment to ask at; the key only the first time.
    assert [one.kind for one in asked] == ["after_key", "next_change"]
    again = flown(with_steps(text, story.lesson, edit.steps))
    assert again.problem == ""
    assert again.spans == story.spans
    assert [m.t_s for m in again.moments if m.is_change] == [
        m.t_s for m in story.moments if m.is_change
    ]
    assert rewrite.asked_throughout(story, chart_of(story), 1).steps.count(asked[1]) == 1
    done = rewrite.asked_throughout(again, chart_of(story), 2)
    assert done.steps == again.lesson.steps
