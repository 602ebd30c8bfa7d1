"""`validate` says plainly what is still a placeholder, without calling it a problem."""

from __future__ import annotations

import json

import pytest

from trainer.cli.main import main
from trainer.resources import resource_folder

SHIP = resource_folder("statecharts") / "installations" / "ship_amber.yaml"


def test_placeholders_are_counted_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["validate", str(SHIP), "--json"]) == 0
    told, end = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert told["kind"] == "placeholders"
    assert told["installation"] == "ship_amber"
    assert told["limit_placeholders"] == told["limits"] > 0
    assert told["option_placeholders"] == told["options"] > 0
    assert told["to_be_asked"] == 0
    assert told["limits_not_signed"] == told["limits"]
    assert told["options_not_signed"] == told["options"]
    assert told["signed"] == 0
    assert end == {"kind": "end", "files": 1, "problems": 0}


def test_placeholders_are_said_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["validate", str(SHIP)]) == 0
    out = capsys.readouterr().out
    assert "are placeholders: not for use in the aircraft until an instructor has signed." in out
