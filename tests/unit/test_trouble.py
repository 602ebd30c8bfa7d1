"""Reports on mistakes: what is in them, what never is, and where they go."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trainer.cli import main as command_line
from trainer.cli import validate
from trainer.parts import versions
from trainer.trouble import (
    FOLDER,
    MOST_REPORTS,
    Trouble,
    report_text,
    save_report,
    trouble_of,
    without_names,
)

NOW = "2026-03-10T12:00:00Z"


class WordlessError(Exception):
    def __str__(self) -> str:
        raise ValueError("no words")


def caught(error: Exception) -> Trouble:
    try:
        raise error
    except Exception as raised:
        return trouble_of(raised, "window")


def test_a_report_says_what_where_and_with_which_versions():
    text = report_text(
        caught(KeyError("x")), NOW, events=["1.0 s  key F3"], versions={"Qt": "6.9", **versions()}
    )
    for words in ("KeyError: 'x'", "test_trouble.py", NOW, "key F3", "Qt: 6.9", "numpy: "):
        assert words in text


def test_an_exception_that_cannot_speak_is_reported_too():
    trouble = caught(WordlessError())
    assert trouble.kind == "WordlessError"
    assert "WordlessError" in report_text(trouble, NOW)


def test_a_long_message_is_cut():
    assert len(caught(ValueError("x" * 10**6)).words) < 300


@pytest.mark.parametrize("written", ["Robin Vale", "ROBIN VALE", "'Robin Vale'"])
def test_names_are_taken_out_however_written(written: str):
    assert "vale" not in without_names(f"for {written}!", ["Robin Vale"]).lower()


def test_words_that_hold_a_name_stay():
    assert without_names("equivalent", ["Vale"]) == "equivalent"


def test_folders_are_taken_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Path, "home", lambda: Path("/home/robinv"))
    text = without_names(f"{tmp_path}/x /home/robinv/y robinv", [], tmp_path)
    assert text == "<data>/x ~/y <name>"


def test_reports_never_overwrite_and_the_oldest_go(tmp_path: Path):
    paths = [save_report(tmp_path, f"report {number}", NOW) for number in range(MOST_REPORTS + 5)]
    assert len(set(paths)) == MOST_REPORTS + 5
    left = {path.read_text("utf-8") for path in (tmp_path / FOLDER).iterdir()}
    assert len(left) == MOST_REPORTS
    assert f"report {MOST_REPORTS + 4}" in left


def test_text_that_is_no_unicode_is_written(tmp_path: Path):
    assert save_report(tmp_path, "odd \ud800", NOW) is not None


def test_a_folder_that_cannot_be_written_gives_none(tmp_path: Path):
    (tmp_path / FOLDER).write_text("in the way")
    assert save_report(tmp_path, "x", NOW) is None


def test_a_command_tells_a_mistake_with_exit_code_three(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path))

    def execute(arguments: object, *_: object) -> int:
        raise ZeroDivisionError(f"with {arguments.paths[0]}")

    monkeypatch.setattr(validate, "execute", execute)
    assert command_line.main(["validate", "Robin Vale.yaml", "--json"]) == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert "a mistake of its own: ZeroDivisionError" in said.err
    (report,) = (tmp_path / FOLDER).iterdir()
    assert str(report) in said.err
    assert "Robin" not in report.read_text("utf-8")


def test_version_is_that_of_the_package(capsys: pytest.CaptureFixture[str]):
    with pytest.raises(SystemExit) as ended:
        command_line.main(["--version"])
    assert ended.value.code == 0
    assert json.dumps(capsys.readouterr().out.split()[0]) == '"mode-trainer"'
