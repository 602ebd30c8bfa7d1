"""Prompts of every kind: what they ask, what is right, and their form as a strip."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.explain import explain
from trainer.assessment.answers.prediction import Prediction, score_answer
from trainer.assessment.answers.tutor import Tutor
from trainer.errors import FileError
from trainer.lesson.answer import Answer
from trainer.lesson.flown import fly
from trainer.lesson.question import ALL_FORMS, FORMS, STRIP_ONLY, Prompt
from trainer.lesson.told import told
from trainer.session.annunciation import Annunciation

CLIMB = (
    "  altitude_ft: 3200\n  heading_deg: 90\n  airspeed_kt: 95\n  vertical_speed_fpm: 500\n"
    "  power_percent: 100\n  selected: {altitude_ft: 4000, vertical_speed_fpm: 500}\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: vertical_speed,"
    " armed: [altitude]}\n"
)
FINAL = (
    "  altitude_ft: 2200\n  heading_deg: 210\n  airspeed_kt: 95\n  north_nm: 5.6\n"
    "  east_nm: 7.2\n  ground_elevation_ft: 200\n  navigation:\n    - {id: esterwick, "
    "kind: approach, label: Esterwick, course_deg: 240, elevation_ft: 200, glidepath_deg: 3}\n"
    "  selected: {heading_deg: 210, source: esterwick}\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)
LEVEL = (
    "  altitude_ft: 3000\n  heading_deg: 90\n  airspeed_kt: 105\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)


def only_prompt(runner):
    runner.forms = ALL_FORMS
    flown = fly(runner)
    assert len(flown.prompts) == 1
    return flown.prompts[0]


def test_level_off_asks_for_an_altitude_and_knows_the_lead(run, with_steps):
    one = only_prompt(run(with_steps("  - predict: {kind: level_off}\n", CLIMB)))
    assert (one.prompt.form, one.prompt.unit) == ("number", "ft")
    # [LED-01] the level-off begins ten percent of the vertical speed before the altitude.
    assert one.answer.number == pytest.approx(4000 - 0.10 * 500, abs=8)
    # Three seconds of 500 ft/min, 25 ft; the least is 20 ft.
    assert one.answer.tolerance == pytest.approx(25, abs=1)


@pytest.mark.parametrize(
    ("said_ft", "is_right"), [(3925.0, True), (3924.0, False), (3975.0, True), (3976.0, False)]
)
def test_a_number_is_right_up_to_its_tolerance_and_with_it(said_ft, is_right):
    blank = Annunciation()
    prompt = Prompt("level_off", "", "Where?", blank, 60.0, 1, 1, "number", (), "ft")
    answer = Answer(blank, blank, (), 9.0, number=3950.0, tolerance=25.0)
    assert (
        score_answer(prompt, Prediction(blank, "sure", number=said_ft), answer).is_right is is_right
    )


@pytest.mark.parametrize(
    ("narration", "words"),
    [("Near 3925 ft.", "3925"), ("Near 3,924 ft.", ""), ("At 3,975.", "3,975")],
)
def test_a_number_told_beforehand_gives_away_what_would_be_right(narration, words):
    blank = Annunciation()
    prompt = Prompt("level_off", "", "Where?", blank, 60.0, 1, 1, "number", (), "ft")
    answer = Answer(blank, blank, (), 9.0, number=3950.0, tolerance=25.0)
    chart = Workspace().installation("ship_amber").chart
    assert told(prompt, answer, narration, chart) == words


def test_first_capture_names_what_captures(run, with_steps):
    steps = "  - do: approach\n  - predict: {kind: first_capture, within_s: 200}\n"
    one = only_prompt(run(with_steps(steps, FINAL)))
    assert {option.id for option in one.prompt.options} == {
        "approach_course", "glidepath", "nothing",
    }  # fmt: skip
    assert one.answer.accepted == ("approach_course",)


def test_first_capture_can_be_nothing_and_can_be_the_altitude(run, with_steps):
    near = only_prompt(run(with_steps("  - predict: {kind: first_capture, within_s: 5}\n", CLIMB)))
    assert near.answer.accepted == ("nothing",)
    far = only_prompt(run(with_steps("  - predict: {kind: first_capture}\n", CLIMB)))
    assert far.answer.accepted == ("altitude",)


@pytest.mark.parametrize(
    ("start", "key", "reception"),
    [(LEVEL, "director", "refused"), (LEVEL, "go_around", "accepted"),
     (LEVEL, "hand_steering", None), (LEVEL, "reference_up", "ignored")],
)  # fmt: skip
def test_is_allowed_tells_refused_accepted_and_ignored(run, with_steps, start, key, reception):
    steps = f"  - predict: {{kind: is_allowed, key: {key}}}\n"
    if reception is None:
        with pytest.raises(FileError, match="'hand_steering'"):
            run(with_steps(steps, start))
        return
    assert only_prompt(run(with_steps(steps, start))).answer.accepted == (reception,)


def test_which_key_accepts_every_key_that_brings_the_strip(run, with_steps):
    shows = "{lateral_active: heading_select, vertical_active: pitch_hold, engagement: autopilot}"
    one = only_prompt(run(with_steps(f"  - predict: {{kind: which_key, shows: {shows}}}\n", LEVEL)))
    # Altitude hold's own key cancels it; nothing else leads to pitch hold with heading kept.
    assert one.answer.accepted == ("altitude_hold",)
    assert one.prompt.target.vertical.active == "pitch_hold"
    assert one.answer.after.vertical.active == "pitch_hold"
    shows = "{engagement: director}"
    one = only_prompt(run(with_steps(f"  - predict: {{kind: which_key, shows: {shows}}}\n", LEVEL)))
    assert set(one.answer.accepted) == {"autopilot", "disconnect", "manual_trim"}


def test_which_key_without_any_is_an_error_with_its_line(run, with_steps):
    steps = "  - predict: {kind: which_key, shows: {vertical_active: glidepath}}\n"
    with pytest.raises(FileError, match=r"my.yaml:11:1: no single key leads to this"):
        only_prompt(run(with_steps(steps, LEVEL)))


def test_what_to_do_finds_keys_by_flying_each(run, with_steps):
    steps = (
        "  - inject: servo\n  - wait: 1\n  - predict: {kind: what_to_do, after_s: 2,"
        " goal: {alert: quiet}, goal_words: the sound has stopped}\n"
    )
    one = only_prompt(run(with_steps(steps, LEVEL)))
    assert one.answer.accepted == ("disconnect",)
    assert "the sound has stopped" in one.prompt.question


def test_what_to_do_can_be_to_wait(run, with_steps):
    steps = (
        "  - predict: {kind: what_to_do, after_s: 120, goal: {active: [altitude_hold],"
        " above: {altitude_ft: 3900}}, goal_words: you are level at 4000 ft}\n"
    )
    one = only_prompt(run(with_steps(steps, CLIMB)))
    assert "no_key" in one.answer.accepted
    assert "altitude_hold" not in one.answer.accepted


KINDS = {
    "level_off": ("{kind: level_off}", CLIMB),
    "first_capture": ("{kind: first_capture}", CLIMB),
    "is_allowed": ("{kind: is_allowed, key: director}", LEVEL),
    "which_key": ("{kind: which_key, shows: {engagement: director}}", LEVEL),
    "what_to_do": (
        "{kind: what_to_do, after_s: 5, goal: {engagement: director}, goal_words: you fly}", LEVEL,
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_caller_that_only_knows_strips_flies_exactly_the_same(run, with_steps, kind):
    step, start = KINDS[kind]
    runner = run(with_steps(f"  - predict: {step}\n", start))
    runner.forms = STRIP_ONLY
    plain = fly(runner)
    full = run(with_steps(f"  - predict: {step}\n", start))
    full.forms = ALL_FORMS
    flown = fly(full)
    assert plain.records == flown.records
    assert plain.prompts[0].prompt.form == "strip"
    assert FORMS[plain.prompts[0].prompt.kind] == "strip"
    assert plain.prompts[0].prompt.options == ()
    assert flown.prompts[0].prompt.form == FORMS[kind]


def tutor(workspace, read, with_steps, kind, prediction):
    step, start = KINDS[kind]
    lesson = read(with_steps(f"  - predict: {step}\n", start))
    one = Tutor(lesson, lambda: workspace.begin("ship_amber", lesson.start))
    one.forms = ALL_FORMS
    one.advance(0.0)
    one.answer(prediction)
    while one.phase == "revealing":
        one.advance(5.0)
    return one.outcome


SAID = [
    ("is_allowed", "refused", None, True), ("is_allowed", "accepted", None, False),
    ("which_key", "disconnect", None, True), ("which_key", "autopilot", None, True),
    ("which_key", "go_around", None, False), ("which_key", "", None, False),
    ("level_off", "", 3960.0, True), ("level_off", "", 3900.0, False),
    ("level_off", "", None, False),
]  # fmt: skip


@pytest.mark.parametrize("said", SAID, ids=str)
def test_tutor_scores_choices_and_numbers(workspace, read, with_steps, said):
    kind, choice, number, right = said
    prediction = Prediction(Annunciation(), "sure", choice, number)
    outcome = tutor(workspace, read, with_steps, kind, prediction)
    assert outcome.score.is_right is right
    assert outcome.score.cells[0].cell == FORMS[kind]


def test_a_strip_prompt_is_scored_cell_by_cell_as_ever(workspace, run, with_steps):
    runner = run(with_steps("  - predict: {kind: after_key, key: director}\n", LEVEL))
    flown = fly(runner)
    one = flown.prompts[0]
    said = Prediction(one.answer.after.with_cell("alert", "signal_lost"), "guess")
    assert score_answer(one.prompt, said, one.answer).wrong_cells == ("alert",)


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("stuck:heading_select", "the key heading select is dead"),
        ("stuck:selected_altitude_ft", "selected altitude doesn't take a turn"),
        ("slips:selected_heading_deg", "selected heading slips one step too far"),
        ("servo", "servo fault"),
    ],
)
def test_a_malfunction_is_asked_about_in_words(run, with_steps, fault, words):
    steps = f'  - predict: {{kind: after_fault, inject: "{fault}"}}\n'
    one = only_prompt(run(with_steps(steps, LEVEL)))
    wanted = f"Next comes this: {words}. What will the strip read after it?"
    assert one.prompt.question == wanted


@pytest.mark.parametrize(
    "asked",
    ['{kind: after_fault, inject: "stuck:heading_select"}',
     "{kind: after_set, set: {selected_heading_deg: 180}}"],
)  # fmt: skip
def test_where_no_key_was_pressed_no_key_is_spoken_of(run, with_steps, asked):
    runner = run(with_steps(f"  - predict: {asked}\n", LEVEL))
    one = only_prompt(runner)
    assert one.answer.nothing_changes
    sentences = explain(one.answer, runner.session.installation)
    assert sentences == ("Nothing changes: no rule answers this in these modes.",)
