"""What `review` finds in lessons that load and fly, each with its line."""

from __future__ import annotations

import pytest

from trainer.lesson.reading import measure
from trainer.lesson.review import review

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
