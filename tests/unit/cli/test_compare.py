"""`compare` on the command line: three ships, a briefing and lessons, small charts of its own."""

import json
from pathlib import Path

import pytest

from tests.helpers.differences import PLANTED, quiet_ship, with_limit
from trainer.app import Workspace
from trainer.cli.main import build_parser
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import MissingFileError
from trainer.lesson.loader import load_lesson


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    """A workspace whose installations are ships over the small chart."""
    made = Workspace()
    other = with_limit(quiet_ship("ship_other", **PLANTED), "minimum_engagement_height_ft", 1000)
    third = quiet_ship("ship_third", go_around_autopilot="disconnects")
    ships = (quiet_ship(), other, third)
    made.__dict__["installations"] = {one.id: one for one in ships}
    return made


def run(workspace: Workspace, capsys, *words: str) -> tuple[int, list[dict]]:
    arguments = build_parser("compare").parse_args(["compare", "--json", *words])
    from trainer.cli.compare import execute

    code = execute(arguments, Output(as_json=True), workspace)
    return code, [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_the_same_ship_twice_has_no_difference(workspace, capsys):
    code, lines = run(workspace, capsys, "ship_known", "ship_known")
    assert code == DONE
    (end,) = lines
    assert (end["kind"], end["complete"], end["differences"], end["values"]) == ("end", True, 0, 0)


def test_three_ships_give_three_comparisons_and_the_settings_side_by_side(workspace, capsys):
    code, lines = run(workspace, capsys, "ship_known", "ship_other", "--third", "ship_third")
    assert code == FINDINGS
    ends = [(one["first"], one["second"]) for one in lines if one["kind"] == "end"]
    assert ends == [
        ("ship_known", "ship_other"), ("ship_known", "ship_third"), ("ship_other", "ship_third"),
    ]  # fmt: skip
    rows = {one["cause"]: one for one in lines if one["kind"] == "setting"}
    row = rows["option:go_around_autopilot"]
    assert row["values"]["ship_other"] == row["values"]["ship_third"] != row["values"]["ship_known"]
    assert [one["kinds"] > 0 for one in row["differences"]] == [True, True, False]


def test_a_briefing_and_lessons_are_written_and_named(workspace, capsys, tmp_path: Path):
    page, lesson = tmp_path / "page.html", tmp_path / "other.yaml"
    code, lines = run(workspace, capsys, "ship_known", "ship_other", "--briefing", str(page),
                      "--lesson", str(lesson))  # fmt: skip
    assert code == FINDINGS
    assert "From Ship Known to Ship Other" in page.read_text()
    written = [Path(one["path"]) for one in lines if one["kind"] == "lesson"]
    assert written[0] == lesson
    assert written[1] == tmp_path / "other-2.yaml"
    for path in written:
        assert load_lesson(path, workspace.charts).installation == "ship_other"
    groups = [one for one in lines if one["kind"] == "group"]
    assert [one["consequence"] for one in groups] == sorted(
        (one["consequence"] for one in groups), reverse=True
    )
    assert all(one["flight"] for one in groups)


def test_a_wrong_ending_is_told_before_anything_is_compared(workspace, capsys, tmp_path):
    with pytest.raises(MissingFileError, match="accepted"):
        run(workspace, capsys, "ship_known", "ship_other", "--briefing", str(tmp_path / "x.doc"))
    assert capsys.readouterr().out == ""
