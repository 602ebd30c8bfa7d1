"""The lead's page: book, roster, board, exchange, reports, records; mouse, keys, refusals."""

from __future__ import annotations

import json
import shutil
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLineEdit, QListWidget, QTableView
from pytestqt.qtbot import QtBot

from tests.helpers.club import (
    NAMES,
    NOW,
    SHIP,
    ScriptedAsker,
    World,
    build_world,
    edited,
    idle,
    world_in,
)
from tests.helpers.small_bank import small_bank
from trainer.app import Workspace
from trainer.errors import StoppedError
from trainer.records.board_query import read_board
from trainer.records.card import write_card
from trainer.records.club_book import ClubBook
from trainer.records.packet import read_packet
from trainer.records.roster import Aircraft
from trainer.records.signing import SigningKey
from trainer.session.strip_design import DEFAULT_DESIGN
from trainer.ui.check.check_bank_worker import BankNews
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_door import ClubDoor
from trainer.ui.club.club_page import ClubPage
from trainer.ui.look.theme import LIGHT

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    """The program's own charts and lessons."""
    return Workspace()


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory, workspace: Workspace) -> Path:
    """A folder with a club, made once."""
    return build_world(tmp_path_factory.mktemp("club"), workspace).folder


@pytest.fixture
def world(tmp_path: Path, template: Path) -> World:
    """A club on disk."""
    shutil.copytree(template, tmp_path, dirs_exist_ok=True)
    return world_in(tmp_path)


@pytest.fixture
def page(qtbot: QtBot, tmp_path: Path, workspace: Workspace) -> Iterator[ClubPage]:
    """The page, shown, with no book open."""
    made = ClubPage(ClubDesk(tmp_path, workspace, lambda: NOW))
    qtbot.addWidget(made)
    made.use_asker(ScriptedAsker())
    made.resize(1240, 700)
    with qtbot.waitExposed(made):
        made.show()
    yield made
    made.close_book()


@pytest.fixture
def opened(qtbot: QtBot, page: ClubPage, world: World) -> ClubPage:
    """The page with the club's book open."""
    page.open_book(world.book_path)
    idle(qtbot, page)
    return page


@pytest.fixture
def filled(qtbot: QtBot, opened: ClubPage, world: World) -> ClubPage:
    """The page with all results taken."""
    take(qtbot, opened, world.results)
    return opened


def take(qtbot: QtBot, page: ClubPage, files: list[Path]) -> None:
    """Look at result files and take those that are accepted."""
    page.asker.files.append(files)
    page.exchange.choose.click()
    idle(qtbot, page)
    page.exchange.take.click()
    idle(qtbot, page)


def click_cell(qtbot: QtBot, page: ClubPage, row: int, column: int) -> None:
    """Click a cell of the board."""
    table = page.board.table
    place = table.visualRect(page.board.model.index(row, column)).center()
    qtbot.mouseClick(table.viewport(), LEFT, pos=place)


def texts(made: QListWidget) -> list[str]:
    return [made.item(place).text() for place in range(made.count())]


def test_a_book_is_made_with_a_name_and_a_file(
    qtbot: QtBot, page: ClubPage, tmp_path: Path
) -> None:
    qtbot.mouseClick(page.make, LEFT)
    assert page.message.text() == "Name the club first."
    qtbot.keyClicks(page.club_name, "Meadow Flying Club")
    page.asker.files.append(tmp_path / "new")
    qtbot.keyClick(page.club_name, Qt.Key.Key_Return)
    idle(qtbot, page)
    with ClubBook.open(tmp_path / "new.sqlite3") as book:
        assert book.club_name == "Meadow Flying Club"
        assert len(book.backups()) == 1
    assert page.tabs.currentWidget() is page.roster


def test_a_file_that_is_there_is_never_made_anew(page: ClubPage, world: World) -> None:
    before = world.book_path.read_bytes()
    page.club_name.setText("Other")
    page.asker.files.append(world.book_path)
    page.make.click()
    assert "there already" in page.message.text()
    assert world.book_path.read_bytes() == before


def test_the_latest_book_is_one_click_away(
    qtbot: QtBot, opened: ClubPage, world: World, workspace: Workspace
) -> None:
    again = ClubPage(ClubDesk(world.folder, workspace, lambda: NOW))
    qtbot.addWidget(again)
    assert again.latest.text() == "Open club.sqlite3 again"
    again.latest.click()
    assert again.desk.opened.path == world.book_path
    idle(qtbot, again)
    again.close_book()


