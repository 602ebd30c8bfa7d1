"""The member's exchange: key and card, assignment, result, own records; and the way to it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from tests.helpers.club import NOW, SHIP, ScriptedAsker, build_attempt, idle
from trainer.app import Workspace
from trainer.records.card import enrol_member, read_card
from trainer.records.club_book import ClubBook
from trainer.records.club_import import preview_result
from trainer.records.roster import Aircraft, Requirement
from trainer.records.store import FILE_NAME, Store
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.exchange_page import ExchangePage
from trainer.ui.club.member_exchange import MemberExchange
from trainer.ui.window.main_window import MainWindow

ME = "Robin Vale"
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def lead(tmp_path: Path) -> Iterator[ClubDesk]:
    """A lead with a book of one aircraft and one member."""
    desk = ClubDesk(tmp_path / "lead", Workspace(user=tmp_path / "lead"), lambda: NOW)
    desk.make(tmp_path / "lead" / "club.sqlite3", "Meadow Flying Club")
    desk.opened.set_aircraft(
        Aircraft(SHIP, "Ship Amber", SHIP, 1), [Requirement("one", "One", 365, {"rule": "aa"})]
    )
    desk.add_member(ME, [SHIP])
    yield desk
    desk.close()


@pytest.fixture
def page(qtbot: QtBot, tmp_path: Path) -> Iterator[ExchangePage]:
    """The page of a member with four answers."""
    folder = tmp_path / "member"
    with Store.open(folder / FILE_NAME) as store:
        for number in range(4):
            store.add(build_attempt(ME, number, "rule"))
    made = ExchangePage(MemberExchange(folder, lambda: NOW))
    qtbot.addWidget(made)
    made.asker = ScriptedAsker()
    made.resize(1240, 700)
    made.show_member(ME)
    with qtbot.waitExposed(made):
        made.show()
    yield made
    made.close_records()


def acquaint(page: ExchangePage, lead: ClubDesk, folder: Path) -> None:
    """Exchange cards and codes both ways."""
    page.asker.files.append(folder / "me.card.json")
    page.own_card.click()
    card = read_card((folder / "me.card.json").read_bytes(), "member_card")
    enrol_member(lead.opened, lead.opened.member_named(ME).id, card, page.own_code.text())
    code = lead.write_book_card(folder / "club.card.json")
    page.asker.files.append(folder / "club.card.json")
    page.book_card.click()
    page.code.setText(code)
    page.trust.click()


def issue(lead: ClubDesk, target: Path) -> None:
    """Write an assignment for the member."""
    lead.issue(
        lead.opened.member_named(ME).id, SHIP, target,
        lessons=["01-first-flight"], form="A", seed=7, due_day="2026-03-31",
    )  # fmt: skip


def test_code_is_shown_once_the_key_is_made(page: ExchangePage, tmp_path: Path) -> None:
    assert page.own_code.text() == ""
    page.asker.files.append(None)
    page.own_card.click()
    assert page.own_code.text() == ""
    page.asker.files.append(tmp_path / "me.card.json")
    page.own_card.click()
    card = read_card((tmp_path / "me.card.json").read_bytes(), "member_card")
    assert (card.name, card.short_code) == (ME, page.own_code.text())


def test_club_is_trusted_only_by_the_code_heard(
    qtbot: QtBot, page: ExchangePage, lead: ClubDesk, tmp_path: Path
) -> None:
    code = lead.write_book_card(tmp_path / "club.card.json")
    page.asker.files.append(tmp_path / "club.card.json")
    qtbot.mouseClick(page.book_card, LEFT)
    qtbot.keyClicks(page.code, "0000 0000 0000 0000")
    qtbot.keyClick(page.code, Qt.Key.Key_Return)
    assert "code heard is not that of this card" in page.message.text()
    assert page.clubs.item(0).text() == "No club is trusted yet."
    page.code.clear()
    qtbot.keyClicks(page.code, code.replace("-", " ").lower())
    qtbot.keyClick(page.code, Qt.Key.Key_Return)
    assert page.clubs.item(0).text() == f"Meadow Flying Club ({code})"


def test_assignment_is_shown_before_it_is_taken(
    page: ExchangePage, lead: ClubDesk, tmp_path: Path
) -> None:
    acquaint(page, lead, tmp_path)
    issue(lead, tmp_path / "t.assignment.json")
    page.asker.files.append(tmp_path / "t.assignment.json")
    page.look.click()
    shown = [page.asked.item(place).text() for place in range(page.asked.count())]
    assert "lessons: 01-first-flight" in shown
    assert page.assignments.rowCount() == 0
    page.take.click()
    assert page.assignments.item(0, 1).text() == "Meadow Flying Club"
    page.asker.files.append(tmp_path / "t.assignment.json")
    page.look.click()
    assert "taken already" in page.message.text()
    assert not page.take.isEnabled()


def test_assignment_of_a_stranger_is_refused(
    page: ExchangePage, lead: ClubDesk, tmp_path: Path
) -> None:
    acquaint(page, lead, tmp_path)
    issue(lead, tmp_path / "t.assignment.json")
    data = (tmp_path / "t.assignment.json").read_text("utf-8").replace("2026-03-31", "2026-05-31")
    (tmp_path / "t.assignment.json").write_text(data, "utf-8")
    page.asker.files.append(tmp_path / "t.assignment.json")
    page.look.click()
    assert page.message.property("role") == "wrong"
    assert page.assignments.rowCount() == 0


def test_result_is_written_and_the_lead_can_take_it(
    qtbot: QtBot, page: ExchangePage, lead: ClubDesk, tmp_path: Path
) -> None:
    assert not page.result.isEnabled()
    acquaint(page, lead, tmp_path)
    issue(lead, tmp_path / "t.assignment.json")
    page.asker.files.append(tmp_path / "t.assignment.json")
    page.look.click()
    page.take.click()
    page.asker.files.append(tmp_path / "r.result.json")
    qtbot.mouseClick(page.result, LEFT)
    idle(qtbot, page)
    data = (tmp_path / "r.result.json").read_bytes()
    preview = preview_result(lead.opened, data, lead.key.public_key, NOW)
    assert (preview.member.name, len(preview.attempts)) == (ME, 4)
    assert preview.result.assignment_id is not None
    page.answers.setCurrentIndex(page.answers.findData(""))
    page.answers.activated.emit(0)
    assert page.club.isEnabled()


def test_result_that_cannot_be_written_says_so(
    qtbot: QtBot, page: ExchangePage, lead: ClubDesk, tmp_path: Path
) -> None:
    acquaint(page, lead, tmp_path)
    page.asker.files.append(tmp_path / "none" / "r.result.json")
    page.result.click()
    idle(qtbot, page)
    assert "can't be written" in page.message.text()


def test_own_records_backup_export_delete_restore(
    qtbot: QtBot, page: ExchangePage, tmp_path: Path
) -> None:
    path = tmp_path / "member" / FILE_NAME
    assert not page.restore.isEnabled()
    page.back_up.click()
    idle(qtbot, page)
    assert page.backups.count() == 1
    page.asker.files.append(tmp_path / "mine.json")
    page.export.click()
    idle(qtbot, page)
    assert len(json.loads((tmp_path / "mine.json").read_text("utf-8"))["attempts"]) == 4
    with Store.open(path) as store:
        store.add(build_attempt(ME, 9, "rule"))
    with qtbot.waitSignal(page.records_moved):
        page.restore.click()
    idle(qtbot, page)
    with Store.open(path) as store:
        assert len(store.attempts(ME)) == 4
    page.asker.says_yes = False
    page.delete.click()
    page.asker.says_yes = True
    assert "in the backups too" in page.asker.asked[-1]
    page.delete.click()
    idle(qtbot, page)
    assert "4 answers deleted" in page.message.text()
    with Store.open(path) as store:
        assert store.attempts(ME) == []


def test_damaged_file_is_offered_for_recovery(
    qtbot: QtBot, page: ExchangePage, tmp_path: Path
) -> None:
    page.back_up.click()
    idle(qtbot, page)
    assert not page.recover.isVisible()
    (tmp_path / "member" / FILE_NAME).write_bytes(b"\xff" * 8192)
    page.show_member(ME)
    assert "damaged" in page.message.text()
    with qtbot.waitSignal(page.records_moved):
        page.recover.click()
    idle(qtbot, page)
    assert page.message.text().startswith("Recovered from attempts.2026-03-10.sqlite3")
    assert not page.recover.isVisible()
    with Store.open(tmp_path / "member" / FILE_NAME) as store:
        assert len(store.attempts(ME)) == 4


def test_window_leads_to_both_pages(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    window.load()
    qtbot.keyClick(window, Qt.Key.Key_F11)
    club = window.desk.club.page
    assert window.pages.currentWidget() is club
    club.use_asker(ScriptedAsker([tmp_path / "club.sqlite3"]))
    club.club_name.setFocus()
    qtbot.keyClicks(club.club_name, "Meadow Flying Club")
    qtbot.keyClick(club.club_name, Qt.Key.Key_Return)
    idle(qtbot, club)
    assert (tmp_path / "club.sqlite3").exists()
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is window.chooser
    qtbot.keyClick(window, Qt.Key.Key_F4)
    qtbot.mouseClick(window.desk.attempts.exchange, LEFT)
    assert window.pages.currentWidget() is window.desk.club.exchange
    qtbot.mouseClick(window.desk.club.exchange.back, LEFT)
    assert window.pages.currentWidget() is window.chooser
    window.close()
    assert club.desk.book is None
    with ClubBook.open(tmp_path / "club.sqlite3") as book:
        assert book.club_name == "Meadow Flying Club"
