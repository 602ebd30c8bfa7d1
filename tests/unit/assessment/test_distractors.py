"""Distractors are the answers of wrong rules, flown on the same situation."""

from __future__ import annotations

import json

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.distractors import answers_by_belief, predict_of
from trainer.assessment.wrong_rules.library import Library
from trainer.cli.main import main
from trainer.lesson.runner import LessonRunner


def asked(workspace: Workspace, lesson: str, number: int) -> LessonRunner:
    path = workspace.lessons_folder / f"{lesson}.yaml"
    runner = workspace.start_lesson_without_trainee(workspace.lesson(path))
    while not (runner.phase == "asking" and runner.prompt_number == number):
        if runner.phase == "asking":
            runner.commit()
        elif runner.phase == "explained":
            runner.proceed()
        else:
            runner.advance(1.0)
    return runner


def test_pruning_leaves_no_distractor_out(workspace: Workspace, amber: Library) -> None:
    runner = asked(workspace, "15-approach", 2)
    assert runner.prompt is not None
    predict = predict_of(runner.prompt)
    _, answers = answers_by_belief(predict, runner.session, amber)
    for name in ("no_altitude_capture", "course_brings_glidepath", "heading_blocks_capture"):
        assert answers[name] == amber.beliefs[name].foresees(predict, runner.session)


def test_a_question_leaves_the_session_untouched(workspace: Workspace, amber: Library) -> None:
    runner = asked(workspace, "15-approach", 2)
    assert runner.prompt is not None
    before = (runner.session.t_s, runner.session.configuration, runner.session.flight.altitude_ft)
    answers_by_belief(predict_of(runner.prompt), runner.session, amber)
    after = (runner.session.t_s, runner.session.configuration, runner.session.flight.altitude_ft)
    assert before == after


def test_the_key_prints_each_distractor_with_its_wrong_rule(
    workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    path = workspace.lessons_folder / "03-hands-back.yaml"
    assert main(["key", str(path), "--json"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    answers = [row for row in rows if row["kind"] == "answer"]
    held = {
        one["id"]
        for row in answers
        for wrong in row["distractors"]
        for one in wrong["misconceptions"]
    }
    assert "disconnect_switches_all_off" in held
    for row in answers:
        shown = [json.dumps(wrong["answer"]) for wrong in row["distractors"]]
        assert len(set(shown)) == len(shown)
        assert json.dumps(row["answer"]) not in shown
        assert all(one["sentence"] for w in row["distractors"] for one in w["misconceptions"])
