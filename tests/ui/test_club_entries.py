"""What the lead enters in the roster, on the board and in an assignment; what is asked first."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.helpers.club import NOW, SHIP, ScriptedAsker, World, build_world, idle, world_in
from trainer.app import Workspace
from trainer.errors import TrainerError
from trainer.records.card import write_card
from trainer.records.club_book import ClubBook
from trainer.records.club_import import import_results
from trainer.records.signing import SigningKey
from trainer.ui.club.board_columns import SIDE_PX
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_page import ClubPage
from trainer.ui.look.theme import LIGHT, style_sheet


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    """The program's own charts and lessons."""
    return Workspace()


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory, workspace: Workspace) -> Path:
    """A folder with a club whose results are taken, made once."""
    world = build_world(tmp_path_factory.mktemp("club"), workspace)
    take_elsewhere(world)
    return world.folder


def take_elsewhere(world: World) -> None:
    """Take the members' results as another program would."""
    key = ClubDesk(world.folder, Workspace()).key.public_key
    with ClubBook.open(world.book_path) as book:
        done = import_results(book, world.results, key, NOW)
    assert not any(one.refusal for one in done)


@pytest.fixture
def page(qtbot: QtBot, tmp_path: Path, template: Path, workspace: Workspace) -> Iterator[ClubPage]:
    """The page, shown, with the club's book open."""
    shutil.copytree(template, tmp_path, dirs_exist_ok=True)
    made = ClubPage(ClubDesk(tmp_path, workspace, lambda: NOW))
    qtbot.addWidget(made)
    made.use_asker(ScriptedAsker())
    made.setStyleSheet(style_sheet(LIGHT))
    made.resize(1268, 720)
    with qtbot.waitExposed(made):
        made.show()
    made.open_book(world_in(tmp_path).book_path)
    idle(qtbot, made)
    yield made
    made.close_book()


@pytest.fixture
def aircraft_page(page: ClubPage) -> ClubPage:
    """The page with the aircraft of the roster in sight."""
    page.tabs.setCurrentWidget(page.roster)
    page.roster.tabs.setCurrentIndex(2)
    return page


def choose_installation(page: ClubPage, name: str) -> None:
    """Choose an installation as the mouse does."""
    place = page.roster.installation.findData(name)
    page.roster.installation.setCurrentIndex(place)
    page.roster.installation.activated.emit(place)


def fits(page: ClubPage) -> list[tuple[str, str, int]]:
    return [(one.title, one.installation_id, one.stage) for one in page.desk.opened.aircraft()]


def test_after_a_save_the_fields_are_those_of_a_new_aircraft(
    qtbot: QtBot, aircraft_page: ClubPage
) -> None:
    page, roster = aircraft_page, aircraft_page.roster
    assert roster.aircraft.item(0, 1).text() == page.desk.workspace.installation(SHIP).title
    roster.aircraft.selectRow(0)
    roster.next_stage.click()
    roster.valid_days.setValue(90)
    roster.save_aircraft.click()
    idle(qtbot, page)
    assert (roster.title.text(), roster.stage.value(), roster.valid_days.value()) == ("", 1, 365)
    assert page.message.text().startswith("Ship Amber, stage 2, is in the book.")
    choose_installation(page, "ship_slate")
    roster.save_aircraft.click()
    idle(qtbot, page)
    assert ("Ship Amber", SHIP, 2) in fits(page)
    assert ("ship_slate", 1) in [one[1:] for one in fits(page)]
    assert page.asker.asked == []


def test_an_aircraft_takes_the_place_of_another_only_if_the_lead_says_so(
    qtbot: QtBot, aircraft_page: ClubPage
) -> None:
    page, roster = aircraft_page, aircraft_page.roster
    before = fits(page)
    page.asker.says_yes = False
    roster.title.setText("Ship Amber")
    choose_installation(page, "ship_slate")
    roster.save_aircraft.click()
    (asked,) = page.asker.asked
    assert "at stage 1 would take its place, which is not its next stage, 2" in asked
    assert "cells that read 'ready' would expire or go" in asked
    assert page.message.text().startswith("Nothing was saved")
    assert fits(page) == before
    assert roster.title.text() == "Ship Amber"
    page.asker.says_yes = True
    roster.save_aircraft.click()
    idle(qtbot, page)
    assert fits(page) == [("Ship Amber", "ship_slate", 1)]


def test_a_stage_is_not_taken_back_without_a_question(
    qtbot: QtBot, aircraft_page: ClubPage
) -> None:
    page, roster = aircraft_page, aircraft_page.roster
    roster.next_stage.click()
    roster.save_aircraft.click()
    idle(qtbot, page)
    page.asker.says_yes = False
    roster.title.setText("Ship Amber")
    choose_installation(page, SHIP)
    roster.save_aircraft.click()
    assert "it would go back to stage 1" in page.asker.asked[0]
    assert fits(page) == [("Ship Amber", SHIP, 2)]