def test_a_foreign_file_is_refused_with_the_reason(page: ClubPage, tmp_path: Path) -> None:
    page.asker.files.append(tmp_path / "x.sqlite3")
    (tmp_path / "x.sqlite3").write_bytes(b"no database at all" * 100)
    page.open.click()
    assert page.message.text()
    assert page.desk.book is None


def test_a_damaged_book_is_offered_for_recovery(
    qtbot: QtBot, opened: ClubPage, world: World
) -> None:
    opened.close_book()
    data = bytearray(world.book_path.read_bytes())
    data[4096:4296] = b"\xff" * 200
    world.book_path.write_bytes(data)
    opened.open_book(world.book_path)
    assert "damaged" in opened.message.text()
    assert opened.recover.isVisible()
    opened.recover.click()
    idle(qtbot, opened)
    assert "Recovered from club.2026-03-10.sqlite3" in opened.message.text()
    assert [one.name for one in opened.desk.opened.members()] == list(NAMES)
    assert list(world.folder.glob("club.sqlite3.damaged-*"))


def test_book_of_a_newer_program_is_read_and_left_alone(
    qtbot: QtBot, page: ClubPage, world: World
) -> None:
    with closing(sqlite3.connect(world.book_path)) as connection:
        connection.execute("PRAGMA user_version = 9999")
    before = world.book_path.read_bytes()
    page.open_book(world.book_path)
    idle(qtbot, page)
    assert "for reading only: a newer program wrote it" in page.book_words.text()
    assert page.board.model.rowCount() == 3
    page.roster.member_name.setText("Dara Finch")
    page.roster.add_member.click()
    assert "nothing can be stored" in page.message.text()
    page.close_book()
    assert world.book_path.read_bytes() == before


def test_roster_by_keys(qtbot: QtBot, opened: ClubPage) -> None:
    roster = opened.roster
    opened.tabs.setCurrentWidget(roster)
    roster.member_aircraft.setCurrentIndex(1)
    qtbot.keyClicks(roster.member_name, "Dara Finch")
    qtbot.keyClick(roster.member_name, Qt.Key.Key_Return)
    idle(qtbot, opened)
    book = opened.desk.opened
    member = book.member_named("Dara Finch")
    assert book.aircraft_of(member.id) == [SHIP]
    qtbot.keyClicks(roster.member_name, "Dara Finch")
    qtbot.keyClick(roster.member_name, Qt.Key.Key_Return)
    assert opened.message.property("role") == "wrong"
    assert opened.message.text().startswith("Member 'Dara Finch' is in the book already")
    roster.members.selectRow(0)
    roster.on_board.click()
    idle(qtbot, opened)
    assert not book.member_named("Bo Hill").is_active
    assert roster.members.item(0, 4).text() == "✕ no"
    assert opened.board.model.rowCount() == 3
    roster.tabs.setCurrentIndex(1)
    qtbot.keyClicks(roster.instructor_name, "Ira Wells")
    qtbot.keyClick(roster.instructor_name, Qt.Key.Key_Return)
    assert texts(roster.instructors) == ["Ada Reed", "Ira Wells"]


def test_a_key_is_enrolled_only_by_the_code_heard(
    qtbot: QtBot, opened: ClubPage, tmp_path: Path
) -> None:
    roster, key = opened.roster, SigningKey.from_seed(b"N" * 32)
    card = tmp_path / "new.card.json"
    card.write_bytes(write_card("member_card", "Bo Hill", NOW, key))
    opened.tabs.setCurrentWidget(roster)
    roster.members.selectRow(0)
    assert not roster.enrol.isEnabled()
    opened.asker.files.append(card)
    roster.card.click()
    qtbot.keyClicks(roster.code, "AAAA-BBBB-CCCC-DDDD")
    roster.enrol.click()
    assert "The code heard is not that of this card" in opened.message.text()
    roster.code.setText(key.short_code.lower())
    roster.enrol.click()
    assert opened.desk.opened.member_named("Bo Hill").public_key == key.public_key


def test_a_card_that_is_none_is_refused(opened: ClubPage, tmp_path: Path) -> None:
    (tmp_path / "bad.card.json").write_text("{}")
    opened.asker.files.append(tmp_path / "bad.card.json")
    opened.roster.card.click()
    assert opened.message.property("role") == "wrong"
    assert not opened.roster.enrol.isEnabled()


