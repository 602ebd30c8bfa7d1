"""`key LESSON`: every prompt of a lesson with its computed answer, the rules, and distractors."""

from __future__ import annotations

import argparse
from typing import Any

from trainer.assessment.answers.distractors import Distractor, distractors
from trainer.assessment.answers.explain import explain
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.cli.flight_output import annunciation_text
from trainer.cli.names import lesson_path
from trainer.cli.output import DONE, Output
from trainer.flying import FlyingWorkspace
from trainer.lesson.answer import Answer
from trainer.lesson.question import ALL_FORMS, Prompt
from trainer.lesson.runner import LessonRunner
from trainer.session.session import STEP_S


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("lesson", metavar="LESSON", help="a lesson's id or number, or a file")


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Fly the lesson and print each prompt's answer."""
    lesson = workspace.lesson(lesson_path(arguments.lesson, workspace))
    runner = workspace.start_lesson_without_trainee(lesson)
    runner.forms = ALL_FORMS
    logic = workspace.logic(lesson.installation)
    held = load_folder(workspace.charts_folder, logic.installation.generic)
    library = Library(logic, held)
    wrong: tuple[Distractor, ...] = ()
    while runner.phase != "finished":
        if runner.phase == "asking":
            assert runner.playing is not None
            wrong = distractors(runner.playing, runner.session, library)
            runner.commit()
        elif runner.phase == "explained":
            _print(runner, wrong, output)
            runner.proceed()
        else:
            runner.advance(STEP_S * 20)
    output.emit({"kind": "end", "prompts": len(runner.played)}, f"{len(runner.played)} prompts")
    return DONE


def _print(runner: LessonRunner, wrong: tuple[Distractor, ...], output: Output) -> None:
    assert runner.prompt is not None
    answer, prompt = runner.played[-1], runner.prompt
    sentences = explain(answer, runner.session.installation)
    data = {
        "kind": "answer",
        "prompt": prompt.number,
        "line": prompt.line,
        "asks": prompt.kind,
        "key": prompt.key or None,
        "then": list(prompt.then),
        "question": prompt.question,
        "t_s": round(runner.session.t_s - answer.elapsed_s, 2),
        "elapsed_s": round(answer.elapsed_s, 2),
        "before": answer.before.to_json(),
        "answer": answer.after.to_json(),
        "nothing_changes": answer.nothing_changes,
        "rules": list(answer.rule_ids),
        "because": list(sentences),
        **_form_json(prompt, answer),
        "distractors": [_distractor_json(one) for one in wrong],
    }
    said = _form_text(prompt, answer)
    text = (
        f"{prompt.number}. {prompt.question}\n{said}   {annunciation_text(answer.after)}"
        f"\n   {' '.join(sentences)} [{', '.join(answer.rule_ids) or 'no rule'}]"
    )
    for one in wrong:
        text += f"\n   wrong: {annunciation_text(one.answer)}"
        text += "".join(f"\n      {held.sentence}" for held in one.misconceptions)
    output.emit(data, text)


def _distractor_json(one: Distractor) -> dict[str, Any]:
    return {
        "answer": one.answer.to_json(),
        "misconceptions": [
            {"id": held.id, "sentence": held.sentence} for held in one.misconceptions
        ],
    }


def _form_json(prompt: Prompt, answer: Answer) -> dict[str, Any]:
    """Return what is right in the prompt's own form; nothing more for a strip."""
    if prompt.form == "choice":
        return {"options": [one.id for one in prompt.options], "accepted": list(answer.accepted)}
    if prompt.form == "number":
        assert answer.number is not None
        number, tolerance = round(answer.number, 1), round(answer.tolerance, 1)
        return {"number": number, "tolerance": tolerance, "unit": prompt.unit}
    return {}


def _form_text(prompt: Prompt, answer: Answer) -> str:
    if prompt.form == "choice":
        labels = [one.label for one in prompt.options if one.id in answer.accepted]
        return f"   {' or '.join(labels)}\n"
    if prompt.form == "number":
        return f"   {answer.number:.0f} {prompt.unit}, within {answer.tolerance:.0f}\n"
    return ""
