"""Every mistake in a lesson file is told with its line, what was found and what is accepted."""

from __future__ import annotations

import pytest

from trainer.errors import FileError, MissingFileError
from trainer.lesson.loader import load_lesson
from trainer.lesson.spec import Do, Predict, Say, Set, Wait, WaitUntil


def test_a_lesson_is_read_with_the_line_of_every_step(read, text):
    lesson = read(text)
    assert (lesson.title, lesson.installation) == ("A short one", "ship_amber")
    kinds = [type(step) for step in lesson.steps]
    assert kinds == [Say, Wait, Predict, Set, WaitUntil, Predict]
    assert [step.line for step in lesson.steps] == [13, 14, 15, 16, 17, 18]
    assert lesson.start.sources[0].id == "quillmoor"
    assert lesson.start_line == 6


MISTAKES = [
    ("title: A short one", "titel: A short one", 1, "'title' is missing", "title: ..."),
    ("title: A short one", "title: A short one\ntitel: B", 3, "unknown key 'titel'", "title"),
    ("title: A short one", "title: ''", 2, "'title' is empty", "some text"),
    ("ship_amber", "ship_ambre", 3, "'ship_ambre'", "ship_amber?"),
    ("lesson/1", "lesson/9", 1, "'lesson/9'", "lesson/1"),
    ("objectives: [Say what the director key does.]", "objectives: []", 4, "no objectives",
     "at least one line"),
    ("altitude_ft: 3000\n  heading", "altitude_ft: high\n  heading", 6, "'high' for 'altitude_ft'",
     "a number from -1000 to 25000"),
    ("heading_deg: 90\n  airspeed", "heading_deg: 900\n  airspeed", 7, "900 for 'heading_deg'",
     "a number from 0 to 360"),
    ("airspeed_kt: 105", "airspeed_kt: 105\n  hedaing_deg: 3", 9, "unknown key 'hedaing_deg'",
     "heading_deg?"),
    ("kind: beacon", "kind: lighthouse", 10, "'lighthouse'", "beacon, satellite_course, approach"),
    ("course_deg: 90, east", "course_deg: 90, glidepath_deg: 3, east", 10,
     "a glidepath on a source that is no approach", "kind: approach"),
    ("say: You fly by hand.", "sya: You fly by hand.", 13, "a step with keys sya", "say, do, set"),
    ("say: You fly by hand.", "say: Hello\n    do: director", 13, "a step with keys say, do",
     "exactly one of"),
    ("- say: You fly by hand.", "- wait", 13, "step 'wait'", "a step such as"),
    ("wait: 2", "wait: -2", 14, "-2 for 'wait'", "a number from 0 to 3600"),
    ("wait: 2", "do: directer", 14, "'directer'", "director?"),
    ("key: director", "key: back_course", 15, "'back_course'", "director, autopilot"),
    ("kind: after_key", "kind: multiple_choice", 15, "'multiple_choice'", "next_change"),
    ("{kind: after_key, key: director}", "{kind: after_key}", 15, "'key' is missing", "key: ..."),
    ("{kind: after_key, key: director}", "{kind: after_time}", 15, "'after_s' is missing",
     "after_s: ..."),
    ("{kind: after_key, key: director}", "{kind: next_change, answer: director}", 15,
     "unknown key 'answer'", "kind"),
    ("set: {selected_altitude_ft: 4000}", "set: {selected_altitude_ft: 99000}", 16,
     "99000 for 'selected_altitude_ft'", "-1000 to 30000"),
    ("set: {selected_altitude_ft: 4000}", "set: {selcted_altitude_ft: 4000}", 16,
     "'selcted_altitude_ft' can't be set", "selected_altitude_ft?"),
    ("set: {selected_altitude_ft: 4000}", "set: {source: quilmoor}", 16, "'quilmoor'",
     "quillmoor"),
    ("armed: [altitude]", "armed: [altitud]", 17, "'altitud'", "altitude?"),
    ("armed: [altitude]", "active: [altitude]", 17, "'altitude'", "altitude_hold"),
    ("armed: [altitude]", "signal: rain", 17, "'rain'", "electrical_ok"),
    ("armed: [altitude]", "engagement: on", 17, "'on'", "no_guidance, director, autopilot"),
    ("armed: [altitude]", "above: {altitude: 4}", 17, "'altitude' can't be compared",
     "altitude_ft?"),
    ("armed: [altitude], ", "", 17, "nothing to wait for", "change: true"),
    ("within_s: 5}\n  - predict", "within_s: 0}\n  - predict", 17, "0 for 'within_s'",
     "a number from 0.1"),
    ("predict: {kind: next_change, within_s: 5}", "inject: headache", 18, "'headache'", "servo"),
    ("predict: {kind: next_change, within_s: 5}", "predict: {kind: which_key}", 18,
     "'shows' is missing", "shows: ..."),
    ("predict: {kind: next_change, within_s: 5}",
     "predict: {kind: which_key, shows: {lateral_active: sideways}}", 18, "'sideways'",
     "roll_hold"),
    ("predict: {kind: next_change, within_s: 5}", "predict: {kind: which_key, shows: {}}", 18,
     "no cell of the strip", "lateral_active"),
    ("predict: {kind: next_change, within_s: 5}",
     "predict: {kind: what_to_do, after_s: 5, goal_words: all is quiet}", 18,
     "'goal' is missing", "goal: ..."),
]  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake[3])
def test_a_mistake_is_told_with_line_found_and_accepted(read, text, mistake):
    old, new, line, found, accepted = mistake
    assert text.count(old) == 1
    with pytest.raises(FileError) as caught:
        read(text.replace(old, new))
    problems = caught.value.problems
    mine = [p for p in problems if found in p.found]
    assert mine, [str(p) for p in problems]
    assert mine[0].line == line
    assert accepted in mine[0].accepted
    assert mine[0].path == "my.yaml"


