"""A club's own aircraft, from the lead's data folder to a member's, by commands and window."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from tests.helpers.check_window import open_window
from tests.helpers.club import ScriptedAsker, build_attempt
from tests.helpers.whole_lesson import play_right
from trainer.app import Workspace
from trainer.cli.main import main
from trainer.records.assignment import assignment_from_json
from trainer.records.error import InvalidRecordError
from trainer.records.packet import read_packet
from trainer.records.signing import SigningKey
from trainer.records.store import FILE_NAME, Store
from trainer.ui.window.main_window import MainWindow

TAM = "Tam Reed"
SHIP = "ship_plover"
CLUB = "Meadow Flying Club"
CHARTS = Workspace().charts_folder
Call = Callable[..., list[dict[str, Any]]]


def plover(title: str = "Ship Plover") -> str:
    """Return the file of an aircraft that no program brings."""
    amber = (CHARTS / "installations" / "ship_amber.yaml").read_text("utf-8")
    return amber.replace("id: ship_amber", f"id: {SHIP}").replace(
        next(line for line in amber.splitlines() if line.startswith("title:")), f"title: {title}"
    )


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], monkeypatch: Any, tmp_path: Path) -> Call:
    """Run a command as the lead or as the member; each has a data folder of their own."""

    def run(who: str, *words: object, code: int = 0) -> list[dict[str, Any]]:
        monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path / who))
        found = main([*map(str, words), "--json"])
        captured = capsys.readouterr()
        assert found == code, captured.err
        return [json.loads(line) for line in captured.out.splitlines()]

    return run


@pytest.fixture
def task(call: Call, tmp_path: Path) -> Callable[[str], Path]:
    """Return what writes an assignment for Tam with the lead's Plover as it is then."""
    (tmp_path / "lead" / "installations").mkdir(parents=True)
    lead_file = tmp_path / "lead" / "installations" / f"{SHIP}.yaml"
    lead_file.write_text(plover(), "utf-8")
    book, card, club_card = (tmp_path / name for name in ("book.sqlite3", "tam.json", "club.json"))
    call("lead", "records", "club", "new", book, "--name", CLUB)
    call("lead", "records", "club", "add-aircraft", book, SHIP)
    call("lead", "records", "club", "add-member", book, TAM, "--aircraft", SHIP)
    call("member", "records", "card", card, "--member", TAM)
    code = SigningKey.load_or_make(tmp_path / "member" / "member-key.pem").short_code
    call("lead", "records", "club", "enrol", book, card, code)
    call("lead", "records", "club", "card", book, club_card)
    code = SigningKey.load_or_make(tmp_path / "lead" / "club-key.pem").short_code
    call("member", "records", "trust-book", club_card, code)

    def write(title: str) -> Path:
        lead_file.write_text(plover(title), "utf-8")
        target = tmp_path / f"{title}.assignment.json"
        call("lead", "records", "club", "issue", book, TAM, SHIP, target, "--due", "2036-03-20",
             "--lesson", "01-first-flight", "--seed", str(len(title)))  # fmt: skip
        return target

    return write


@pytest.fixture
def window(qtbot: QtBot, task: object, tmp_path: Path) -> Iterator[MainWindow]:
    """The member's window."""
    made = open_window(qtbot, tmp_path / "member")
    made.show_exchange()
    made.desk.club.exchange.asker = ScriptedAsker()
    yield made
    made.close()


def own(tmp_path: Path) -> dict[str, str]:
    """Return the member's own aircraft: file -> text."""
    folder = tmp_path / "member" / "installations"
    paths = [path for path in folder.rglob("*") if path.is_file()]
    return {path.relative_to(folder).as_posix(): path.read_text("utf-8") for path in paths}


def take(window: MainWindow, path: Path) -> str:
    """Open an assignment, take it, and return what the page says."""
    page = window.desk.club.exchange
    page.asker.files.append(path)
    page.look.click()
    page.take.click()
    return page.message.text()


def choices(window: MainWindow) -> list[str]:
    """Return what the check page offers."""
    window.desk.rooms.show_check()
    picker = window.desk.rooms.check_door.intro.purpose
    return [picker.itemText(place) for place in range(picker.count())]


