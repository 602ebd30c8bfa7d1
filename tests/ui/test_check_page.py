"""The club's check in the window: who, what for, item after item on a quiet screen, the outcome."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.helpers.check_window import (
    ME,
    answer,
    answer_all,
    asked,
    at_item,
    begin,
    choose,
    kept,
    open_window,
    wait,
    wrong_strip,
)
from tests.helpers.club import NOW, ScriptedAsker, build_attempt
from tests.helpers.small_bank import SHIP, small_bank, without_shipped
from trainer.app import Workspace
from trainer.assessment.check.check_plan_file import load_check_plans
from trainer.assessment.check.plan_rates import plan_rates, rates_words
from trainer.errors import StoppedError, TrainerError
from trainer.records.assignment import (
    Assignment,
    AssignmentPreview,
    issue_assignment,
    preview_assignment,
    take_assignment,
)
from trainer.records.board_query import cell_evidence, read_board
from trainer.records.card import enrol_member, read_card, trust_book, write_card
from trainer.records.check_sitting import ENDED_WITHOUT, end_sitting, sittings
from trainer.records.club_book import ClubBook
from trainer.records.club_import import apply_result, preview_result
from trainer.records.error import RecordsError
from trainer.records.result import outcomes
from trainer.records.roster import Aircraft
from trainer.records.signing import MEMBER_KEY_FILE, SigningKey
from trainer.records.store import FILE_NAME, Store
from trainer.ui.check import check_bank_worker
from trainer.ui.check.check_bank_worker import BankNews, compute_bank
from trainer.ui.check.check_intro import CheckIntro
from trainer.ui.club.member_exchange import MemberExchange
from trainer.ui.strip.design_edit import with_word
from trainer.ui.window.main_window import MainWindow

LEFT = Qt.MouseButton.LeftButton
CLUB = "Meadow Flying Club"


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window whose items of one ship are known."""
    made = open_window(qtbot, tmp_path / "data")
    yield made
    made.close()


def user(window: MainWindow) -> Path:
    return window.desk.workspace.user_folder


def said(widget: QWidget) -> str:
    """Return all words that a page shows."""
    parts = [w for w in widget.findChildren(QWidget) if isinstance(w, QLabel | QPushButton)]
    return "\n".join(one.text() for one in parts if one.isVisible())


# --- who answers, and what for ------------------------------------------------------------------


def test_nothing_begins_before_somebody_has_said_who_they_are(
    qtbot: QtBot, window: MainWindow
) -> None:
    intro = choose(window)
    intro.member.setText(ME)
    assert intro.confirm.text() == f"I am {ME}, and I answer alone"
    assert not intro.begin.isEnabled()
    qtbot.keyClick(window, Qt.Key.Key_Return)
    assert "Confirm who you are" in intro.message.text()
    assert intro.confirm.hasFocus()
    intro.confirm.setChecked(True)
    assert intro.begin.isEnabled()
    intro.member.setText("Bo Hill")
    assert not intro.begin.isEnabled()
    intro.member.setText(" ")
    intro.confirm.setChecked(True)
    assert not intro.begin.isEnabled()


def test_the_page_says_what_a_check_is_and_how_each_form_decides(window: MainWindow) -> None:
    intro = choose(window)
    assert "no examination for a licence" in said(intro)
    assert "at least 4 must be right" in intro.plan.text()
    assert "Six are enough here." in intro.plan.text()
    intro.form.setCurrentIndex(intro.form.findData("A"))
    assert "4 to 8 items" in intro.plan.text()
    # Eight items can't keep what is declared: what they come to is told.
    plan = load_check_plans(user(window) / "check_plans.yaml")["A"].plan
    assert plan_rates(plan).false_pass > plan.rates.alpha
    assert rates_words(plan) in intro.plan.text()


