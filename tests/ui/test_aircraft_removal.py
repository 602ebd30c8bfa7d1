"""Taking an aircraft of one's own out of use: it is asked, told, and nothing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from tests.ui.test_aircraft_page import HEIGHT, asked, door, listed
from trainer.app import Workspace
from trainer.resources import resource_folder
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.aircraft.aircraft_removal import RemovalError, remove_aircraft
from trainer.ui.lesson.user_lessons import FOLDER

__all__ = ["door"]
BUTTONS = QMessageBox.StandardButton


@pytest.fixture
def question(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Answer yes to what is asked; the words asked."""
    told: list[str] = []

    def answer(_parent: object, _title: str, words: str, *_buttons: object) -> object:
        told.append(words)
        return BUTTONS.Yes

    monkeypatch.setattr(QMessageBox, "question", answer)
    return told


def test_only_ones_own_can_be_taken_out_of_use(door: AircraftDoor, qtbot: QtBot) -> None:
    asked(door, qtbot)
    page = listed(door, qtbot)
    for row in range(page.list.count()):
        page.list.setCurrentRow(row)
        assert page.remove.isVisible() == (page.chosen == "ship_ochre")
    path = door._workspace.installation_paths["ship_amber"]
    with pytest.raises(RemovalError, match="comes with the program"):
        remove_aircraft(door.shelf, "ship_amber")
    assert path.exists()


def test_it_is_asked_with_what_hangs_on_it_and_its_file_is_kept(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path, question: list[str]
) -> None:
    asked(door, qtbot)
    assert door.save()
    path = door._workspace.installation_paths["ship_ochre"]
    text = path.read_text("utf-8")
    lesson = (resource_folder("lessons") / "01-first-flight.yaml").read_text("utf-8")
    (tmp_path / FOLDER).mkdir()
    (tmp_path / FOLDER / "mine.yaml").write_text(
        lesson.replace("installation: ship_amber", "installation: ship_ochre"), "utf-8"
    )
    door.answer("ship_ochre")
    door.questions.show_question(HEIGHT)
    qtbot.keyClicks(door.questions.form.fields["source"], "half")
    page = listed(door, qtbot)
    page.show_rows(door._rows(), [], "ship_ochre")
    with qtbot.waitSignal(door.changed):
        page.remove.click()
    for words in ("Take 'Ship Ochre' out of use?", "unsaved answers are thrown away",
                  "can't be flown any more:\n\N{BULLET} ", "stay on record"):  # fmt: skip
        assert words in question[0]
    kept = tmp_path / "installations" / "removed" / "ship_ochre-1.yaml"
    assert kept.read_text("utf-8") == text
    assert not path.exists()
    assert door.shelf.drafts() == {}
    assert "ship_ochre" not in Workspace(user=tmp_path).installations
    assert page.list.count() == len(Workspace().installations)
    kept.rename(path)  # as the guide says
    assert Workspace(user=tmp_path).installation("ship_ochre").title == "Ship Ochre"


def test_no_leaves_everything(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked(door, qtbot)
    assert door.save()
    monkeypatch.setattr(QMessageBox, "question", lambda *_args: BUTTONS.No)
    page = listed(door, qtbot)
    page.show_rows(door._rows(), [], "ship_ochre")
    page.remove.click()
    assert door._workspace.installation_paths["ship_ochre"].exists()


def test_a_draft_alone_is_thrown_away(
    door: AircraftDoor, qtbot: QtBot, question: list[str]
) -> None:
    asked(door, qtbot)
    page = listed(door, qtbot)
    page.show_rows(door._rows(), [], "ship_ochre")
    page.remove.click()
    assert "file is kept" not in question[0]
    assert door.shelf.drafts() == {}
    assert page.list.count() == len(Workspace().installations)


def test_one_that_flies_stays(qtbot: QtBot, tmp_path: Path, question: list[str]) -> None:
    workspace = Workspace(user=tmp_path)
    session = type("Flying", (), {})()
    made = AircraftDoor(tmp_path, workspace, lambda: session)
    said: list[str] = []
    made.said.connect(said.append)
    asked(made, qtbot)
    session.installation = made._workspace.installation("ship_amber")
    assert made.save()
    session.installation = made._workspace.installation("ship_ochre")
    page = listed(made, qtbot)
    page.show_rows(made._rows(), [], "ship_ochre")
    page.remove.click()
    assert "being flown" in said[-1]
    assert question == []
    assert made._workspace.installation_paths["ship_ochre"].exists()
