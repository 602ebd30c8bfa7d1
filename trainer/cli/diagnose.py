"""`diagnose ANSWERS`: which wrong rules a member's recorded answers point to, with the evidence."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.answers.confidence import calibration_sentence
from trainer.assessment.diagnosis.diagnosis import Declared, Finding
from trainer.assessment.diagnosis.diagnosis_words import (
    evidence_words,
    rule_words,
    topic_words,
    verdict_words,
)
from trainer.assessment.wrong_rules.library import Library
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.cli.ranges import inner_share
from trainer.errors import FileError, FileProblem, TrainerError
from trainer.records.attempt import Attempt
from trainer.records.attempt_check import attempt_from_json
from trainer.records.board import counted
from trainer.records.check_diagnosis import (
    MemberDiagnosis,
    diagnose_attempts,
    item_id_of,
    tells_something,
)
from trainer.text_file import read_text

MOST_BYTES = 50_000_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("answers", type=Path, help="attempts, one JSON object a line")
    parser.add_argument("--noise", type=inner_share, default=0.10, help="declared share of slips")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Diagnose; exit 1 if a wrong rule is named or the answers stay unexplained.

    Raises:
        FileError: A line that is no attempt.
        MissingFileError: The file can't be read.
    """
    attempts = [one for one in _read(arguments.answers) if tells_something(one)]
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
    items, missing = workspace.items_answered(attempts, installation)
    for name in missing:
        output.message(f"no lesson '{name}' here")
    library = workspace.library(installation)
    found = diagnose_attempts(attempts, items, installation, library.beliefs, Declared(noise=noise))
    for attempt in found.left_out:
        output.message(f"left out: {item_id_of(attempt)}, lesson or item changed or not here")
    if found.repeated:
        output.message(
            f"{counted(found.repeated, 'answer')} came again with the same id, and counted once"
        )
    _print_sure_and_wrong(member, found, output)
    _print(member, installation, found.finding, library, output)
    _print_confidence(member, found, output)
    return found.finding.verdict


def _print_sure_and_wrong(member: str, found: MemberDiagnosis, output: Output) -> None:
    """Print what a member was sure of and wrong about: it comes before any other finding."""
    for one in found.sure_and_wrong:
        data = {
            "kind": "sure_and_wrong", "member": member, "id": one.id, "item": item_id_of(one),
            "question": one.question, "wrong_cells": list(one.wrong_cells),
        }  # fmt: skip
        output.emit(data, f"{member}, sure and wrong: [{item_id_of(one)}] {one.question}")


def _print(
    member: str, installation: str, finding: Finding, library: Library, output: Output
) -> None:
    words = verdict_words(finding)
    data = {
        "kind": "diagnosis", "member": member, "installation": installation,
        "verdict": finding.verdict, "answers": finding.answered, "sound": round(finding.sound, 4),
        "unlisted": round(finding.unlisted, 4), "misfit": round(finding.misfit, 4),
        "topic": topic_words(finding.topic) or None, "excluded": finding.excluded,
        "listed": finding.listed, "words": words,
    }  # fmt: skip
    output.emit(data, f"{member}, {installation}: {words}")
    for kind, found in (("misconception", finding.held), ("suspicion", finding.suspected)):
        for one in found:
            held = library.beliefs[one.misconception].parts[0]
            text = evidence_words(one, library.misconceptions)
            row = {
                "kind": kind, "member": member, "id": held.id, "or": list(one.twins),
                "sentence": rule_words(one, library.misconceptions),
                "probability": round(one.probability, 4), "competency": held.competency,
                "evidence_standing": held.evidence, "lesson": held.lesson or None,
                "fitting": [a.item.id for a in one.fitting],
                "contradicting": [a.item.id for a in one.contradicting], "words": text,
            }  # fmt: skip
            label = "suspected, too few questions: " if kind == "suspicion" else ""
            output.emit(row, f"  {label}{text}")


def _print_confidence(member: str, found: MemberDiagnosis, output: Output) -> None:
    data = {
        "kind": "confidence", "member": member,
        "sure_and_wrong": [item_id_of(one) for one in found.sure_and_wrong],
        "rows": [
            {"confidence": r.confidence, "count": r.count, "right": r.right,
             "low": round(r.low, 3), "high": round(r.high, 3)} for r in found.calibration
        ],
    }  # fmt: skip
    output.emit(data, f"  {calibration_sentence(found.calibration)}")
