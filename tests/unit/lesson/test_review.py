"""What `review` finds in lessons that load and fly, each with its line."""

from __future__ import annotations

import pytest

from trainer.errors import FileError
from trainer.lesson.flown import fly
from trainer.lesson.reading import measure
from trainer.lesson.review import review
from trainer.lesson.robustness import Variation, fragile_prompts
from trainer.lesson.runner import LessonRunner

LEVEL = (
    "  altitude_ft: 3000\n  heading_deg: 90\n  airspeed_kt: 105\n"
    "  selected: {heading_deg: 90, altitude_ft: 3000}\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold}\n"
)
CLIMB = (
    "  altitude_ft: 3200\n  heading_deg: 90\n  airspeed_kt: 95\n  vertical_speed_fpm: 500\n"
    "  power_percent: 100\n  selected: {altitude_ft: 4000, vertical_speed_fpm: 500}\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: vertical_speed,"
    " armed: [altitude]}\n"
)
HEAD = "summary: A short one.\ncompetencies: [lateral_selection]\n"
ASK = "  - predict: {kind: after_key, key: go_around}\n"


@pytest.fixture
def found(workspace, read, with_steps):
    def look(steps, start=LEVEL, head=HEAD, competencies=("lateral_selection",)):
        text = with_steps(steps, start).replace("installation:", head + "installation:")
        before = text[: text.index("steps:")].count("\n") + 1
        lesson = read(text)
        problems = review(
            lesson, lambda begun: workspace.begin(lesson.installation, begun), competencies
        )
        # Lines of steps count from the first step, so that the heading's length is no matter.
        return [
            (problem.line - before if problem.line > before else 0, problem.found)
            for problem in problems
        ]

    return look


def test_a_sound_lesson_has_no_findings(found):
    assert found("  - say: All is quiet.\n  - wait: 2\n" + ASK) == []


@pytest.mark.parametrize(
    ("steps", "line", "words"),
    [
        ("  - wait: 0\n" + ASK, 1, "a dead step: a wait of no time"),
        ("  - do: director\n" + ASK, 1, "a dead step: the key is refused"),
        ("  - do: reference_up\n" + ASK, 1, "a dead step: the key does nothing"),
        ("  - set: {selected_heading_deg: 90}\n" + ASK, 1, "a dead step: selected_heading"),
        ("  - wait_until: {engagement: autopilot}\n" + ASK, 1, "a dead step: what it waits"),
        ("  - say: One.\n  - say: Two.\n" + ASK, 1, "narration that is replaced at once"),
        ("  - wait: 1\n", 0, "a lesson that asks nothing"),
        ("  - wait_until: {alert: signal_lost, within_s: 3}\n" + ASK, 1, "the wait was not"),
    ],
)  # fmt: skip
def test_dead_steps_and_endless_waits_are_found(found, steps, line, words):
    findings = found(steps)
    assert any(at == line and words in what for at, what in findings), findings


def test_an_answer_told_beforehand_is_found(found):
    steps = (
        "  - say: Altitude capture is active next, as you know.\n  - predict: {kind: next_change}\n"
    )
    assert (2, "the answer is told beforehand: 'altitude capture'") in found(steps, CLIMB)
    open_steps = "  - say: The altitude comes nearer.\n  - predict: {kind: next_change}\n"
    assert found(open_steps, CLIMB) == []


TOLD = [
    ("The key Director will be refused now.", "predict: {kind: is_allowed, key: director}", LEVEL,
     "refused"),
    ("The key Heading is accepted.", "predict: {kind: is_allowed, key: heading_select}", LEVEL,
     "accepted"),
    ("Nothing happens with Up.", "predict: {kind: is_allowed, key: reference_up}", LEVEL,
     "ignored"),
    ("You press the key Vertical speed next.",
     "predict: {kind: which_key, shows: {vertical_active: vertical_speed}}", LEVEL,
     "Vertical speed"),
    ("Altitude captures soon.", "predict: {kind: first_capture, within_s: 200}", CLIMB, "Altitude"),
    ("It levels at 3,950 ft.", "predict: {kind: level_off, within_s: 200}", CLIMB, "3,950"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "step", "start", "told"), TOLD)
def test_an_answer_told_beforehand_is_found_in_every_form(found, words, step, start, told):
    findings = found(f"  - say: {words}\n  - {step}\n", start)
    assert (2, f"the answer is told beforehand: '{told}'") in findings
    # In the question's own words it is told as well.
    own = step.replace("}", f', question: "Now what? {words}"}}', 1)
    if "shows" not in step:
        findings = found(f"  - {own}\n", start)
        assert (1, f"the answer is told beforehand: '{told}'") in findings


@pytest.mark.parametrize(("words", "step", "start", "told"), TOLD)
def test_what_the_pilot_sees_and_wants_may_be_told(found, words, step, start, told):
    open_words = "You are cleared to 4,000 ft. You would like to know what Director does."
    assert found(f"  - say: {open_words}\n  - {step}\n", start) == []


def test_a_moment_next_to_a_change_is_found(found):
    # The level-off begins 750 ft on at 500 ft/min: 90 s after the start.
    near = found("  - predict: {kind: after_time, after_s: 90}\n", CLIMB)
    assert any("a change 1.5 s or less" in what for _, what in near)
    assert found("  - predict: {kind: after_time, after_s: 80}\n", CLIMB) == []