def test_next_stage_requires_what_is_ticked(qtbot: QtBot, opened: ClubPage) -> None:
    roster = opened.roster
    opened.tabs.setCurrentWidget(roster)
    roster.tabs.setCurrentIndex(2)
    roster.title.setText("Ship Amber")
    roster.stage.setValue(2)
    roster.valid_days.setValue(180)
    for place in range(roster.required.count()):
        roster.required.item(place).setCheckState(Qt.CheckState.Unchecked)
    roster.save_aircraft.click()
    assert "at least one competency" in opened.message.text()
    roster.required.setCurrentRow(1)
    qtbot.keyClick(roster.required, Qt.Key.Key_Space)
    roster.save_aircraft.click()
    idle(qtbot, opened)
    (aircraft,) = opened.desk.opened.aircraft()
    (required,) = opened.desk.opened.requirements(SHIP)
    assert (aircraft.stage, required.valid_days) == (2, 180)
    assert opened.board.model.columnCount() == 2


def test_a_next_stage_in_another_installation_is_no_second_aircraft(
    qtbot: QtBot, opened: ClubPage
) -> None:
    roster = opened.roster
    opened.tabs.setCurrentWidget(roster)
    roster.tabs.setCurrentIndex(2)
    (before,) = opened.desk.opened.aircraft()
    roster.aircraft.selectRow(0)
    roster.next_stage.click()
    assert (roster.title.text(), roster.stage.value()) == (before.title, before.stage + 1)
    assert roster.installation.currentData() == before.installation_id
    other = roster.installation.findData("ship_amber_stage_two")
    roster.installation.setCurrentIndex(other)
    roster.installation.activated.emit(other)
    roster.save_aircraft.click()
    idle(qtbot, opened)
    (after,) = opened.desk.opened.aircraft()
    assert (after.id, after.title, after.stage) == (before.id, before.title, before.stage + 1)
    assert after.installation_id == "ship_amber_stage_two"


def test_nothing_can_be_done_to_a_member_where_none_is_in_hand(opened: ClubPage) -> None:
    roster = opened.roster
    opened.tabs.setCurrentWidget(roster)
    buttons = (roster.put_on, roster.on_board, roster.card)
    assert all(one.isEnabled() for one in buttons)
    roster.members.setCurrentCell(-1, -1)
    assert roster.member is None
    assert not any(one.isEnabled() for one in buttons)
    roster.members.selectRow(1)
    assert all(one.isEnabled() for one in buttons)


def test_nothing_is_taken_before_it_was_looked_at(
    qtbot: QtBot, opened: ClubPage, world: World
) -> None:
    bad = edited(world.results[0])
    opened.asker.files.append([world.results[2], bad, world.folder / "none.json"])
    opened.exchange.choose.click()
    idle(qtbot, opened)
    table = opened.exchange.files
    assert [table.item(row, 2).text() for row in range(3)] == [
        "✓ would be taken", "✕ refused", "✕ refused",
    ]  # fmt: skip
    table.selectRow(1)
    assert "hash" in texts(opened.exchange.detail)[0]
    assert opened.desk.opened.database.read("SELECT count(*) FROM attempt") == [(0,)]
    assert opened.exchange.take.text() == "Take 1 file"
    moved = []
    opened.exchange.progress.valueChanged.connect(moved.append)
    opened.exchange.take.click()
    idle(qtbot, opened)
    assert moved[-1] == 1
    assert opened.desk.opened.database.read("SELECT count(*) FROM attempt") == [(6,)]
    assert [table.item(row, 2).text() for row in range(3)] == ["● taken", "✕ refused", "✕ refused"]
    assert opened.message.text() == "1 file taken, 2 refused."
    take(qtbot, opened, [world.results[2]])
    assert "already" in texts(opened.exchange.detail)[0]