def test_an_assignment_brings_its_aircraft_by_commands(
    call: Call, task: Callable[[str], Path], tmp_path: Path
) -> None:
    path = task("Ship Plover")
    shown = call("member", "records", "take-assignment", path)
    assert any("brings the aircraft 'Ship Plover' (ship_plover)" in str(one) for one in shown)
    assert any(f"under the name '{TAM}'" in str(one) for one in shown)
    assert own(tmp_path) == {}
    call("member", "records", "take-assignment", path, "--apply")
    assert own(tmp_path) == {f"{SHIP}.yaml": plover()}
    assert SHIP in Workspace(user=tmp_path / "member").installations
    (taken,) = call("member", "records", "assignments")
    assert "installation_text" not in taken

    changed = task("Plover, stage 2")
    shown = call("member", "records", "take-assignment", changed, "--apply")
    assert any("takes the place of your own" in str(one) for one in shown)
    assert own(tmp_path) == {
        f"{SHIP}.yaml": plover("Plover, stage 2"),
        f"replaced/{SHIP}-1.yaml": plover(),
    }


def test_an_edited_aircraft_is_refused_by_the_signature(
    call: Call, task: Callable[[str], Path], tmp_path: Path
) -> None:
    path = task("Ship Plover")
    path.write_bytes(path.read_bytes().replace(b"Ship Plover\\\\n", b"Ship Clover\\\\n"))
    assert b"Ship Clover" in path.read_bytes()
    call("member", "records", "take-assignment", path, "--apply", code=2)
    assert own(tmp_path) == {}


def test_an_aircraft_of_the_program_is_not_sent_and_old_assignments_are_read(
    call: Call, task: Callable[[str], Path], tmp_path: Path
) -> None:
    book, path = tmp_path / "book.sqlite3", tmp_path / "amber.json"
    call("lead", "records", "club", "add-aircraft", book, "ship_amber")
    call("lead", "records", "club", "issue", book, TAM, "ship_amber", path, "--due", "2036-03-20")
    payload = read_packet(path.read_bytes(), "assignment").payload
    assert "installation_text" not in payload
    assert assignment_from_json(payload).installation_text == ""
    with pytest.raises(InvalidRecordError, match="installation_text"):
        assignment_from_json({**payload, "installation_text": ""})
    call("member", "records", "take-assignment", path, "--apply")
    assert own(tmp_path) == {}


def test_taken_in_the_window_the_check_of_the_aircraft_can_be_begun(
    window: MainWindow, task: Callable[[str], Path], tmp_path: Path
) -> None:
    words = take(window, task("Ship Plover"))
    assert "Its aircraft 'Ship Plover' is among your own now." in words
    assert f"You are '{TAM}' in the whole program now" in words
    assert window.preferences.member == TAM
    assert CLUB in choices(window)[0]
    assert window.desk.rooms.check_door.intro.missing.isHidden()
    window.show_lessons()
    first = window.chooser.list.item(1 if not window.chooser._rows[0] else 0)
    assert "assigned, due 2036-03-20" in first.toolTip()


def test_an_own_aircraft_of_that_id_is_replaced_only_if_wanted(
    window: MainWindow, task: Callable[[str], Path], tmp_path: Path
) -> None:
    mine = tmp_path / "member" / "installations" / f"{SHIP}.yaml"
    mine.parent.mkdir()
    mine.write_text(plover("Mine"), "utf-8")
    path, page = task("Ship Plover"), window.desk.club.exchange
    page.asker.says_yes = False
    assert "Nothing is taken" in take(window, path)
    assert "yours is kept as a copy" in page.asker.asked[-1]
    assert own(tmp_path) == {f"{SHIP}.yaml": plover("Mine")}
    assert page.assignments.rowCount() == 0
    page.asker.says_yes = True
    assert "has taken the place of yours" in take(window, path)
    assert own(tmp_path) == {
        f"{SHIP}.yaml": plover(),
        f"replaced/{SHIP}-1.yaml": plover("Mine"),
    }


def test_who_has_answers_under_another_name_is_asked(
    window: MainWindow, task: Callable[[str], Path], tmp_path: Path
) -> None:
    with Store.open(tmp_path / "member" / FILE_NAME) as store:
        store.add(build_attempt("Me", 1, "rule"))
    page = window.desk.club.exchange
    page.asker.says_yes = False
    assert "You are 'Me' still: what you answer so isn't in a result of" in take(
        window, task("Ship Plover")
    )
    assert "1 answer stands under that name" in page.asker.asked[-1]
    assert window.preferences.member == "Me"
    page.asker.says_yes = True
    assert f"You are '{TAM}'" in take(window, task("Plover again"))
    assert window.preferences.member == TAM