def test_an_answer_that_hangs_on_the_start_is_found(found):
    # Between the two variations of 15 ft the altitude is, or isn't, far enough away to arm.
    start = LEVEL.replace("altitude_ft: 3000}", "altitude_ft: 3060}")
    found_ones = found("  - predict: {kind: after_key, key: vertical_speed}\n", start)
    assert any("another answer when the start is a little different" in w for _, w in found_ones)


BEACON = (
    "  altitude_ft: 3000\n  heading_deg: 70\n  airspeed_kt: 105\n  north_nm: -1.6\n"
    "  wind: {from_deg: 180, speed_kt: 4}\n"
    "  navigation:\n    - {id: quillmoor, kind: beacon, label: Beacon Quillmoor,"
    " course_deg: 90, east_nm: 12}\n"
    "  selected: {heading_deg: 70, altitude_ft: 3000, source: quillmoor}\n"
    "  modes: {engagement: autopilot, lateral: heading_select, vertical: altitude_hold,"
    " armed: [course_track]}\n"
)


def test_an_answer_that_hangs_on_the_wind_is_found(workspace, read, with_steps):
    def look(after_s):
        lesson = read(
            with_steps(f"  - predict: {{kind: after_time, after_s: {after_s}}}\n", BEACON)
        )
        calm = Variation("as it is")
        windy = Variation("4 kt of wind more", wind_speed_kt=4.0)
        begin = lambda start: workspace.begin(lesson.installation, start)  # noqa: E731
        assert not fragile_prompts(lesson, begin, (calm,))
        return [p.found for p in review(lesson, begin, variations=(windy,)) if "little" in p.found]

    lesson = read(with_steps("  - wait_until: {change: true, within_s: 300}\n", BEACON))
    captured_s = fly(LessonRunner(lesson, lambda: workspace.begin("ship_amber", lesson.start)))
    before_s = round(captured_s.ended_s - 3.0, 1)
    assert look(round(before_s / 2.0, 1)) == []
    (one,) = look(before_s)
    assert "4 kt of wind more" in one


def test_missing_objectives_are_refused_with_their_line(read, with_steps):
    text = with_steps(ASK, LEVEL)
    with pytest.raises(FileError) as caught:
        read(text.replace("objectives: [Say what the director key does.]", "objectives: []"))
    assert any("no objectives" in str(one) and one.line == 4 for one in caught.value.problems)
    with pytest.raises(FileError) as caught:
        read(text.replace("objectives: [Say what the director key does.]\n", ""))
    assert "objectives" in str(caught.value)


def test_an_objective_too_short_to_be_one_is_found(workspace, read, with_steps):
    text = with_steps("  - wait: 1\n" + ASK, LEVEL).replace("installation:", HEAD + "installation:")
    lesson = read(text.replace("[Say what the director key does.]", "[Fly it.]"))
    found = review(lesson, lambda start: workspace.begin("ship_amber", start))
    assert [one.found for one in found] == ["an objective of 2 words: 'Fly it.'"]


def test_the_same_question_twice_is_found(found):
    twice = ASK + "  - do: heading_select\n  - do: altitude_hold\n  - wait: 30\n" + ASK
    assert any("the same question" in what for _, what in found(twice))


def test_nothing_to_capture_and_too_many_right_keys_are_found(found):
    nothing = found("  - predict: {kind: first_capture, within_s: 5}\n")
    assert any("nothing captures" in what for _, what in nothing)
    many = found(
        "  - predict: {kind: what_to_do, after_s: 1, goal: {engagement: autopilot},"
        " goal_words: the autopilot is engaged}\n"
    )
    assert any("right keys" in what for _, what in many)


def test_missing_heading_lines_are_found(found):
    problems = [what for _, what in found("  - wait: 1\n" + ASK, head="")]
    assert problems == ["no summary", "no competencies"]
    wrong = found("  - wait: 1\n" + ASK, head=HEAD.replace("lateral_sel", "sideways_sel"))
    assert wrong == [(0, "competency 'sideways_selection'")]


def test_hard_words_and_long_sentences_are_found(found):
    hard = "Notwithstanding considerable meteorological complications, institutional procedures"
    assert any("school year" in w for _, w in found(f"  - say: {hard} predominate.\n" + ASK))
    long = " ".join(["and you fly on"] * 9)
    assert any("36 words" in w for _, w in found(f"  - say: {long}.\n" + ASK))


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        # [ARI-1967] worked by hand: 4.71 x characters/words + 0.5 x words/sentences - 21.43.
        ("The cat sat on the mat.", 4.71 * 17 / 6 + 0.5 * 6 - 21.43),
        ("Go. Now.", 4.71 * 5 / 2 + 0.5 * 1 - 21.43),
        ("You climb to 4,000 ft at 500 ft/min.", 4.71 * 26 / 9 + 0.5 * 9 - 21.43),
        ("", 0.0),
    ],
)
def test_the_reading_level_is_the_published_formula(text, grade):
    assert measure(text).grade == pytest.approx(grade)


def test_the_reading_level_agrees_with_a_library():
    readability = pytest.importorskip("readability")
    text = "The autopilot follows the cue and turns. You look outside. It climbs at once."
    tokens = "\n".join(
        " ".join(part.replace(".", " .").split()) for part in text.replace(". ", ".\n").split("\n")
    )
    library = readability.getmeasures(tokens, lang="en")["readability grades"]["ARI"]
    assert measure(text).grade == pytest.approx(library, abs=0.3)