def test_board_shows_each_standing_by_shape_and_word(qtbot: QtBot, filled: ClubPage) -> None:
    board, model = filled.board, filled.board.model
    assert model.rowCount() == 3
    assert [model.data(model.index(row, 1), Qt.ItemDataRole.DisplayRole) for row in range(3)] == [
        "◐ in progress", "● ready", "● ready",
    ]  # fmt: skip
    assert model.data(model.index(2, 2), Qt.ItemDataRole.DisplayRole) == "▲ needs a briefing"
    spoken = model.data(model.index(2, 2), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken.startswith("Robin Vale, Lateral selection: needs a briefing, check found")
    assert model.headerData(2, Qt.Orientation.Vertical, Qt.ItemDataRole.DisplayRole) == "Robin Vale"
    expected = read_board(filled.desk.opened, SHIP, NOW)
    assert board.model.board.cells == expected.cells


def test_evidence_is_one_click_or_key_away(qtbot: QtBot, filled: ClubPage) -> None:
    filled.tabs.setCurrentWidget(filled.board)
    click_cell(qtbot, filled, 2, 2)
    shown = texts(filled.board.evidence)
    assert filled.board.reason.text() == "Robin Vale, Lateral selection"
    assert any("Misconception: Thinks" in line for line in shown)
    assert any("Sure and wrong: said course track" in line for line in shown)
    wrong = next(line for line in shown if line.startswith("✗"))
    assert "lateral active: said course track, read –" in wrong
    qtbot.keyClick(filled.board.table, Qt.Key.Key_Left)
    assert filled.board.reason.text() == "Robin Vale, Engaging and disengaging"
    assert texts(filled.board.evidence)[0].startswith("● ready: checked 2026-03-08")


def test_filters(qtbot: QtBot, filled: ClubPage) -> None:
    board = filled.board
    qtbot.keyClicks(board.name, "mar")
    assert board.model.rowCount() == 1
    board.name.clear()
    board.status.setCurrentIndex(board.status.findData("needs_briefing"))
    board.status.activated.emit(0)
    assert [one.name for one in board.model.board.members] == ["Robin Vale"]
    board.competency.setCurrentIndex(1)
    board.competency.activated.emit(1)
    assert board.model.rowCount() == 0
    assert board.counts.text().startswith("0 members")


def test_calls_changes_and_marking_as_seen(qtbot: QtBot, filled: ClubPage) -> None:
    board = filled.board
    assert texts(board.calls)[0].startswith("1. Robin Vale: needs a briefing: Lateral selection")
    assert any("not started → ● ready" in line for line in texts(board.changes))
    board.seen.click()
    idle(qtbot, filled)
    assert texts(board.changes) == ["Nothing since you last marked it."]
    assert not board.seen.isEnabled()


def test_briefing_changes_the_cell(qtbot: QtBot, filled: ClubPage) -> None:
    board = filled.board
    filled.tabs.setCurrentWidget(board)
    click_cell(qtbot, filled, 2, 2)
    board.brief.click()
    assert filled.message.text() == "The note is empty: write 1 to 2000 characters"
    qtbot.keyClicks(board.note, "Armed is not active.")
    board.brief.click()
    idle(qtbot, filled)
    index = board.model.index(2, 2)
    assert board.model.data(index, Qt.ItemDataRole.DisplayRole) == "◐ in progress"


def test_assignment_is_written_for_the_member(
    qtbot: QtBot, opened: ClubPage, tmp_path: Path
) -> None:
    view, target = opened.exchange, tmp_path / "robin.assignment.json"
    view.member.setCurrentIndex(view.member.findText("Robin Vale"))
    view.lessons.item(0).setCheckState(Qt.CheckState.Checked)
    assert [view.form.itemData(place) for place in range(view.form.count())] == ["A", "B", "C"]
    view.form.setCurrentIndex(view.form.findData("C"))
    opened.asker.files.append(target)
    view.issue.click()
    payload = read_packet(target.read_bytes(), "assignment").payload
    first = opened.desk.workspace.lessons()[0].id
    assert (payload["member"], payload["lessons"]) == ("Robin Vale", [first])
    assert payload["due_utc"] == "2026-03-31T23:59:59Z"
    assert payload["check_form"] == "C"


def own_ship(page: ClubPage, user: Path) -> None:
    """Put an aircraft that no program brings into the book, and choose it for Robin."""
    charts = page.desk.workspace.charts_folder
    amber = (charts / "installations" / "ship_amber.yaml").read_text("utf-8")
    path = user / "installations" / "ship_plover.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(amber.replace("id: ship_amber", "id: ship_plover"), "utf-8")
    page.desk.workspace = Workspace(user=user)
    page.desk.opened.set_aircraft(Aircraft("plover", "Ship Plover", "ship_plover", 1), [])
    view = page.exchange
    view.show_book()
    view.member.setCurrentIndex(view.member.findText("Robin Vale"))
    view.aircraft.setCurrentIndex(view.aircraft.findText("Ship Plover"))


def test_the_items_of_the_clubs_own_aircraft_are_found_first_and_go_with_the_assignment(
    qtbot: QtBot, opened: ClubPage, tmp_path: Path
) -> None:
    own_ship(opened, tmp_path / "user")
    made = replace(small_bank(), unexposed=())
    view, target, go = opened.exchange, tmp_path / "robin.assignment.json", threading.Event()
    qtbot.waitUntil(lambda: not view.reader.is_busy)

    def find(workspace: Workspace, name: str, tell: Any, _is_stopped: object) -> object:
        tell(BankNews(3.0, 0.25))
        assert go.wait(30)
        workspace._shelf.keep(workspace.installation_paths[name], made)
        return workspace.kept_bank(name)

    view.find = find
    opened.asker.files.append(target)
    view.issue.click()
    qtbot.waitUntil(lambda: "25% in 0:03" in view.wait.words.text())
    assert view.wait.bar.value() == view.wait.bar.maximum() // 4
    assert not view.issue.isEnabled()
    assert not target.exists()
    go.set()
    qtbot.waitUntil(target.exists)
    assert read_packet(target.read_bytes(), "assignment").payload["bank"]
    assert view.issue.isEnabled()
    assert view.wait.isHidden()


def test_who_stops_the_finding_of_items_writes_no_assignment(
    qtbot: QtBot, opened: ClubPage, tmp_path: Path
) -> None:
    own_ship(opened, tmp_path / "user")
    view, target, told = opened.exchange, tmp_path / "robin.assignment.json", []
    qtbot.waitUntil(lambda: not view.reader.is_busy)
    view.failed.connect(told.append)

    def find(_workspace: object, _name: str, tell: Any, is_stopped: Any) -> object:
        while not is_stopped():
            tell(BankNews(1.5, 0.5))
            threading.Event().wait(0.01)
        raise StoppedError("stopped: nothing was begun")

    view.find = find
    opened.asker.files.append(target)
    view.issue.click()
    qtbot.waitUntil(lambda: view.wait.bar.value() > 0)
    view.wait.stop.click()
    qtbot.waitUntil(lambda: bool(told))
    assert "stopped" in told[0]
    assert view.wait.isHidden()
    assert not target.exists()
    assert view.issue.isEnabled()


def test_book_card_shows_its_code(opened: ClubPage, tmp_path: Path) -> None:
    opened.asker.files.append(tmp_path / "club.card.json")
    opened.exchange.card.click()
    assert opened.exchange.code.text() == opened.desk.key.short_code


@pytest.mark.parametrize(("ending", "start"), [("pdf", b"%PDF"), ("html", b"<!doc")])
def test_reports_to_file(
    qtbot: QtBot, filled: ClubPage, tmp_path: Path, ending: str, start: bytes
) -> None:
    data = filled.data
    for kind in ("brief", "summary"):
        data.kind.setCurrentIndex(data.kind.findData(kind))
        data.kind.activated.emit(0)
        assert data.member.isEnabled() == (kind == "brief")
        target = tmp_path / f"{kind}.{ending}"
        filled.asker.files.append(target)
        data.report.click()
        idle(qtbot, filled)
        assert target.read_bytes()[: len(start)].lower() == start.lower()


def test_report_that_is_refused_says_why(qtbot: QtBot, filled: ClubPage, tmp_path: Path) -> None:
    data = filled.data
    data.kind.setCurrentIndex(data.kind.findData("certificate"))
    filled.asker.files.append(tmp_path / "record.pdf")
    data.report.click()
    idle(qtbot, filled)
    assert "has not completed" in filled.message.text()
    filled.asker.files.append(tmp_path / "record.docx")
    data.kind.setCurrentIndex(data.kind.findData("brief"))
    data.report.click()
    idle(qtbot, filled)
    assert ".docx" in filled.message.text()
    assert not list(tmp_path.glob("record.*"))


def test_quiz_on_paper(qtbot: QtBot, opened: ClubPage, tmp_path: Path) -> None:
    opened.asker.files.append(tmp_path / "quiz.txt")
    opened.data.quiz.click()
    idle(qtbot, opened)
    assert "Answer sheet" in (tmp_path / "quiz.txt").read_text("utf-8")


def test_quiz_has_the_strips_of_the_design_in_use(
    qtbot: QtBot, opened: ClubPage, tmp_path: Path, workspace: Workspace
) -> None:
    own = replace(DEFAULT_DESIGN, name="Mine", words={"no_guidance": "Nothing guides"})
    door = ClubDoor(tmp_path / "other", workspace, lambda: None)
    door.set_look(LIGHT, DEFAULT_DESIGN)
    qtbot.addWidget(door.club())
    door.set_look(LIGHT, own)
    assert door.page.desk.design == own
    opened.desk.design = own
    opened.asker.files.append(tmp_path / "quiz.html")
    opened.data.quiz.click()
    idle(qtbot, opened)
    assert "Nothing guides" in (tmp_path / "quiz.html").read_text("utf-8")


def test_export_and_deletion_of_a_member(qtbot: QtBot, filled: ClubPage, tmp_path: Path) -> None:
    data = filled.data
    data.person.setCurrentIndex(data.person.findText("Robin Vale"))
    filled.asker.files.append(tmp_path / "robin.json")
    data.export.click()
    idle(qtbot, filled)
    assert len(json.loads((tmp_path / "robin.json").read_text("utf-8"))["attempts"]) == 6
    filled.asker.says_yes = False
    data.delete.click()
    assert len(filled.desk.opened.members()) == 3
    filled.asker.says_yes = True
    data.delete.click()
    idle(qtbot, filled)
    assert [one.name for one in filled.desk.opened.members()] == ["Bo Hill", "Cleo Marsh"]
    assert filled.board.model.rowCount() == 2
    assert "in its backups" in filled.asker.asked[-1]


def test_retention(qtbot: QtBot, filled: ClubPage) -> None:
    assert filled.data.days.value() == 5 * 365
    filled.data.days.setValue(4)
    filled.data.retain.click()
    idle(qtbot, filled)
    assert "answers deleted" in filled.message.text()
    oldest = filled.desk.opened.database.read("SELECT min(at_utc) FROM attempt")[0][0]
    assert oldest >= "2026-03-06T12:00:00Z"


def test_backup_and_restore(qtbot: QtBot, opened: ClubPage, world: World) -> None:
    data = opened.data
    assert texts(data.backups) == ["club.2026-03-10.sqlite3"]
    data.restore.click()
    assert "Choose a backup" in opened.message.text()
    take(qtbot, opened, world.results)
    data.back_up.click()
    idle(qtbot, opened)
    assert "there already" in opened.message.text()
    data.backups.setCurrentRow(0)
    data.restore.click()
    idle(qtbot, opened)
    assert "Restored from club.2026-03-10.sqlite3" in opened.message.text()
    assert opened.desk.opened.database.read("SELECT count(*) FROM attempt") == [(0,)]
    assert list(world.folder.glob("club.sqlite3.replaced-*"))
    data.check.click()
    idle(qtbot, opened)
    assert "Every page is in order" in opened.message.text()


def test_a_spoilt_backup_leaves_the_book_open(qtbot: QtBot, opened: ClubPage) -> None:
    backup = opened.desk.opened.backups()[0]
    backup.write_bytes(b"spoilt")
    opened.data.backups.setCurrentRow(0)
    opened.data.restore.click()
    assert "choose another" in opened.message.text()
    assert len(opened.desk.opened.members()) == 3


def test_everything_that_can_be_worked_has_a_name(opened: ClubPage) -> None:
    kinds = (QAbstractButton, QComboBox, QLineEdit, QListWidget, QTableView)
    inner = ("qt_", "ScrollLeftButton", "ScrollRightButton")
    nameless = [
        widget
        for kind in kinds
        for widget in opened.findChildren(kind)
        if not (widget.accessibleName() or getattr(widget, "text", str)())
        and not widget.objectName().startswith(inner)
        and "combo" not in type(widget.parent()).__name__.lower()
        and type(widget).__name__ not in ("QCalendarView", "QToolButton")
        and type(widget.parent()).__name__ not in ("QTableWidget", "QTableView", "QComboBox")
    ]
    assert [(type(one).__name__, type(one.parent()).__name__) for one in nameless] == []


def test_page_fits_the_smallest_window(opened: ClubPage) -> None:
    assert opened.minimumSizeHint().width() <= 1180 - 12
    assert opened.minimumSizeHint().height() <= 680 - 80
    assert opened.mapTo(opened, QPoint(0, 0)) == QPoint(0, 0)
