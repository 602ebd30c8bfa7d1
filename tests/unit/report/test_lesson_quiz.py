"""Quizzes made from the shipped lessons: the session computes the answers."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.report.lesson_quiz import lesson_questions
from trainer.report.render_text import render_text
from trainer.report.strip_quiz import build_quiz, without_giveaways
from trainer.session.annunciation import changed_cells
from trainer.session.strip_words import words_of_chart


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    return Workspace()


def test_quiz_asks_what_the_lesson_asks_and_flies_the_answers(workspace: Workspace) -> None:
    lesson = next(one for one in workspace.lessons() if "course" in one.id)
    runner = workspace.start_lesson_without_trainee(lesson)
    questions = lesson_questions(runner)
    assert len(questions) == len(runner.played) > 0
    for question, played in zip(questions, runner.played, strict=True):
        assert question.actual == played.after
        assert question.because
        assert " ft, heading " in question.situation
    assert any(changed_cells(one.before, one.actual) for one in questions)


def test_quiz_sheet_holds_no_answer_before_the_answer_sheet(workspace: Workspace) -> None:
    lesson = next(one for one in workspace.lessons() if "course" in one.id)
    questions = lesson_questions(workspace.start_lesson_without_trainee(lesson))
    words = words_of_chart(workspace.installation(lesson.installation).chart)
    report = build_quiz(
        "Quiz", lesson.title, questions, words=words,
        made_utc="2026-03-10T12:00:00Z", program_version="0.1.0",
    )  # fmt: skip
    sheet, answers = render_text(report).split("Answer sheet")
    for question in questions:
        for sentence in question.because:
            start = " ".join(sentence.split()[:4])
            assert start not in " ".join(sheet.split())
            assert start in " ".join(answers.split())


def test_no_question_shows_the_answer_of_an_earlier_one(workspace: Workspace) -> None:
    lesson = next(one for one in workspace.lessons() if "approach" in one.id)
    questions = lesson_questions(workspace.start_lesson_without_trainee(lesson))
    kept = without_giveaways(questions)
    assert 0 < len(kept) < len(questions)
    for number, one in enumerate(kept):
        for earlier in kept[:number]:
            assert one.before != earlier.actual or earlier.actual == earlier.before
