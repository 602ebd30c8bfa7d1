"""Lessons, ships and files by what people type: ids, numbers, beginnings, files, and mistypings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from trainer.cli import names
from trainer.cli.main import build_parser, main
from trainer.errors import MissingFileError, TrainerError
from trainer.flying import FlyingWorkspace
from trainer.resources import resource_folder

LESSONS = resource_folder("lessons")
SHIPS = resource_folder("statecharts") / "installations"


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder, with the user's data in another."""
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path / "data"))
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def workspace() -> FlyingWorkspace:
    return FlyingWorkspace()


@pytest.fixture
def lines(capsys):
    def call(*words):
        code = main([*words, "--json"])
        told = capsys.readouterr()
        return code, [json.loads(line) for line in told.out.splitlines()], told.err

    return call


def own_ship(folder: Path, name: str) -> Path:
    """Write Ship Amber as a ship of another id into a folder."""
    text = (SHIPS / "ship_amber.yaml").read_text("utf-8").replace("id: ship_amber", f"id: {name}")
    path = folder / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("word", "lesson"),
    [
        ("15-approach", "15-approach"),
        ("15-approach.yaml", "15-approach"),
        ("15", "15-approach"),
        ("15-app", "15-approach"),
        ("1", "01-first-flight"),
        ("01", "01-first-flight"),
    ],
)
def test_a_lesson_goes_by_id_number_or_beginning(workspace, word, lesson):
    assert names.lesson_path(word, workspace) == LESSONS / f"{lesson}.yaml"


def test_every_lesson_goes_by_its_id_and_by_its_number(workspace):
    for path in workspace.lesson_paths:
        assert names.lesson_path(path.stem, workspace) == path
        assert names.lesson_path(path.stem.split("-")[0], workspace) == path


@pytest.mark.parametrize("word", ["15-approach", "15-approach.yaml"])
def test_a_file_here_wins_over_the_lesson_of_its_name(workspace, elsewhere, word):
    (elsewhere / "15-approach.yaml").write_text("title: mine", encoding="utf-8")
    assert names.lesson_path(word, workspace) == Path("15-approach.yaml")
    assert names.lesson_path("15", workspace) == LESSONS / "15-approach.yaml"


def test_a_beginning_that_several_lessons_share_is_refused_with_them(workspace):
    with pytest.raises(TrainerError, match="0: several lessons begin so; accepted: 01-"):
        names.lesson_path("0", workspace)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("15-aproach", "15-aproach: no such file or lesson; accepted: a file, or a lesson's id or "
                       "number: 15-approach? (01-first-flight, "),
        ("my/15-aproach.yaml", "my/15-aproach.yaml: no such file or lesson; accepted: .*"
                               "15-approach"),
        ("99", "99: no such file or lesson; accepted: .*01-first-flight"),
        ("", "no such file or lesson|a folder"),
        ("..", "a folder; accepted: a file"),
        ("x" * 5000, "no such file or lesson"),
    ],
)  # fmt: skip
def test_a_mistyped_lesson_is_told_with_the_nearest(workspace, word, said):
    with pytest.raises(MissingFileError, match=said.replace("?", r"\?").replace("(", r"\(")):
        names.lesson_path(word, workspace)


def test_a_name_with_a_folder_in_it_is_never_a_lesson_of_the_program(workspace):
    with pytest.raises(MissingFileError):
        names.lesson_path("elsewhere/15-approach.yaml", workspace)


def test_lessons_may_be_mixed_with_folders(workspace, elsewhere):
    folder = elsewhere / "some"
    folder.mkdir()
    for name in ("b", "a"):
        (folder / f"{name}.yaml").write_text("title: mine", encoding="utf-8")
    found = names.lesson_paths(["2", "some"], workspace)
    assert [path.name for path in found] == ["02-on-and-refused.yaml", "a.yaml", "b.yaml"]


def test_a_ship_goes_by_id_or_file(workspace, elsewhere):
    own_ship(elsewhere, "ship_mine")
    assert names.ship_id("ship_slate", workspace) == "ship_slate"
    for word in ("ship_mine", "ship_mine.yaml", "./ship_mine.yaml"):
        assert names.ship_id(word, workspace) == "ship_mine"
    assert workspace.logic("ship_mine").installation.path == "ship_mine.yaml"


def test_a_file_here_wins_over_the_ship_of_its_id(workspace, elsewhere):
    path = own_ship(elsewhere, "ship_amber")
    path.write_text(path.read_text("utf-8").replace("title: ", "title: My "), encoding="utf-8")
    workspace.logic("ship_amber")
    assert names.ship_id("ship_amber", workspace) == "ship_amber"
    assert workspace.logic("ship_amber").installation.title.startswith("My ")