def take(window: MainWindow, *, form: str = "B", seed: int = 7) -> Assignment:
    """Put an assignment of a club into the file of answers, as the exchange does."""
    folder = user(window)
    lead, own = SigningKey.from_seed(bytes(32)), SigningKey.load_or_make(folder / MEMBER_KEY_FILE)
    book_path = folder / "lead" / "club.sqlite3"
    with ClubBook.open(book_path, CLUB) as book, Store.open(folder / FILE_NAME) as store:
        if not book.members():
            required = window.desk.workspace.requirements(SHIP, 365)
            book.set_aircraft(Aircraft(SHIP, "Ship Amber", SHIP, 1), required)
            member = book.add_member("R. Vale", NOW)
            card = read_card(write_card("member_card", "R. Vale", NOW, own), "member_card")
            enrol_member(book, member.id, card, own.short_code)
            club = read_card(write_card("book_card", CLUB, NOW, lead), "book_card")
            trust_book(store, club, lead.short_code, NOW)
        data = issue_assignment(
            book, lead, book.members()[0].id, SHIP, lessons=(), check_form=form, check_seed=seed,
            issued_utc=NOW, due_utc="2027-03-10T12:00:00Z",
        )  # fmt: skip
        seen: AssignmentPreview = preview_assignment(store, data, own.public_key, NOW)
        take_assignment(store, seen, NOW)
    return seen.assignment


def test_an_assignment_fixes_name_and_form_as_the_club_has_them(
    qtbot: QtBot, window: MainWindow
) -> None:
    take(window)
    intro = choose(window, CLUB)
    assert intro.member.text() == "R. Vale"
    assert intro.member.isReadOnly()
    assert not intro.form.isEnabled()
    assert intro.form.currentData() == "B"
    assert intro.confirm.text() == f"I am R. Vale, as on the roster of {CLUB}, and I answer alone"
    intro.confirm.setChecked(True)
    intro.begin.click()
    at_item(qtbot, window)
    assert window.preferences.member == "R. Vale"


def test_an_assignment_of_an_unknown_form_is_told(window: MainWindow) -> None:
    take(window, form="Z")
    intro = choose(window, CLUB)
    assert "form 'Z', which this program hasn't got" in intro.plan.text()
    intro.confirm.setChecked(True)
    intro.begin.click()
    QApplication.processEvents()


def test_an_assignment_is_answered_once(qtbot: QtBot, window: MainWindow) -> None:
    take(window)
    intro = choose(window, CLUB)
    intro.confirm.setChecked(True)
    intro.begin.click()
    door = at_item(qtbot, window)
    answer(door)
    door.stop()
    door.asker = ScriptedAsker()
    intro.drop.click()
    assert "answered once only" in door.asker.asked[0]
    assert "R. Vale" in door.asker.asked[0]
    assert not any(CLUB in intro.purpose.itemText(n) for n in range(intro.purpose.count()))
    assert not intro.resume.isEnabled()
    with Store.open(user(window) / FILE_NAME) as store:
        assert outcomes(store, "R. Vale") == []


