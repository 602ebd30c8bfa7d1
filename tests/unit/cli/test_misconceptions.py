"""The wrong rules of an aircraft listed, proved, and candidates written as a file that loads."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception_file import load_misconceptions
from trainer.cli.main import main


def rows(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_every_listed_rule_is_in_use_or_left_out_with_a_reason(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["misconceptions", "ship_amber", "--json"]) == 0
    *told, end = rows(capsys)
    library = Workspace().library("ship_amber")
    assert {one["id"] for one in told if one["state"] == "in_use"} == set(library.beliefs)
    left_out = [one for one in told if one["state"] == "left_out"]
    assert left_out
    assert all(one["reason"] for one in left_out)
    assert end["in_use"] == len(library.beliefs)
    assert end["left_out"] == len(left_out)


def test_candidates_are_a_file_that_says_the_same_wrong_rules(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "candidates.yaml"
    assert main(["misconceptions", "ship_amber", "--candidates", str(path), "--json"]) == 0
    told = [one for one in rows(capsys) if one["kind"] == "candidate"]
    assert {str(one["id"]).split("_")[0] for one in told} == {"dropped", "carried"}
    workspace = Workspace()
    logic = workspace.logic("ship_amber")
    read = load_misconceptions(path, workspace.charts_folder)
    assert [one.id for one in read] == [one["id"] for one in told]
    # Each is wrong in the aircraft: read again it still changes what some row leads to.
    assert set(Library(logic, read).beliefs) == {one.id for one in read}
    assert main(["validate", str(path)]) == 0


def test_a_file_that_cannot_be_written_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "missing" / "candidates.yaml"
    assert main(["misconceptions", "ship_slate", "--candidates", str(path)]) == 2
    assert str(path) in capsys.readouterr().err


@pytest.mark.long
def test_each_listed_rule_is_proved_to_show(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["misconceptions", "ship_amber", "--prove", "--json"]) == 0
    *told, end = rows(capsys)
    assert all(one["shows_at"] for one in told if one["state"] == "in_use")
    assert end["unseen"] == 0
