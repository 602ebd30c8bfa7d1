"""`key LESSON`: every prompt of a lesson with its computed answer and the rules behind it."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.explain import explain
from trainer.cli.output import DONE, Output, annunciation_text
from trainer.session.session import STEP_S

HELP = "print the computed answer to every prompt of a lesson"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("lesson", type=Path, help="lesson file")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Fly the lesson and print each prompt's answer."""
    lesson = workspace.lesson(arguments.lesson)
    runner = workspace.start_lesson_without_trainee(lesson)
    while runner.phase != "finished":
        if runner.phase == "asking":
            runner.commit()
        elif runner.phase == "explained":
            assert runner.prompt is not None
            answer, prompt = runner.played[-1], runner.prompt
            sentences = explain(answer, runner.session.installation)
            data = {
                "kind": "answer",
                "prompt": prompt.number,
                "line": prompt.line,
                "asks": prompt.kind,
                "key": prompt.key or None,
                "question": prompt.question,
                "t_s": round(runner.session.t_s - answer.elapsed_s, 2),
                "elapsed_s": round(answer.elapsed_s, 2),
                "before": answer.before.to_json(),
                "answer": answer.after.to_json(),
                "nothing_changes": answer.nothing_changes,
                "rules": list(answer.rule_ids),
                "because": list(sentences),
            }
            text = (
                f"{prompt.number}. {prompt.question}\n   {annunciation_text(answer.after)}"
                f"\n   {' '.join(sentences)} [{', '.join(answer.rule_ids) or 'no rule'}]"
            )
            output.emit(data, text)
            runner.proceed()
        else:
            runner.advance(STEP_S * 20)
    output.emit({"kind": "end", "prompts": len(runner.played)}, f"{len(runner.played)} prompts")
    return DONE
