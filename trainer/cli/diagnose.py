"""`diagnose ANSWERS`: which wrong rules a member's recorded answers point to, with the evidence."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.confidence import calibration, calibration_sentence
from trainer.assessment.diagnosis import Declared, Diagnosis, Finding
from trainer.assessment.diagnosis_words import evidence_words, topic_words, verdict_words
from trainer.assessment.hypotheses import Hypotheses
from trainer.assessment.item import Item
from trainer.assessment.lesson_items import bank_of, prompt_id, prompt_items
from trainer.assessment.library import Library
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import FileError, FileProblem, TrainerError
from trainer.records.attempt import Attempt
from trainer.records.attempt_check import attempt_from_json
from trainer.session.annunciation import Annunciation
from trainer.text_file import read_text

HELP = "name the wrong rules that recorded answers point to"
MOST_BYTES = 50_000_000
_STRIP_KINDS = ("next_change", "after_key", "after_time")
"""Prompts of lessons; items of the bank are strips whatever their kind."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("answers", type=Path, help="attempts, one JSON object a line")
    parser.add_argument("--noise", type=float, default=0.10, help="declared share of slips")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Diagnose; exit 1 if a wrong rule is named or the answers stay unexplained.

    Raises:
        FileError: A line that is no attempt.
        MissingFileError: The file can't be read.
    """
    attempts = [
        one for one in _read(arguments.answers) if one.item_id or one.prompt_kind in _STRIP_KINDS
    ]
    verdicts: list[str] = []
    for member, installation in dict.fromkeys((a.member, a.installation_id) for a in attempts):
        own = [a for a in attempts if (a.member, a.installation_id) == (member, installation)]
        verdicts.append(_diagnose(own, arguments.noise, workspace, output))
    output.emit({"kind": "end", "members": len(verdicts)}, f"{len(verdicts)} diagnosed")
    return FINDINGS if {"holds", "unexplained"} & set(verdicts) else DONE


def _read(path: Path) -> list[Attempt]:
    lines = read_text(path, MOST_BYTES, "attempts as JSON Lines").split("\n")
    found: list[Attempt] = []
    problems: list[FileProblem] = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            found.append(attempt_from_json(json.loads(line)))
        except (ValueError, RecursionError, TrainerError) as error:
            problems.append(FileProblem(str(path), number, 1, str(error), "an attempt"))
    if problems:
        raise FileError(problems)
    return found


def _diagnose(attempts: list[Attempt], noise: float, workspace: Workspace, output: Output) -> str:
    member, installation = attempts[0].member, attempts[0].installation_id
    library = workspace.library(installation)
    items = _items([a for a in attempts if not a.item_id], library, workspace, output)
    if any(a.item_id for a in attempts):
        items.update((item.id, item) for item in workspace.bank(installation)[1].items)
    used = [(a, items[k]) for a in attempts if (k := _id(a)) in items]
    answered = [(a, item) for a, item in used if item.true.to_json() == a.actual]
    for attempt in attempts:
        if attempt not in [one for one, _ in answered]:
            output.message(f"left out: {_id(attempt)}, lesson or item changed or not here")
    hypotheses = Hypotheses(bank_of(installation, tuple(items.values())))
    diagnosis = Diagnosis(hypotheses, Declared(noise=noise))
    for attempt, item in answered:
        diagnosis.answer(item, Annunciation.from_json(attempt.predicted))
    _print(member, installation, diagnosis.finding(), library, output)
    _print_confidence(member, [a for a, _ in answered], output)
    return diagnosis.finding().verdict


def _id(attempt: Attempt) -> str:
    return attempt.item_id or prompt_id(attempt.lesson_id, attempt.prompt_number)


def _items(
    attempts: Iterable[Attempt], library: Library, workspace: Workspace, output: Output
) -> dict[str, Item]:
    paths = {path.stem: path for path in workspace.lesson_paths}
    installation = library.logic.installation.id
    found: dict[str, Item] = {}
    for name in dict.fromkeys(a.lesson_id for a in attempts):
        if name not in paths:
            output.message(f"no lesson '{name}' here")
            continue
        lesson = workspace.lesson(paths[name])
        runner = workspace.start_lesson_without_trainee(lesson, installation)
        found.update((item.id, item) for item in prompt_items(runner, library))
    return found


def _print(
    member: str, installation: str, finding: Finding, library: Library, output: Output
) -> None:
    words = verdict_words(finding)
    data = {
        "kind": "diagnosis", "member": member, "installation": installation,
        "verdict": finding.verdict, "answers": finding.answered, "sound": round(finding.sound, 4),
        "unlisted": round(finding.unlisted, 4), "misfit": round(finding.misfit, 4),
        "topic": topic_words(finding.topic) or None, "words": words,
    }  # fmt: skip
    output.emit(data, f"{member}, {installation}: {words}")
    for kind, found in (("misconception", finding.held), ("suspicion", finding.suspected)):
        for one in found:
            held = library.beliefs[one.misconception].parts[0]
            text = evidence_words(one, held)
            row = {
                "kind": kind, "member": member, "id": held.id, "sentence": held.sentence,
                "probability": round(one.probability, 4), "competency": held.competency,
                "evidence_standing": held.evidence, "lesson": held.lesson or None,
                "fitting": [a.item.id for a in one.fitting],
                "contradicting": [a.item.id for a in one.contradicting], "words": text,
            }  # fmt: skip
            label = "suspected, too few answers: " if kind == "suspicion" else ""
            output.emit(row, f"  {label}{text}")


def _print_confidence(member: str, attempts: list[Attempt], output: Output) -> None:
    rows = calibration((a.confidence, a.is_right) for a in attempts)
    sure_and_wrong = [_id(a) for a in attempts if a.is_sure_and_wrong]
    data = {
        "kind": "confidence", "member": member, "sure_and_wrong": sure_and_wrong,
        "rows": [
            {"confidence": r.confidence, "count": r.count, "right": r.right,
             "low": round(r.low, 3), "high": round(r.high, 3)} for r in rows
        ],
    }  # fmt: skip
    output.emit(data, f"  {calibration_sentence(rows)}")