def test_two_new_aircraft_of_one_installation_are_two(
    qtbot: QtBot, aircraft_page: ClubPage
) -> None:
    page, roster = aircraft_page, aircraft_page.roster
    with ClubBook.open(page.desk.opened.path) as book:
        one = book.one_aircraft(SHIP)
        book.set_aircraft(type(one)("Twin", "Other words", SHIP, 1), book.requirements(SHIP))
    roster.title.setText("Twin")
    choose_installation(page, SHIP)
    roster.save_aircraft.click()
    idle(qtbot, page)
    assert [one[0] for one in fits(page)] == ["Other words", "Ship Amber", "Twin"]


def test_a_name_of_an_aircraft_is_seen_whole(aircraft_page: ClubPage) -> None:
    field = aircraft_page.roster.title
    needed = field.fontMetrics().horizontalAdvance("Ship Amber, stage one, of the club")
    assert needed <= field.width() - 24


def test_an_instructors_name_that_is_taken_is_told_in_words(page: ClubPage) -> None:
    page.roster.instructor_name.setText("Ada Reed")
    page.roster.add_instructor.click()
    assert page.message.text().startswith("Instructor 'Ada Reed' is in the book already")


def test_a_card_in_hand_stays_while_another_program_writes(page: ClubPage, tmp_path: Path) -> None:
    roster, key = page.roster, SigningKey.from_seed(b"N" * 32)
    (tmp_path / "x.card.json").write_bytes(write_card("member_card", "Bo Hill", NOW, key))
    page.tabs.setCurrentWidget(roster)
    roster.members.selectRow(0)
    page.asker.files.append(tmp_path / "x.card.json")
    roster.card.click()
    with ClubBook.open(page.desk.opened.path) as book:
        book.add_member("Abe North", NOW)
    page.read_again()
    assert roster.member is not None
    assert roster.member.name == "Bo Hill"
    assert roster.enrol.isEnabled()


def choose_cell(page: ClubPage, row: int, column: int) -> None:
    """Choose a cell of the board as the arrow keys do."""
    page.tabs.setCurrentWidget(page.board)
    page.board.table.setFocus()
    page.board.table.setCurrentIndex(page.board.model.index(row, column))


def shown(page: ClubPage, row: int, column: int) -> str:
    model = page.board.model
    return str(model.data(model.index(row, column), Qt.ItemDataRole.DisplayRole))


def evidence(page: ClubPage) -> list[str]:
    made = page.board.evidence
    return [made.item(place).text() for place in range(made.count())]


def test_an_empty_note_is_refused_in_words_and_a_briefing_told(
    qtbot: QtBot, page: ClubPage
) -> None:
    board = page.board
    choose_cell(page, 2, 2)
    board.brief.click()
    assert page.message.text() == "The note is empty: write 1 to 2000 characters"
    assert page.message.property("role") == "wrong"
    board.note.setText("Armed is not active.")
    board.brief.setFocus()
    board.brief.click()
    idle(qtbot, page)
    assert page.message.text() == ("The briefing of Robin Vale on 'Lateral selection' is recorded.")
    assert page.message.property("role") == "right"
    assert shown(page, 2, 2) == "◐ in progress"
    index = board.table.currentIndex()
    assert (index.row(), index.column()) == (2, 2)
    assert board.reason.text() == "Robin Vale, Lateral selection"
    assert evidence(page)[0].startswith("◐ in progress: briefed 2026-03-10")
    assert board.brief.hasFocus()


def test_focus_stays_on_the_board_when_the_cell_leaves_it(qtbot: QtBot, page: ClubPage) -> None:
    board = page.board
    board.status.setCurrentIndex(board.status.findData("needs_briefing"))
    board.status.activated.emit(0)
    choose_cell(page, 0, 2)
    board.note.setText("Armed is not active.")
    board.brief.setFocus()
    board.brief.click()
    idle(qtbot, page)
    assert board.model.rowCount() == 0
    assert board.table.hasFocus()


def test_marking_as_seen_is_told_and_the_tab_stays(qtbot: QtBot, page: ClubPage) -> None:
    choose_cell(page, 2, 2)
    page.board.side.setCurrentIndex(2)
    page.board.seen.setFocus()
    page.board.seen.click()
    idle(qtbot, page)
    assert page.board.side.currentIndex() == 2
    assert page.board.changes.hasFocus()
    assert page.message.text() == "What changed is counted from now on."


def test_what_was_said_on_a_page_does_not_follow_to_the_next(page: ClubPage) -> None:
    choose_cell(page, 2, 2)
    page.board.brief.click()
    assert page.message.text()
    page.tabs.setCurrentWidget(page.roster)
    assert page.message.text() == ""