@pytest.mark.parametrize(
    ("old", "new", "accepted"),
    [
        ("armed: [altitude]", "alrt: signal_lost", "alert?"),
        ("armed: [altitude]", "engagment: autopilot", "engagement?"),
        ("armed: [altitude]", "sgnal: servo_ok", "signal?"),
        ("armed: [altitude]", "armd: [altitude]", "armed?"),
        ("selected_altitude_ft: 4000", "selcted_altitude_ft: 4000", "selected_altitude_ft?"),
        ("kind: after_key, key: director", "kind: which_key, shows: {latral_active: roll_hold}",
         "lateral_active?"),
        ("kind: after_key, key: director", "kind: after_keys, key: director", "after_key?"),
        ("kind: after_key, key: director",
         "kind: what_to_do, after_s: 5, goal_words: up, goal: {alrt: signal_lost}", "alert?"),
        ("kind: after_key, key: director",
         "kind: what_to_do, after_s: 5, goal_words: up, goal: {change: true, within_s: 3}",
         "change, "),
    ],
)  # fmt: skip
def test_a_misspelt_word_is_told_once_with_the_right_one(read, text, old, new, accepted):
    assert text.count(old) == 1
    with pytest.raises(FileError) as caught:
        read(text.replace(old, new))
    (problem,) = caught.value.problems
    assert accepted in problem.accepted


def test_all_mistakes_are_told_at_once_in_file_order(read, text):
    broken = text.replace("wait: 2", "wait: soon").replace("key: director", "key: nothing")
    with pytest.raises(FileError) as caught:
        read(broken)
    assert [p.line for p in caught.value.problems] == [14, 15]


def test_no_steps_and_a_missing_start_are_told(read, text):
    with pytest.raises(FileError, match="'start' is missing"):
        read(text.replace(text[text.index("start:") : text.index("steps:")], ""))
    with pytest.raises(FileError, match="no steps"):
        read(text[: text.index("steps:")] + "steps: []\n")


def test_a_file_that_is_absent_or_no_text_is_told(tmp_path, workspace):
    with pytest.raises(MissingFileError, match="can't be read"):
        load_lesson(tmp_path / "none.yaml", workspace.charts)
    binary = tmp_path / "binary.yaml"
    binary.write_bytes(b"format: \xff\xfe")
    with pytest.raises(MissingFileError, match="isn't UTF-8"):
        load_lesson(binary, workspace.charts)


def test_narration_and_questions_are_one_line_whatever_the_file_does(read, with_steps):
    steps = (
        "  - say: >-\n      one\n      two\n"
        "  - predict: {kind: next_change, question: 'a\n      b'}\n"
    )
    lesson = read(with_steps(steps))
    assert lesson.steps[0] == Say("one two", lesson.steps[0].line)
    assert lesson.steps[1].question == "a b"


def test_on_and_off_stay_words(read, with_steps):
    # YAML 1.2 core schema: only true and false are booleans.
    lesson = read(with_steps("  - say: off\n  - do: director\n"))
    assert lesson.steps == (Say("off", 13), Do("director", 14))
