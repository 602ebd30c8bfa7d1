"""An aircraft's file of somebody else's: what is put, what is kept, and all that is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.charts.carried import KEPT, CarriedError, OwnAircraft
from trainer.errors import FileError, MissingFileError, TrainerError
from trainer.resources import resource_folder
from trainer.text_file import MAXIMUM_BYTES

CHARTS = resource_folder("statecharts")
SHIP = "ship_plover"


def text_of(title: str = "Ship Plover", installation: str = SHIP) -> str:
    return (
        f"format: installation/1\nid: {installation}\ntitle: {title}\nchart: generic\n"
        "aircraft: light_single\noptions: {}\nlimits: {}\n"
    )


@pytest.fixture
def own(tmp_path: Path) -> OwnAircraft:
    return OwnAircraft(CHARTS, tmp_path / "data" / "installations")


def files(own: OwnAircraft) -> dict[str, str]:
    found = [path for path in own.folder.parent.parent.rglob("*") if path.is_file()]
    return {str(path.relative_to(own.folder)): path.read_text("utf-8") for path in found}


def test_a_new_aircraft_is_put_under_its_id_to_the_letter(own: OwnAircraft) -> None:
    text = text_of().replace("\n", "\r\n") + "# a word of the lead's: é\r\n"
    carried = own.look(SHIP, text, "task")
    assert carried.standing == "new"
    assert files(own) == {}
    assert carried.put() is None
    assert (own.folder / f"{SHIP}.yaml").read_bytes() == text.encode()
    assert list(files(own)) == [f"{SHIP}.yaml"]


def test_the_same_aircraft_is_left_alone(own: OwnAircraft) -> None:
    own.look(SHIP, text_of(), "task").put()
    before = (own.folder / f"{SHIP}.yaml").stat()
    again = own.look(SHIP, text_of(), "task")
    assert (again.standing, again.put()) == ("same", None)
    assert "already" in again.words
    assert (own.folder / f"{SHIP}.yaml").stat() == before


def test_another_content_takes_the_place_and_each_old_one_is_kept(own: OwnAircraft) -> None:
    for title in ("First", "Second", "Third"):
        carried = own.look(SHIP, text_of(title), "task")
        carried.put()
    assert carried.standing == "replaces"
    assert "takes the place" in carried.words
    assert f"installations/{KEPT}" in carried.words
    assert files(own) == {
        f"{SHIP}.yaml": text_of("Third"),
        f"{KEPT}/{SHIP}-1.yaml": text_of("First"),
        f"{KEPT}/{SHIP}-2.yaml": text_of("Second"),
    }


def test_what_changed_since_the_look_is_not_replaced(own: OwnAircraft) -> None:
    carried = own.look(SHIP, text_of(), "task")
    own.folder.mkdir(parents=True)
    (own.folder / f"{SHIP}.yaml").write_text(text_of("Mine"), "utf-8")
    with pytest.raises(CarriedError, match="changed here meanwhile"):
        carried.put()
    assert files(own) == {f"{SHIP}.yaml": text_of("Mine")}


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        ("../evil", text_of(installation="../evil"), "letters, digits"),
        ("/tmp/evil", text_of(installation="/tmp/evil"), "letters, digits"),
        ("a.b", text_of(installation="a.b"), "letters, digits"),
        ("", text_of(installation="x"), "letters, digits"),
        ("x\n", text_of(), "letters, digits"),
        (SHIP, text_of(installation="other"), f"accepted: '{SHIP}'"),
        ("ship_amber", text_of(installation="ship_amber"), "aircraft of this program"),
        (SHIP, text_of() + "run: rm\n", "run"),
        (SHIP, text_of().replace("generic", "../../other"), "accepted: generic"),
        (SHIP, text_of().replace("installation/1", "lesson/1"), "installation/1"),
        (SHIP, text_of() + "#" * MAXIMUM_BYTES, "at most"),
        (SHIP, "no: [", "YAML"),
    ],
)
def test_anything_else_is_refused_and_nothing_is_written(
    own: OwnAircraft, name: str, text: str, word: str
) -> None:
    with pytest.raises((CarriedError, FileError), match=word.replace("[", r"\[")):
        own.look(name, text, "task")
    assert files(own) == {}


def test_a_link_in_its_place_is_replaced_and_not_followed(own: OwnAircraft, tmp_path: Path) -> None:
    outside = tmp_path / "outside.yaml"
    outside.write_text(text_of("Outside"), "utf-8")
    own.folder.mkdir(parents=True)
    (own.folder / f"{SHIP}.yaml").symlink_to(outside)
    own.look(SHIP, text_of(), "task").put()
    assert outside.read_text("utf-8") == text_of("Outside")
    assert not (own.folder / f"{SHIP}.yaml").is_symlink()


def test_a_folder_in_its_place_is_told(own: OwnAircraft) -> None:
    (own.folder / f"{SHIP}.yaml").mkdir(parents=True)
    with pytest.raises(TrainerError, match="no plain file"):
        own.look(SHIP, text_of(), "task")


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file", "utf-8")
    own = OwnAircraft(CHARTS, tmp_path / "data" / "installations")
    with pytest.raises(MissingFileError, match="can't be written"):
        own.look(SHIP, text_of(), "task").put()