@pytest.mark.parametrize("way", ["shown", "activated"])
def test_what_another_program_took_is_on_the_board_when_one_comes_back(
    qtbot: QtBot, page: ClubPage, way: str
) -> None:
    choose_cell(page, 1, 1)
    member = page.desk.opened.member_named("Cleo Marsh")
    if way == "shown":
        page.hide()
    with ClubBook.open(page.desk.opened.path) as book:
        book.set_active(member.id, is_active=False)
        book.add_member("Abe North", NOW)
    assert page.board.model.rowCount() == 3
    if way == "shown":
        page.show()
    else:
        QApplication.sendEvent(page, QEvent(QEvent.Type.WindowActivate))
    idle(qtbot, page)
    assert page.board.model.rowCount() == 2
    assert page.roster.members.item(0, 0).text() == "Abe North"


def test_an_installation_made_meanwhile_is_offered(
    page: ClubPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace = page.desk.workspace
    page.roster.title.setText("Half typed")
    page.hide()
    made = {**workspace.installations, "own": workspace.installation(SHIP)}
    monkeypatch.setitem(workspace.__dict__, "installations", made)
    page.show()
    assert page.roster.installation.findData("own") >= 0
    assert page.roster.title.text() == "Half typed"


def test_coming_back_to_an_unchanged_book_reads_nothing(qtbot: QtBot, page: ClubPage) -> None:
    asked: list[str] = []
    page.board.aircraft_asked.connect(asked.append)
    page.hide()
    page.show()
    idle(qtbot, page)
    assert asked == []


def test_changed_rules_are_told_by_their_sentences(
    qtbot: QtBot, page: ClubPage, workspace: Workspace
) -> None:
    book = page.desk.opened
    (one,) = book.aircraft()
    fit = workspace.installation("ship_amber_stage_two")
    book.set_aircraft(
        replace(one, installation_id=fit.id, stage=2), workspace.requirements(fit.id, 365)
    )
    first, *others = book.requirements(one.id)
    rules = {**first.rules, "a_rule_of_old": "x"}
    book.set_aircraft(book.one_aircraft(one.id), [replace(first, rules=rules), *others])
    page.board.show_book()
    idle(qtbot, page)
    choose_cell(page, 1, 1)
    assert shown(page, 1, 1) == "✕ expired"
    lines = evidence(page)
    assert "changed, new or gone" in lines[0]
    assert "Not as at the check: a rule of old" in lines
    sentences = {rule.because for rule in fit.chart.rules.values()}
    known = set(page.desk.rule_words(fit.id, first.rules))
    assert known & sentences
    assert not any("_" in line for line in lines)


def test_headings_are_whole_and_columns_as_narrow_as_their_words(page: ClubPage) -> None:
    table, head = page.board.table, page.board.head
    whole = 0
    for column in range(1, page.board.model.columnCount()):
        words = page.board.model.headerData(
            column, Qt.Orientation.Horizontal, Qt.ItemDataRole.DisplayRole
        )
        room = QRect(0, 0, head.sectionSize(column) - 2 * SIDE_PX, 1000)
        needed = head.head_metrics().boundingRect(room, Qt.TextFlag.TextWordWrap, str(words))
        assert needed.height() <= head.height()
        assert needed.width() <= room.width()
        cell = table.visualRect(page.board.model.index(0, column))
        whole += cell.right() <= table.viewport().width()
    assert whole >= 6


def test_lines_of_evidence_are_whole_at_every_width(page: ClubPage) -> None:
    made = page.board.evidence
    made.clear()
    made.addItem("ready: checked 2026-03-08 on 2 answers, valid to 2027-03-08, and so on")
    metrics = made.fontMetrics()
    page.board.side.setCurrentIndex(0)
    page.tabs.setCurrentWidget(page.board)
    for width in range(320, 620, 3):
        made.setFixedWidth(width)
        QApplication.processEvents()
        place = made.visualItemRect(made.item(0))
        room = QRect(0, 0, place.width() - 20 - 4, 1000)
        needed = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, made.item(0).text())
        assert place.height() >= needed.height() + 16, width


def test_an_assignment_offers_the_clubs_forms_and_refuses_others(
    page: ClubPage, tmp_path: Path
) -> None:
    form = page.exchange.form
    plans = page.desk.workspace.check_plans()
    assert [form.itemText(place) for place in range(form.count())] == [
        f"{name}  {one.title}" for name, one in plans.items()
    ]
    member = page.desk.opened.member_named("Robin Vale").id
    for lessons, asked in (([], "Z"), (["nolesson"], "A")):
        with pytest.raises(TrainerError, match="accepted: "):
            page.desk.issue(
                member, SHIP, tmp_path / "x.json",
                lessons=lessons, form=asked, seed=1, due_day="2026-03-31",
            )  # fmt: skip
    assert not (tmp_path / "x.json").exists()
