"""The instructor looks at what a member's answers point to, with the answers behind it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from tests.helpers.believers import answers_under, most_exposed
from tests.helpers.check_window import known_bank
from tests.helpers.club import NOW, ScriptedAsker, idle
from tests.helpers.small_bank import SHIP
from trainer.app import Workspace
from trainer.records.attempt import Attempt
from trainer.records.card import enrol_member, read_card, trust_book, write_card
from trainer.records.club_book import ClubBook
from trainer.records.club_import import apply_result, preview_result
from trainer.records.result import write_result
from trainer.records.roster import Aircraft
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.records.store import Store
from trainer.ui.check.check_belief_words import ASK, NO_ANSWERS
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_page import ClubPage

LEFT = Qt.MouseButton.LeftButton
CLUB = "Meadow Flying Club"
HOLDER, SOUND, SILENT = "Bo Hill", "Cleo Marsh", "Robin Vale"


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """The program's own charts, with the small bank known."""
    made = Workspace(user=tmp_path / "user")
    made._banks[SHIP] = known_bank()
    return made


@pytest.fixture
def page(qtbot: QtBot, tmp_path: Path, workspace: Workspace) -> Iterator[ClubPage]:
    """The page with a book of three members, two of whom have handed in answers."""
    key = SigningKey.load_or_make(tmp_path / CLUB_KEY_FILE)
    path = tmp_path / "club.sqlite3"
    with ClubBook.open(path, CLUB) as book:
        book.set_aircraft(Aircraft(SHIP, "Ship Amber", SHIP, 1), workspace.requirements(SHIP, 365))
        for number, name in enumerate((HOLDER, SOUND, SILENT)):
            rule = most_exposed() if name == HOLDER else ""
            answers = [] if name == SILENT else answers_under(rule, name)
            own = SigningKey.from_seed(bytes([number + 1]) * 32)
            enter(book, name, own)
            if answers:
                hand_in(tmp_path / name, book, key, own, answers)
    made = ClubPage(ClubDesk(tmp_path, workspace, lambda: NOW))
    qtbot.addWidget(made)
    made.use_asker(ScriptedAsker())
    made.resize(1240, 700)
    with qtbot.waitExposed(made):
        made.show()
    made.open_book(path)
    idle(qtbot, made)
    made.tabs.setCurrentWidget(made.beliefs)
    yield made
    made.close_book()


def enter(book: ClubBook, name: str, own: SigningKey) -> None:
    """Enter a member with a key."""
    member = book.add_member(name, NOW)
    book.put_on_aircraft(member.id, SHIP)
    card = read_card(write_card("member_card", name, NOW, own), "member_card")
    enrol_member(book, member.id, card, own.short_code)


def hand_in(
    folder: Path, book: ClubBook, key: SigningKey, own: SigningKey, answers: list[Attempt]
) -> None:
    """Take a member's answers into a book, by the exchange."""
    with Store.open(folder / "attempts.sqlite3") as store:
        card = read_card(write_card("book_card", CLUB, NOW, key), "book_card")
        trust_book(store, card, key.short_code, NOW)
        for one in answers:
            store.add(one)
        data = write_result(
            store, own, answers[0].member, book_key=key.public_key, assignment_id=None,
            made_utc=NOW, program_version="0.1.0",
        )  # fmt: skip
    apply_result(book, preview_result(book, data, key.public_key, NOW), NOW)


def look(qtbot: QtBot, page: ClubPage, name: str) -> None:
    """Choose a member and look at the answers."""
    view = page.beliefs
    view.member.setCurrentIndex(view.member.findText(name))
    view.member.activated.emit(view.member.currentIndex())
    qtbot.mouseClick(view.look, LEFT)
    idle(qtbot, page)


def test_it_asks_first_and_shows_nobody(page: ClubPage) -> None:
    assert page.beliefs.verdict.text() == ASK
    assert not page.beliefs.findings.isVisible()
    assert not page.beliefs.side.isVisible()


def test_a_held_rule_is_shown_with_the_answers_and_the_lesson(
    qtbot: QtBot, page: ClubPage, workspace: Workspace
) -> None:
    look(qtbot, page, HOLDER)
    view, held = page.beliefs, workspace.library(SHIP).misconceptions[most_exposed()]
    assert view.verdict.text().startswith(f"{HOLDER}: After ")
    assert view.findings.item(0, 0).text() == "✗ Held"
    rules = {view.findings.item(n, 2).text(): n for n in range(view.findings.rowCount())}
    assert held.sentence in rules
    view.findings.selectRow(rules[held.sentence])
    assert view.sentence.text() == held.sentence
    assert "Probability" in view.advice.text()
    if held.lesson:
        assert "The lesson that shows it: " in view.advice.text()
    assert view.answers.rowCount() >= 2
    assert ": said " in view.detail.text()
    assert ", read " in view.detail.text()
    first = view.detail.text()
    view.answers.selectRow(1)
    assert view.detail.text() != first
    assert "sure: " in view.calibration.text()


def test_sure_and_wrong_answers_can_be_looked_at(qtbot: QtBot, page: ClubPage) -> None:
    look(qtbot, page, HOLDER)
    view = page.beliefs
    kinds = [view.findings.item(n, 0).text() for n in range(view.findings.rowCount())]
    view.findings.selectRow(kinds.index("Sure and wrong"))
    wrong = sum(not one.is_right for one in answers_under(most_exposed(), HOLDER))
    assert view.answers.rowCount() == wrong
    assert view.findings.item(kinds.index("All wrong"), 1).text() == str(wrong)


def test_somebody_sound_is_not_accused(qtbot: QtBot, page: ClubPage, workspace: Workspace) -> None:
    look(qtbot, page, SOUND)
    view = page.beliefs
    kinds = [view.findings.item(n, 0).text() for n in range(view.findings.rowCount())]
    assert kinds == ["Sure and wrong", "All wrong"]
    # Of the library the small bank shows some rules only: nobody is cleared of the others.
    listed = len(workspace.library(SHIP).beliefs)
    assert "Nothing can be said for certain yet" in view.verdict.text()
    assert (
        f"of the {listed} wrong rules that the program looks for are ruled out"
        in view.verdict.text()
    )
    assert view.detail.text() == "None."


def test_no_answers_say_what_to_do(qtbot: QtBot, page: ClubPage) -> None:
    look(qtbot, page, SILENT)
    assert page.beliefs.verdict.text() == NO_ANSWERS
    assert not page.beliefs.findings.isVisible()


def test_another_member_shows_nothing_of_the_one_before(qtbot: QtBot, page: ClubPage) -> None:
    look(qtbot, page, HOLDER)
    view = page.beliefs
    view.member.setCurrentIndex(view.member.findText(SOUND))
    view.member.activated.emit(view.member.currentIndex())
    assert view.verdict.text() == ASK
    assert view.findings.rowCount() == 0
    assert not view.side.isVisible()


def test_it_works_by_keyboard(qtbot: QtBot, page: ClubPage) -> None:
    view = page.beliefs
    view.member.setFocus()
    qtbot.keyClick(view.member, Qt.Key.Key_Home)
    qtbot.keyClick(view.member, Qt.Key.Key_Tab)
    qtbot.keyClick(view.look, Qt.Key.Key_Space)
    idle(qtbot, page)
    assert view.findings.rowCount() > 2
    view.findings.setFocus()
    before = view.sentence.text()
    qtbot.keyClick(view.findings, Qt.Key.Key_Down)
    assert view.sentence.text() != before