def test_what_is_flown_after_taking_is_in_the_result(
    window: MainWindow, call: Call, task: Callable[[str], Path], tmp_path: Path
) -> None:
    take(window, task("Ship Plover"))
    window.open_lesson(window.desk.workspace.lessons()[0])
    asked = play_right(window)
    window.show_lessons()
    assert "assigned" not in "".join(
        window.chooser.list.item(row).toolTip() for row in range(window.chooser.list.count())
    )
    window.show_exchange()
    page, result = window.desk.club.exchange, tmp_path / "tam.result.json"
    page.asker.files.append(result)
    assert page.answers.currentText().startswith(CLUB)
    page.result.click()
    page.close_records()
    seen = call("lead", "records", "club", "import", tmp_path / "book.sqlite3", result)
    assert (seen[0]["member"], seen[0]["attempts"]) == (TAM, len(asked))
    assert seen[0]["warnings"] == []


def test_an_assignment_without_its_aircraft_is_told_on_the_check_page(
    window: MainWindow, task: Callable[[str], Path], tmp_path: Path
) -> None:
    take(window, task("Ship Plover"))
    mine = tmp_path / "member" / "installations" / f"{SHIP}.yaml"
    mine.unlink()
    window.desk.workspace.reload_installations()
    assert not any(CLUB in one for one in choices(window))
    told = window.desk.rooms.check_door.intro.missing
    assert not told.isHidden()
    assert "isn't on this computer. Ask the training lead" in told.text()
    assert f"{SHIP}.yaml into {mine.parent}" in told.text()
    mine.write_text(plover().replace("chart: generic", "chart: other"), "utf-8")
    window.desk.workspace.reload_installations()
    choices(window)
    assert "can't be used here" in told.text()


@pytest.fixture
def pack(call: Call, task: object, tmp_path: Path) -> Path:
    """Return a pack that the lead made of a lesson in Plover."""
    lesson, path = tmp_path / "over-there.yaml", tmp_path / "club.zip"
    first = Workspace().lesson_paths[0].read_text("utf-8")
    lesson.write_text(first.replace("installation: ship_amber", f"installation: {SHIP}"), "utf-8")
    assert SHIP in lesson.read_text("utf-8")
    call("lead", "pack", "make", path, lesson)
    return path


def test_a_pack_brings_its_aircraft_by_commands(call: Call, pack: Path, tmp_path: Path) -> None:
    folder = tmp_path / "member" / "lessons"
    told = call("member", "pack", "import", pack, folder)
    assert (told[0]["kind"], told[0]["id"], told[0]["was"]) == ("aircraft", SHIP, "new")
    assert own(tmp_path) == {f"{SHIP}.yaml": plover()}
    call("member", "validate", folder / "over-there.yaml")
    (tmp_path / "member" / "installations" / f"{SHIP}.yaml").write_text(plover("Mine"), "utf-8")
    call("member", "pack", "import", pack, folder, code=2)
    assert own(tmp_path) == {f"{SHIP}.yaml": plover("Mine")}
    call("member", "pack", "import", pack, folder, "--replace-aircraft")
    assert own(tmp_path) == {f"{SHIP}.yaml": plover(), f"replaced/{SHIP}-1.yaml": plover("Mine")}


def test_a_pack_brings_its_aircraft_in_the_window(
    window: MainWindow, pack: Path, tmp_path: Path
) -> None:
    door = window.desk.write
    door.write()
    door.import_pack(pack)
    assert "1 lesson is yours now. It brings the aircraft 'Ship Plover'" in window.note.text()
    assert own(tmp_path) == {f"{SHIP}.yaml": plover()}
    assert SHIP in window.desk.aircraft_titles()
    assert window.desk.free.aircraft.findData(SHIP) >= 0
    handed_on = tmp_path / "again.zip"
    door.export_pack(handed_on)
    mine = tmp_path / "member" / "installations" / f"{SHIP}.yaml"
    mine.write_text(plover("Mine"), "utf-8")
    door.ask_replace = lambda _pack: False
    door.import_pack(handed_on)
    assert "Nothing is taken" in window.note.text()
    assert own(tmp_path) == {f"{SHIP}.yaml": plover("Mine")}
    door.ask_replace = lambda _pack: True
    door.import_pack(handed_on)
    assert f"replaced/{SHIP}-1.yaml" in own(tmp_path)
