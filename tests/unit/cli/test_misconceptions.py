"""The wrong rules of an aircraft listed, proved, and candidates written as a file that loads."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.helpers.differences import quiet_ship
from trainer.app import Workspace
from trainer.assessment.items.item_maker import ItemMaker
from trainer.assessment.items.scene import Scene, scenes
from trainer.assessment.items.situations import flown_situations
from trainer.assessment.wrong_rules.distinguish import Product, unseen
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.assessment.wrong_rules.misconception_file import load_misconceptions
from trainer.charts.explore import explore
from trainer.charts.installation import Installation
from trainer.charts.kernel import UnsettledError
from trainer.cli.main import build_parser, main
from trainer.cli.misconceptions import execute
from trainer.cli.output import Output
from trainer.session.logic import Logic


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
    assert end["alike"] == 0
    assert left_out
    assert all(one["reason"] for one in left_out)
    assert end["in_use"] == len(library.beliefs)
    assert end["left_out"] == len(left_out)


@pytest.fixture
def few_scenes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look for what is rarely false in two scenes: in all of them it takes some seconds."""

    def two(installation: Installation) -> tuple[Scene, ...]:
        return tuple(s for s in scenes(installation) if s.id in ("levelling", "low_climb"))

    monkeypatch.setattr("trainer.cli.misconceptions.scenes", two)


@pytest.mark.usefixtures("few_scenes")
def test_candidates_are_a_file_that_says_the_same_wrong_rules(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check_candidates(tmp_path, capsys)


@pytest.mark.long
def test_candidates_of_all_scenes_are_a_file_that_says_the_same_wrong_rules(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check_candidates(tmp_path, capsys)


def check_candidates(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
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


@pytest.mark.usefixtures("few_scenes")
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


HEAD = "format: misconception/1\nchart: generic\nmisconceptions:\n"
LOOP = """\
  - id: club_loop
    rule: Heading and roll hold take turns by themselves.
    competency: approach
    evidence: derived
    patch:
      - add_rule: {region: lateral, from: heading_select, to: roll_hold}
      - add_rule: {region: lateral, from: roll_hold, to: heading_select}
"""
_NEAR = "when: [altitude_capture_reached]"
LATE_LOOP = f"""\
  - id: club_loop
    rule: Near the altitude heading and roll hold take turns by themselves.
    competency: approach
    evidence: derived
    patch:
      - add_rule: {{region: lateral, from: heading_select, to: roll_hold, {_NEAR}}}
      - add_rule: {{region: lateral, from: roll_hold, to: heading_select, {_NEAR}}}
"""
NO_LESSON = """\
  - id: club_lost
    rule: Altitude is never captured.
    competency: approach
    evidence: derived
    lesson: 12-armed-is-not-activ
    patch:
      - drop_rules: [altitude_captured]
"""


def charts_with(folder: Path, text: str) -> Path:
    """Return a copy of the charts with a club's own file of wrong rules."""
    charts = Path(shutil.copytree(Workspace().charts_folder, folder / "charts"))
    (charts / "misconceptions" / "club.yaml").write_text(HEAD + text, "utf-8")
    return charts


def test_a_rule_that_never_comes_to_rest_is_left_out_and_the_others_stay(tmp_path: Path) -> None:
    library = Workspace(charts_with(tmp_path, LOOP), user=tmp_path).library("ship_amber")
    (faulty,) = (one for one in library.left_out if one.is_faulty)
    assert faulty.misconception.id == "club_loop"
    assert "club.yaml, line 4" in faulty.reason
    assert "heading_select to roll_hold to heading_select" in faulty.reason
    assert set(library.beliefs) == set(Workspace().library("ship_amber").beliefs)


TWINS = "".join(
    f"""\
  - id: {name}
    rule: Altitude is never captured.
    competency: approach
    evidence: derived
    patch:
      - drop_rules: [altitude_captured]
      - drop_rules: [altitude_levelled]
"""
    for name in ("club_one", "club_two")
)


def test_rules_that_no_question_tells_apart_are_listed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    workspace = Workspace(charts_with(tmp_path, TWINS), user=tmp_path)
    wanted = build_parser("misconceptions").parse_args(["misconceptions", "ship_amber"])
    assert execute(wanted, Output(as_json=True), workspace) == 0
    *told, end = rows(capsys)
    assert [one["ids"] for one in told if one["kind"] == "alike"] == [["club_one", "club_two"]]
    assert end["alike"] == 1


def test_no_shipped_rule_is_faulty() -> None:
    workspace = Workspace()
    for name in workspace.installations:
        assert not [one for one in workspace.library(name).left_out if one.is_faulty]


def test_a_belief_that_never_comes_to_rest_in_flight_foresees_nothing(tmp_path: Path) -> None:
    """Whether the library has found it or not: the items of the others are made."""
    workspace = Workspace()
    logic = workspace.logic("ship_amber")
    listed = load_folder(charts_with(tmp_path, LATE_LOOP))
    (loop,) = (one for one in listed if one.id == "club_loop")
    library = Library(logic, [])
    library.beliefs["club_loop"] = library.believe(loop)
    library.leave_out((), "")  # its index anew
    flights = tuple(one for one in scenes(logic.installation) if one.id == "near_altitude")
    begin = lambda start: workspace.begin("ship_amber", start)  # noqa: E731
    flown = flown_situations(logic, flights, begin, library.truth, 1)
    maker, asked = ItemMaker(library), 0
    for one in flown:
        if not one.situation.presses:
            draft = maker.waiting(one)
            asked += draft is not None
    assert asked


def test_a_rule_that_never_comes_to_rest_is_told_from_the_truth(tmp_path: Path) -> None:
    """If by no strip; in a chart kept small, since the proof looks at all of it."""
    listed = load_folder(charts_with(tmp_path, LATE_LOOP))
    library = Library(Logic(quiet_ship()), [])
    for one in listed:
        if one.id in ("club_loop", "no_altitude_capture"):
            library.beliefs[one.id] = library.believe(one)
    with pytest.raises(UnsettledError):
        Product(explore(library.truth), library.truth).first_difference(
            library.beliefs["club_loop"].chart
        )
    assert unseen(library, list(library.beliefs)) == ()
    assert len(library.beliefs) == 2


def test_validate_tells_a_rule_that_never_comes_to_rest_and_a_lesson_that_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "club.yaml"
    path.write_text(HEAD + LOOP + NO_LESSON, "utf-8")
    assert main(["validate", str(path), "--json"]) == 1
    *problems, end = rows(capsys)
    assert end["problems"] == 2
    told = {one["line"]: one for one in problems}
    assert "never comes to rest" in str(told[4]["found"])
    assert "'12-armed-is-not-activ' that isn't there" in str(told[11]["found"])
    assert "12-armed-is-not-active" in str(told[11]["accepted"])