def test_a_file_that_is_not_accepted_is_told_with_its_line(workspace, elsewhere):
    path = own_ship(elsewhere, "ship_mine")
    path.write_text(path.read_text("utf-8") + "colour: red\n", encoding="utf-8")
    with pytest.raises(TrainerError, match=r"ship_mine\.yaml:\d+:1: unknown key 'colour'"):
        names.ship_id("ship_mine", workspace)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        (
            "ship_ambr",
            r"ship_ambr: no such installation or file; accepted: ship_amber\? \(ship_amber, ",
        ),
        (
            "my/ship_slat.yaml",
            r"no such installation or file; accepted: ship_slate\? \(.*or a file",
        ),
    ],
)
def test_a_mistyped_ship_is_told_with_the_nearest(workspace, word, said):
    with pytest.raises(MissingFileError, match=said):
        names.ship_id(word, workspace)


def test_a_ship_of_the_user_that_cannot_be_used_is_told_with_its_fault(tmp_path):
    folder = tmp_path / "data" / "installations"
    folder.mkdir(parents=True)
    own_ship(folder, "ship_mine").write_text("format: installation/1\nid: x\n", encoding="utf-8")
    with pytest.raises(TrainerError, match=r"ship_mine\.yaml:2:.*id 'x' in a file named"):
        names.ship_id("ship_mine", FlyingWorkspace())


def test_two_ships_of_one_id_are_not_put_side_by_side(workspace, elsewhere):
    own_ship(elsewhere, "ship_mine")
    assert names.ship_ids(["ship_mine", "ship_slate"], workspace) == ["ship_mine", "ship_slate"]
    same = str(SHIPS / "ship_amber.yaml")
    assert names.ship_ids(["ship_amber", same], workspace) == ["ship_amber"] * 2
    other = elsewhere / "copy.yaml"
    other.write_text((SHIPS / "ship_amber.yaml").read_text("utf-8"), encoding="utf-8")
    with pytest.raises(TrainerError, match="'ship_amber' a second time, with another file"):
        names.ship_ids(["ship_amber", "copy.yaml"], workspace)


def test_the_older_option_still_names_the_ship(workspace):
    parse = build_parser("generate").parse_args
    for words in (["ship_slate"], ["--installation", "ship_slate"]):
        arguments = parse(["generate", *words, "--out", "x"])
        assert names.chosen_ship(arguments, workspace) == "ship_slate"
    with pytest.raises(TrainerError, match="two ships, 'ship_slate' and 'ship_amber'"):
        names.chosen_ship(
            parse(["generate", "ship_slate", "--out", "x", "--installation", "ship_amber"]),
            workspace,
        )
    with pytest.raises(TrainerError, match="no ship is named; accepted: ship_amber, "):
        names.chosen_ship(parse(["generate", "--out", "x"]), workspace)


@pytest.mark.parametrize(
    "words",
    [["run", "1"], ["coverage", "1"], ["report", "quiz", "1"], ["explore"], ["simulate"],
     ["generate", "--out", "x"]],
    ids=lambda words: words[0],
)  # fmt: skip
def test_every_command_that_had_the_older_option_has_it_still(words):
    arguments = build_parser(words[0]).parse_args([*words, "--installation", "ship_slate"])
    assert "ship_slate" in vars(arguments).values()


@pytest.mark.parametrize("option", ["--ship", "--installation"])
def test_a_lesson_is_flown_in_the_ship_that_is_named(lines, option):
    code, slate, err = lines("run", "18", option, "ship_slate")
    assert (code, err) == (0, "")
    _, own, _ = lines("run", "18")
    assert slate != own


def test_every_way_to_name_a_lesson_flies_the_same(lines):
    flown = [
        lines("run", word)
        for word in ("1", "01-first-flight", str(LESSONS / "01-first-flight.yaml"))
    ]
    assert flown[0][0] == 0
    assert flown[0] == flown[1] == flown[2]


def test_validate_takes_lessons_and_ships_by_name(lines):
    code, objects, _ = lines("validate", "1", "ship_amber")
    assert code == 0
    assert objects[-1] == {"kind": "end", "files": 2, "problems": 0}


def test_export_draws_a_ship_by_id_and_by_file(lines, elsewhere):
    _, by_id, _ = lines("export", "ship_amber", "--to", "svg")
    _, by_file, _ = lines("export", str(SHIPS / "ship_amber.yaml"), "--to", "svg")
    assert by_id[0]["text"] == by_file[0]["text"]
    code, _, err = lines("export", "ship_ambr", "--to", "svg")
    assert code == 2
    assert "accepted: ship_amber?" in err


def test_coverage_is_of_the_ship_that_is_named(lines):
    code, objects, _ = lines("coverage", "1", "--quick", "--ship", "ship_slate")
    assert code == 0
    assert {one["installation"] for one in objects[:-1]} == {"ship_slate"}
    assert objects[-2]["rules"]["exercised"] > 0
