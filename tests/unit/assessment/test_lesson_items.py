"""Lessons as evidence: what answers to their prompts say, and which lesson mends which rule."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.assessment.diagnosis.diagnosis import Diagnosis
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.lesson_items import bank_of, prompt_id, prompt_items
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.cli.main import main
from trainer.lesson.loader import load_lesson
from trainer.session.annunciation import CELLS, Annunciation

LESSON = "03-hands-back"


@cache
def own_workspace() -> Workspace:
    return Workspace()


@cache
def amber_bank(name: str) -> Bank:
    """Return the items of a lesson in the one ship, flown once."""
    return lesson_bank(own_workspace(), own_workspace().library("ship_amber"), name)


def lesson_bank(workspace: Workspace, library: Library, name: str) -> Bank:
    path = workspace.lessons_folder / f"{name}.yaml"
    runner = workspace.start_lesson_without_trainee(load_lesson(path, workspace.charts))
    return bank_of(library.logic.installation.id, prompt_items(runner, library))


def attempt(name: str, number: int, actual: Annunciation, predicted: Annunciation) -> str:
    wrong = [cell for cell in CELLS if actual.cell(cell) != predicted.cell(cell)]
    return json.dumps(
        {
            "id": f"{name}-{number}", "at_utc": "2026-03-01T18:05:09Z", "member": "one",
            "lesson_id": name, "lesson_title": "A lesson", "installation_id": "ship_amber",
            "prompt_number": number, "prompt_kind": "after_key", "question": "What then?",
            "before": actual.to_json(), "predicted": predicted.to_json(),
            "actual": actual.to_json(), "wrong_cells": wrong, "is_right": not wrong,
            "confidence": "sure", "rule_ids": [], "taken_s": 4.0, "program_version": "0.1.0",
        }
    )  # fmt: skip


def test_prompts_become_items_with_wrong_answers() -> None:
    bank = amber_bank(LESSON)
    assert [item.id for item in bank.items] == [
        prompt_id(LESSON, number) for number in range(1, len(bank.items) + 1)
    ]
    assert "disconnect_switches_all_off" in bank.exposed


def diagnosed(lessons: tuple[str, ...], held: str, path: Path) -> tuple[int, Diagnosis]:
    """Write the answers of somebody who holds a wrong rule, and diagnose them."""
    banks = {name: amber_bank(name) for name in lessons}
    lines = [
        attempt(name, number, item.true, item.answer_of(held))
        for name, bank in banks.items()
        for number, item in enumerate(bank.items, 1)
    ]
    items = tuple(item for bank in banks.values() for item in bank.items)
    listed = own_workspace().library("ship_amber").beliefs
    diagnosis = Diagnosis(Hypotheses(bank_of("ship_amber", items), listed=listed))
    for item in items:
        diagnosis.answer(item, item.answer_of(held))
    path.write_text("\n".join(lines), "utf-8")
    return main(["diagnose", str(path), "--json"]), diagnosis


def test_recorded_answers_name_the_wrong_rule(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    held = "disconnect_switches_all_off"
    path = tmp_path / "answers.jsonl"
    lessons = (LESSON, "15-approach", "20-minimum-heights", "23-level-recovery")
    code, diagnosis = diagnosed(lessons, held, path)
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert rows[0]["kind"] == "sure_and_wrong"  # told first
    (said,) = (row for row in rows if row["kind"] == "diagnosis")
    assert said["verdict"] == diagnosis.finding().verdict == "holds"
    named = [row for row in rows if row["kind"] == "misconception"]
    assert [row["id"] for row in named] == [held]
    assert named[0]["probability"] == pytest.approx(diagnosis.probability(held), abs=1e-3)
    assert len(named[0]["fitting"]) >= 3
    assert named[0]["lesson"] == LESSON
    assert code == 1
    sure = next(row for row in rows if row["kind"] == "confidence")
    assert sure["sure_and_wrong"] == named[0]["fitting"]
    assert rows[-1] == {"kind": "end", "members": 1}


@pytest.mark.parametrize(("lessons", "fitting"), [((LESSON,), 1), ((LESSON, "15-approach"), 2)])
def test_fewer_than_three_fitting_answers_are_a_suspicion_at_most(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], lessons: tuple[str, ...], fitting: int
) -> None:
    held = "disconnect_switches_all_off"
    assert sum(held in i.answers for n in lessons for i in amber_bank(n).items) == fitting
    code, _ = diagnosed(lessons, held, tmp_path / "answers.jsonl")
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    (said,) = (row for row in rows if row["kind"] == "diagnosis")
    assert said["verdict"] == "open"
    # One may be a slip: among all rules of the library it isn't certain enough to be suspected.
    suspected = [row["id"] for row in rows if row["kind"] == "suspicion"]
    assert suspected == ([held] if fitting == 2 else [])
    assert code == 0


def answered_rightly(names: list[str], path: Path, *, left_out: bool = False) -> None:
    """Write right answers to all prompts of lessons; or answers that fit no lesson any more."""
    lines = [
        attempt(name, number + 100 * left_out, item.true, item.true)
        for name in names
        for number, item in enumerate(amber_bank(name).items, 1)
    ]
    path.write_text("\n".join(lines), "utf-8")


@pytest.mark.parametrize("name", [LESSON, "15-approach", "23-level-recovery"])
@pytest.mark.parametrize("left_out", [False, True])
def test_right_answers_to_a_lesson_make_nobody_sound(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, left_out: bool
) -> None:
    """A lesson asks about a few rules of the library and about none made from the chart."""
    path = tmp_path / "answers.jsonl"
    answered_rightly([name], path, left_out=left_out)
    assert main(["diagnose", str(path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out.splitlines()[0])
    listed = len(own_workspace().library("ship_amber").beliefs)
    assert said["verdict"] == "open"
    assert said["listed"] == listed
    assert said["answers"] == (0 if left_out else len(amber_bank(name).items))
    assert said["excluded"] <= (0 if left_out else len(amber_bank(name).exposed))
    assert f"{said['excluded']} of the {listed} wrong rules" in said["words"]


@pytest.mark.long
def test_right_answers_to_all_lessons_make_nobody_sound(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    workspace = own_workspace()
    names = [one.id for one in workspace.lessons() if one.installation == "ship_amber"]
    path = tmp_path / "answers.jsonl"
    for some in [*([name] for name in names), names]:
        if sum(len(amber_bank(name).items) for name in some):
            answered_rightly(some, path)
            assert main(["diagnose", str(path), "--json"]) == 0
            said = json.loads(capsys.readouterr().out.splitlines()[0])
            assert said["verdict"] == "open", some


def test_a_line_that_is_no_attempt_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "answers.jsonl"
    path.write_text('\n{"member": "one"}\nnot json\n', "utf-8")
    assert main(["diagnose", str(path)]) == 2
    told = capsys.readouterr().err
    assert f"{path}:2:1" in told
    assert f"{path}:3:1" in told


@pytest.mark.long
def test_the_lesson_named_shows_its_wrong_rule(workspace: Workspace) -> None:
    libraries = {}
    for name, installation in workspace.installations.items():
        held = load_folder(workspace.charts_folder, installation.generic)
        libraries[name] = Library(workspace.logic(name), held)
    every = {m.id: m for lib in libraries.values() for m in lib.misconceptions.values()}
    named = {one.lesson for one in every.values() if one.lesson}
    shown: dict[str, set[str]] = {}
    for name in sorted(named):
        lesson = load_lesson(workspace.lessons_folder / f"{name}.yaml", workspace.charts)
        shown[name] = set(lesson_bank(workspace, libraries[lesson.installation], name).exposed)
    for one in every.values():
        if one.lesson:
            assert one.id in shown[one.lesson], (one.id, one.lesson)