def test_the_result_goes_to_the_board_by_the_exchange(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    assignment = take(window)
    intro = choose(window, CLUB)
    intro.confirm.setChecked(True)
    intro.begin.click()
    at_item(qtbot, window)
    answer_all(qtbot, window)
    exchange = MemberExchange(user(window))
    exchange.member = "R. Vale"
    exchange.write_result(tmp_path / "r.json", None, assignment.id)
    with ClubBook.open(user(window) / "lead" / "club.sqlite3", CLUB) as book:
        lead = SigningKey.from_seed(bytes(32))
        now = window.desk.rooms.check_door.desk.now()
        data = (tmp_path / "r.json").read_bytes()
        apply_result(book, preview_result(book, data, lead.public_key, now), now)
        board = read_board(book, SHIP, now)
        cells = [board.cell(board.members[0].id, one.competency_id) for one in board.requirements]
        assert "ready" in {one.status for one in cells}
        found = next(one for one in cells if one.status == "ready")
        evidence = cell_evidence(book, found.outcome_id)
        assert evidence.attempts
        assert all(one.check_id for one in evidence.attempts)


# --- a quiet screen -----------------------------------------------------------------------------


def test_an_item_is_a_flown_situation_with_the_strip_and_the_views(
    qtbot: QtBot, window: MainWindow
) -> None:
    door = begin(qtbot, window)
    page, item = door.item.page, door.item.taken.item
    assert page.strip.annunciation == item.before
    assert page.lesson.title.text() == "Item 1 of 6"
    # Units don't break over two lines: a word joiner stands in them.
    assert item.situation.words in page.lesson.narration.text().replace("\u2060", "")
    assert page.lesson.question.text().endswith("?")
    for part in (page.strip, page.builder, page.plan, page.profile, page.attitude, page.numbers):
        assert part.isVisible()
    assert not page.controls.is_acting


def test_the_member_s_own_strip_design_is_used(qtbot: QtBot, window: MainWindow) -> None:
    own = with_word(window.design, "heading_select", "Turn")
    door = begin(qtbot, window)
    window.use_design(own)
    assert door.item.page.builder.strip.design == own
    door.stop()
    door.intro.resume.click()
    at_item(qtbot, window)
    words = door.item.page.builder.draft.words
    assert words.content("lateral_active", "heading_select") == "Turn"


def test_the_screen_is_quiet_and_helps_nobody(qtbot: QtBot, window: MainWindow) -> None:
    window.desk.show_help()
    window.desk.aircraft.show_statechart()
    door = begin(qtbot, window)
    window.activateWindow()
    QApplication.processEvents()
    assert not window.desk.help.isVisible()
    assert not window.desk.aircraft.window.isVisible()
    assert not window.top.isVisible()
    modifier = Qt.KeyboardModifier.ControlModifier
    for key in (Qt.Key.Key_F1, Qt.Key.Key_F2, Qt.Key.Key_F4, Qt.Key.Key_F9):
        qtbot.keyClick(window, key)
    for key in (Qt.Key.Key_K, Qt.Key.Key_L, Qt.Key.Key_D, Qt.Key.Key_T, Qt.Key.Key_I):
        qtbot.keyClick(window, key, modifier)
    assert window.pages.currentWidget() is door.item
    assert not window.desk.help.isVisible()
    assert not window.desk.aircraft.window.isVisible()
    door.stop()
    assert window.top.isVisible()
    qtbot.keyClick(window, Qt.Key.Key_F4)
    assert window.pages.currentWidget() is window.desk.attempts


def test_a_wrong_answer_looks_like_a_right_one(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    answer(door, right=True)
    hint = "Left and right move"  # the keys of the strip, the same after every answer
    after_right = said(window).replace(hint, "")
    answer(door, right=False)
    after_wrong = said(window).replace(hint, "")
    for words in ("right", "wrong", "not so", "Why", "correct"):
        assert words not in after_right.replace("60 % right", "")
        assert words not in after_wrong
    assert not door.item.page.said.isVisible()
    assert door.item.page.lesson.title.text() == "Item 3 of 6"
    assert set(door.item.page.builder.draft.cells) == set()


def test_the_time_is_shown_and_ends_nothing(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    door.item._began_s -= 3600.0
    door.item._show_time()
    assert re.fullmatch(r"Item 60:\d\d   Check 60:\d\d", door.item.clock.text())
    answer(door)
    assert kept(user(window))[0].taken_s == pytest.approx(3600.0, abs=60.0)
    assert re.fullmatch(r"Item 0:\d\d   Check 60:\d\d", door.item.clock.text())


# --- nothing is lost ----------------------------------------------------------------------------


def test_each_answer_is_on_the_disk_before_the_next_item(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    for number in range(1, 4):
        item = answer(door, right=number != 2)
        found = kept(user(window))
        assert len(found) == number
        assert (found[-1].item_id, found[-1].is_right) == (item, number != 2)
        assert asked(door) not in {one.item_id for one in found}


def test_an_answer_that_cannot_be_kept_is_asked_again(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    door = begin(qtbot, window)
    item = asked(door)
    store = window.desk.recorder.opened()
    real = store.database.write

    def refuse() -> object:
        raise RecordsError(store.path, "the disk is full")

    monkeypatch.setattr(store.database, "write", refuse)
    answer(door)
    assert "the disk is full" in door.item.message.text()
    assert asked(door) == item
    monkeypatch.setattr(store.database, "write", real)
    door.item.page.builder.submit.click()
    assert asked(door) != item
    assert [one.item_id for one in kept(user(window))] == [item]


def test_stopped_and_gone_on_with_at_the_same_item(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    answered = answer(door, right=False)
    waiting = asked(door)
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    intro = door.intro
    assert window.pages.currentWidget() is intro
    assert intro.resume.text() == "Go on"
    assert intro.resume.accessibleName() == f"Go on as {ME}"
    assert intro.resume.hasFocus()
    window.show_attempts()
    assert window.desk.attempts.table.rowCount() == 0  # nobody looks at them yet
    assert "1 answer of a check that isn't over" in window.desk.attempts.empty.text()
    window.top.check.click()
    qtbot.keyClick(window, Qt.Key.Key_Return)
    at_item(qtbot, window)
    assert asked(door) == waiting
    assert door.item.page.lesson.title.text() == "Item 2 of 6"
    assert answered not in answer_all(qtbot, window)
    window.show_attempts()
    assert window.desk.attempts.table.rowCount() >= 6


def test_gone_on_with_after_the_program_was_started_again(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    answer(door)
    waiting = asked(door)
    window.close()
    other = open_window(qtbot, user(window))
    assert "waits at item 2" in other.note.text()
    assert ME in other.note.text()
    other.top.check.click()
    other.desk.rooms.check_door.intro.resume.click()
    assert asked(at_item(qtbot, other)) == waiting
    assert other.note.text() == ""  # nothing waits any more
    other.close()


def test_somebody_else_s_open_check_is_gone_on_with_under_their_name(
    qtbot: QtBot, window: MainWindow
) -> None:
    door = begin(qtbot, window)
    door.stop()
    window.name_member("Bo Hill")
    window.top.check.click()
    assert door.intro.resume.accessibleName() == f"Go on as {ME}"
    door.intro.resume.click()
    at_item(qtbot, window)
    answer(door)
    assert len(kept(user(window))) == 1


def test_another_name_for_a_check_is_told_and_where_the_rest_stands(
    qtbot: QtBot, window: MainWindow
) -> None:
    for number in range(7):
        window.desk.recorder.keep(build_attempt("Me", number, "director_on"))
    intro = choose(window)
    intro.member.setText("Robin")
    assert "you are 'Robin' in the whole program" in intro.renamed.text()
    assert intro.renamed.isVisible()
    intro.member.setText("Me")
    assert not intro.renamed.isVisible()
    door = begin(qtbot, window)
    assert window.note.text().startswith(f"You are now '{ME}'")
    assert "7 answers stand under 'Me'" in window.note.text()
    answer(door)
    assert window.note.text() == ""  # told once
    door.stop()
    window.show_attempts()
    assert "7 answers stand under 'Me'" in window.desk.attempts.empty.text()
    window.show_lessons()
    assert "7 answers stand under 'Me'" in window.chooser.welcome.text()
    window.chooser.member_named.emit("Me")
    assert not window.chooser.welcome.isVisible()
    assert "1 answer stands under" in window.note.text()


def test_a_long_name_makes_no_page_wider_and_one_too_long_is_told(
    qtbot: QtBot, window: MainWindow
) -> None:
    intro = choose(window)
    for name in ("Wilhelmina " * 5 + "Wilde", "W" * 60):
        intro.member.setText(name)
        QApplication.processEvents()
        assert window.width() <= 1280
        assert intro.confirm.width() <= intro.confirm.parentWidget().width()
        wide = max(map(intro.confirm.fontMetrics().horizontalAdvance, lines(intro)))
        assert wide < intro.confirm.width()
        assert "".join(lines(intro)).replace(" ", "").startswith(f"Iam{name}".replace(" ", ""))
    intro.member.setFocus()
    qtbot.keyClick(intro.member, "x")
    assert "at most 60 characters" in intro.message.text()
    window.show_lessons()
    window.chooser.member.setText("W" * 60)
    qtbot.keyClick(window.chooser.member, "x")
    assert "at most 60 characters" in window.note.text()


def lines(intro: CheckIntro) -> list[str]:
    """Return the lines in which somebody confirms who they are."""
    return intro.confirm.text().split("\n")


def test_no_item_comes_twice_in_later_checks(qtbot: QtBot, window: MainWindow) -> None:
    begin(qtbot, window)
    first = answer_all(qtbot, window)
    begin(qtbot, window)
    assert set(answer_all(qtbot, window)) & set(first) == set()


# --- the outcome --------------------------------------------------------------------------------


def test_the_outcome_tells_sure_and_wrong_first_and_replays_it(
    qtbot: QtBot, window: MainWindow
) -> None:
    begin(qtbot, window)
    answer_all(qtbot, window, wrong=(2, 4))
    door = window.desk.rooms.check_door
    outcome = door.outcome
    assert window.top.isVisible()
    assert outcome.decision.text() in ("Passed", "Not passed")
    assert outcome.unsigned.text() == door.intro.unsigned.text()
    assert outcome.unsigned.text().startswith("19 of 19 limits of Ship Amber, stage one aren't")
    assert outcome.unsigned.text().endswith("about these numbers isn't about the aircraft.")
    assert outcome.reasons.text().splitlines()[0].startswith("1 answer")
    assert [outcome.list.item(row, 1).text() for row in range(2)] == ["✗ sure", "guess"]
    assert outcome.list.item(0, 0).text() == "4"
    assert outcome.grid.count() >= 9
    assert "of 1 right" in said(outcome.calibration)
    one = outcome.wrong
    assert outcome.strips["said"].annunciation == wrong_strip(one.answer.item)
    assert outcome.strips["true"].annunciation == one.answer.item.true
    assert outcome.strips["before"].annunciation == one.answer.item.before
    assert outcome.question.text().endswith("?")
    assert outcome.why.text().endswith(".")
    outcome.replay.click()
    assert window.pages.currentWidget() is window.desk.page
    window.driver.stop_clock()
    while window.practice.is_moving:
        window.driver.advance(0.25)
    assert window.practice.flyer.phase == "explained"
    assert window.desk.page.said.annunciation == one.answer.answer
    assert window.desk.page.strip.annunciation == one.answer.item.true
    before = len(kept(user(window)))
    qtbot.keyClick(window, Qt.Key.Key_Return)
    assert window.pages.currentWidget() is outcome
    assert len(kept(user(window))) == before


def test_a_lesson_is_one_click_away(qtbot: QtBot, window: MainWindow) -> None:
    begin(qtbot, window)
    answer_all(qtbot, window, wrong=(2,))
    outcome = window.desk.rooms.check_door.outcome
    assert outcome.lesson.isVisible()
    qtbot.mouseClick(outcome.lesson, LEFT)
    assert window.practice is not None
    assert window.practice.flyer.lesson.id == outcome.wrong.lesson


def test_all_right_has_nothing_to_look_at_again(qtbot: QtBot, window: MainWindow) -> None:
    begin(qtbot, window)
    answer_all(qtbot, window)
    outcome = window.desk.rooms.check_door.outcome
    assert outcome.decision.text() == "Passed"
    assert outcome.none.isVisible()
    assert not outcome.detail.isVisible()
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is window.desk.rooms.check_door.intro


def test_an_outcome_can_be_looked_at_again(qtbot: QtBot, window: MainWindow) -> None:
    begin(qtbot, window)
    answer_all(qtbot, window, wrong=(1,))
    door = window.desk.rooms.check_door
    words = door.outcome.reasons.text()
    door.outcome.back.click()
    assert door.intro.resume.text() == "Show the outcome"
    door.intro.earlier.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_Return)
    wait(qtbot, lambda: window.pages.currentWidget() is door.outcome)
    assert door.outcome.reasons.text() == words
    with Store.open(user(window) / FILE_NAME) as store:
        assert [one.is_open for one in sittings(store)] == [False]


def test_a_check_that_was_killed_after_its_last_answer_is_weighed_at_once(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    door = begin(qtbot, window)
    monkeypatch.setattr(door, "_weigh", lambda *_, **__: None)
    while door.item.taken.item is not None:
        answer(door)
    window.close()
    other = open_window(qtbot, user(window))
    other.top.check.click()
    again = other.desk.rooms.check_door
    again.intro.resume.click()
    wait(qtbot, lambda: other.pages.currentWidget() is again.outcome)
    assert again.outcome.decision.text() == "Passed"
    other.close()


# --- the keyboard, names, and what takes time -----------------------------------------------------


def test_a_check_is_begun_and_answered_without_a_mouse(qtbot: QtBot, window: MainWindow) -> None:
    modifier = Qt.KeyboardModifier.ControlModifier
    qtbot.keyClick(window, Qt.Key.Key_T, modifier)
    intro = window.desk.rooms.check_door.intro
    qtbot.keyClick(window, Qt.Key.Key_Return)
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Space)
    assert intro.confirm.isChecked()
    assert intro.chosen.installation_id == SHIP
    intro.form.setCurrentIndex(intro.form.findData("B"))
    qtbot.keyClick(window, Qt.Key.Key_Return)
    door = at_item(qtbot, window)
    item = asked(door)
    qtbot.keyClick(window, Qt.Key.Key_N, modifier)
    qtbot.keyClick(window, Qt.Key.Key_2, modifier)
    qtbot.keyClick(window, Qt.Key.Key_Return)
    assert asked(door) != item
    (one,) = kept(user(window), "Me")
    assert (one.item_id, one.confidence) == (item, "think_so")
    assert one.predicted == one.before


def unnamed(page: QWidget) -> list[str]:
    """Return what can take the keyboard and has neither a name nor words."""
    found = []
    for one in page.findChildren(QWidget):
        takes = one.focusPolicy() != Qt.FocusPolicy.NoFocus and one.isVisible()
        words = one.accessibleName() or getattr(one, "text", lambda: "")()
        if takes and not words and not one.objectName().startswith("qt_"):
            found.append(f"{type(one).__name__} in {type(one.parent()).__name__}")
    return found


def test_everything_that_takes_the_keyboard_has_a_name(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    found = unnamed(door.item)
    answer_all(qtbot, window, wrong=(1,))
    found += unnamed(door.outcome)
    window.top.check.click()
    found += unnamed(door.intro)
    assert found == []


class SlowBank:
    """Computes for ever, until it is stopped."""

    def __init__(self) -> None:
        self.began = threading.Event()

    def __call__(self, _workspace: object, _name: str, tell: object, is_stopped: object) -> object:
        number = 0
        while not is_stopped():
            number += 1
            tell(BankNews(10.0 + number, min(0.005 * number, 0.9)))
            self.began.set()
            threading.Event().wait(0.01)
        raise StoppedError("stopped: nothing was begun")


def test_finding_the_items_shows_how_far_it_is_and_can_be_stopped(
    qtbot: QtBot, window: MainWindow
) -> None:
    window.desk.rooms.banks._compute = SlowBank()
    intro = choose(window)
    intro.member.setText(ME)
    intro.confirm.setChecked(True)
    intro.begin.click()
    qtbot.waitUntil(lambda: "% in 0:" in intro.wait.words.text())
    assert not intro.begin.isEnabled()
    assert intro.wait.bar.isVisible()
    qtbot.waitUntil(lambda: 0 < intro.wait.bar.value() < intro.wait.bar.maximum())
    intro.wait.stop.click()
    qtbot.waitUntil(lambda: not intro.wait.isVisible())
    assert "nothing was begun" in intro.message.text()
    with Store.open(user(window) / FILE_NAME) as store:
        assert sittings(store) == []
    assert intro.begin.isEnabled()


def test_who_goes_elsewhere_meanwhile_is_not_called_back(qtbot: QtBot, window: MainWindow) -> None:
    known = compute_bank(window.desk.workspace, SHIP, lambda _news: None, lambda: False)
    go = threading.Event()

    def slow(*_: object) -> object:
        go.wait(30)
        return known

    window.desk.rooms.banks._compute = slow
    intro = choose(window)
    intro.member.setText(ME)
    intro.confirm.setChecked(True)
    intro.begin.click()
    window.show_settings()
    go.set()
    qtbot.waitUntil(lambda: "when you like" in window.note.text())
    assert window.pages.currentWidget() is window.desk.settings
    with Store.open(user(window) / FILE_NAME) as store:
        assert sittings(store) == []


def test_the_window_closes_at_once_while_items_are_found(qtbot: QtBot, window: MainWindow) -> None:
    slow = SlowBank()
    window.desk.rooms.banks._compute = slow
    intro = choose(window)
    intro.confirm.setChecked(True)
    intro.begin.click()
    assert slow.began.wait(10)
    window.close()
    assert not window.desk.rooms.banks.background.is_busy


def test_a_changed_aircraft_is_told_and_the_answers_stay(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    gone = asked(door)
    answer(door)
    door.stop()
    library, bank = window.desk.workspace.kept_bank(SHIP)
    bank.items = tuple(item for item in bank.items if item.id != gone)
    door.intro.resume.click()
    wait(qtbot, lambda: "items are others now" in door.intro.message.text())
    assert window.pages.currentWidget() is door.intro
    assert len(kept(user(window))) == 1
    assert library is not None


def test_given_up_in_another_window_no_answer_is_taken(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    answer(door)
    with Store.open(user(window) / FILE_NAME) as other:
        end_sitting(other, door.item.taken.sitting, ENDED_WITHOUT, [], "2026-03-10T12:00:00Z")
    answer(door)
    assert window.pages.currentWidget() is door.intro
    assert "the check is over, given up" in door.intro.message.text()
    assert len(kept(user(window))) == 1


def test_an_outcome_whose_items_have_changed_says_what_came_out(
    qtbot: QtBot, window: MainWindow
) -> None:
    begin(qtbot, window)
    gone = answer_all(qtbot, window)[0]
    door = window.desk.rooms.check_door
    door.outcome.back.click()
    _, bank = window.desk.workspace.kept_bank(SHIP)
    bank.items = tuple(item for item in bank.items if item.id != gone)
    door.intro.resume.click()
    wait(qtbot, lambda: "is over, passed: 6 of 6" in door.intro.message.text())
    assert "stay on record" in door.intro.message.text()


def test_plans_that_are_not_accepted_are_told(qtbot: QtBot, window: MainWindow) -> None:
    (user(window) / "check_plans.yaml").write_text("format: check_plans/1\nplan: {}\n", "utf-8")
    window.top.check.click()
    assert "check_plans.yaml:2" in window.desk.rooms.check_door.intro.message.text()


@pytest.mark.long
def test_a_whole_bank_is_computed_in_another_process(tmp_path: Path) -> None:
    charts = tmp_path / "charts"  # without the banks that are shipped
    shutil.copytree(Workspace().charts_folder, charts, ignore=shutil.ignore_patterns("banks"))
    workspace, news = Workspace(charts, user=tmp_path), []
    _, bank = compute_bank(workspace, SHIP, news.append, lambda: False)
    assert len(bank.items) > 500
    parts = [one.done for one in news]
    assert parts == sorted(parts)
    assert len(set(parts)) > 50
    assert Workspace(charts, user=tmp_path).kept_bank(SHIP)[1].items == bank.items
    with pytest.raises(StoppedError):
        compute_bank(Workspace(charts, user=tmp_path / "x"), SHIP, news.append, lambda: True)


def test_a_process_that_computes_tells_how_far_it_is_and_why_it_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace, news = Workspace(user=tmp_path), []
    program = tmp_path / "program.py"

    def start(_folders: object, name: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, str(program), name], stdout=subprocess.PIPE, text=True
        )

    monkeypatch.setattr(check_bank_worker, "_start", start)
    without_shipped(monkeypatch)

    def run(*lines: str) -> object:
        program.write_text("\n".join(f"print({line!r}, flush=True)" for line in lines), "utf-8")
        return compute_bank(workspace, SHIP, news.append, lambda: False)

    with pytest.raises(TrainerError, match="the chart is broken"):
        run('{"part": 0.25}', "not JSON", '{"problem": "the chart is broken"}')
    assert 0.25 in {one.done for one in news}
    with pytest.raises(TrainerError, match="ended unexpectedly"):
        run('{"part": 0.5}')
    made = replace(small_bank(), unexposed=())
    monkeypatch.setattr("trainer.app.build_bank", lambda _library, _begin, **_: made)
    _, bank = run('{"done": true}')  # nothing was kept, so it is computed here
    assert bank == made
