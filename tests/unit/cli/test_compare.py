"""`compare` on the command line: three ships, a briefing and lessons, small charts of its own."""

import json
from pathlib import Path

import pytest

from tests.helpers.club import NOW, build_world
from tests.helpers.differences import PLANTED, quiet_ship, with_limit
from tests.helpers.planted import edited_so_that
from trainer.app import Workspace
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.scene import scenes
from trainer.cli.main import build_parser
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import FileError, MissingFileError
from trainer.lesson.loader import load_lesson
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.ui.club.club_work import apply_files


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


def test_a_value_that_nobody_signed_is_marked_where_it_stands(workspace, capsys):
    from trainer.cli.compare import execute

    words = ["compare", "ship_known", "ship_other", "--third", "ship_third"]
    execute(build_parser("compare").parse_args(words), Output(as_json=False), workspace)
    told = capsys.readouterr().out
    assert "limit:minimum_engagement_height_ft: 800 ft (placeholder) | 1000 ft" in told
    assert "    ship_other: 1000 ft (placeholder)" in told


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


@pytest.fixture(scope="module")
def small_bank(workspace) -> Bank:
    """Items of the known ship in one scene: a whole bank takes long."""
    library = workspace.library("ship_known")
    flights = scenes(library.logic.installation)[:1]
    return build_bank(
        library, lambda start: workspace.begin("ship_known", start), flights, sequences=0
    )


@pytest.fixture
def edited(workspace, tmp_path: Path, monkeypatch, small_bank) -> Path:
    """A file with an edit of the known ship, over the small chart."""
    made = small_bank

    def load(path: Path, _charts: Path):
        change = {} if path.stem == "same" else {"go_around_autopilot": "disconnects"}
        return quiet_ship("ship_other" if path.stem == "other" else "ship_known", **change)

    monkeypatch.setattr("trainer.cli.compare_edit.load_installation", load)
    monkeypatch.setattr(
        "trainer.assessment.differences.differences_edit.build_bank", lambda *_made, **_named: made
    )
    monkeypatch.setattr(type(workspace), "lessons", lambda _self: [])
    return tmp_path / "edit.yaml"


def test_an_edit_tells_what_it_changes_beside_the_strip(workspace, capsys, edited):
    code, lines = run(workspace, capsys, "ship_known", "--edited", str(edited))
    assert code == FINDINGS
    (impact,) = lines
    assert impact["kind"] == "impact"
    assert impact["causes"] == [["option:go_around_autopilot"]]
    assert impact["situations"] == 1
    assert set(impact["rules"]) == {"go_around_disconnects", "go_around_disconnect_alert"}
    assert impact["items"]
    assert "go_around" in impact["competencies"]


def test_an_edit_that_changes_nothing_exits_with_zero(workspace, capsys, edited):
    same = str(edited.with_name("same.yaml"))
    code, (impact,) = run(workspace, capsys, "ship_known", "--edited", same)
    assert code == DONE
    assert (impact["situations"], impact["items"], impact["competencies"]) == (0, [], [])


def test_an_edit_of_another_ship_is_refused(workspace, capsys, edited):
    other = str(edited.with_name("other.yaml"))
    with pytest.raises(FileError, match="id 'ship_other'; accepted: ship_known"):
        run(workspace, capsys, "ship_known", "--edited", other)


@pytest.mark.parametrize("words", [(), ("ship_other", "--edited", "x.yaml")])
def test_either_a_second_ship_or_an_edit_is_wanted(workspace, capsys, words):
    with pytest.raises(MissingFileError, match="either B or --edited"):
        run(workspace, capsys, "ship_known", *words)


def test_an_edit_names_who_was_ready_under_the_old_logic(
    workspace, capsys, edited, tmp_path, monkeypatch
):
    world = build_world(tmp_path, workspace, "ship_known")
    key = SigningKey.load_or_make(tmp_path / CLUB_KEY_FILE).public_key
    apply_files(world.book_path, world.results, key, NOW, lambda _count: None)
    rules = workspace.requirements("ship_known", 365)[0].rules
    other = edited_so_that(quiet_ship(), rules)
    monkeypatch.setattr("trainer.cli.compare_edit.load_installation", lambda *_paths: other)
    monkeypatch.setattr("trainer.cli.compare_edit.now_utc", lambda: NOW)
    words = ("ship_known", "--edited", str(edited), "--book", str(world.book_path))
    code, lines = run(workspace, capsys, *words)
    assert code == FINDINGS
    *members, impact = lines
    assert members
    for one in members:
        assert (one["kind"], one["stage"]) == ("member", 1)
        assert set(one["rules"]) & set(impact["rules"])
