"""An edit of an aircraft before it is saved: studied in the background, then saved or not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from PySide6.QtCore import QRect, Qt
from pytestqt.qtbot import QtBot

from tests.helpers.club import NAMES, NOW, SHIP, build_world
from tests.helpers.differences import planted, quiet_ship, ship_of
from tests.helpers.planted import edited_so_that
from tests.helpers.small_bank import without_shipped
from trainer.app import Workspace
from trainer.assessment.differences.differences_check import build_check
from trainer.assessment.differences.differences_edit import StudiedEdit, study_edit
from trainer.assessment.differences.differences_lesson import build_lessons
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.scene import scenes
from trainer.charts.installation import load_installation
from trainer.charts.questionnaire import Answer
from trainer.errors import StoppedError
from trainer.records.board_query import read_board
from trainer.records.club_book import ClubBook
from trainer.records.fit_change import OldReadiness
from trainer.records.roster import Aircraft
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.ui.aircraft import aircraft_impact, aircraft_impact_door
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.aircraft.aircraft_impact import NO_BOOK, Told, enter_in_book, tell_edit
from trainer.ui.aircraft.aircraft_impact_door import STOPPED
from trainer.ui.aircraft.aircraft_impact_page import ImpactPage
from trainer.ui.aircraft.questionnaire_page import QuestionnairePage
from trainer.ui.club.club_work import apply_files

GO_AROUND = "option:go_around_autopilot"
STAYS, DISCONNECTS = "stays", "disconnects"


@cache
def studied() -> StudiedEdit:
    """Return the planted ship with one of its options put back, its lessons and items flown."""
    pair = planted()
    before = pair.second.logic.installation
    after = replace(
        quiet_ship(before.id, **{name: one.choice for name, one in before.options.items()
                                 if name != "go_around_autopilot"}), limits=before.limits,
    )  # fmt: skip
    lessons = build_lessons(pair.groups, pair.flown, pair.first, pair.second)
    check = build_check(pair.groups, pair.flown, pair.first, pair.second)
    return study_edit(
        Workspace().charts_folder, (pair.second, ship_of(after)), lessons, lambda _words: None,
        check.items,
    )  # fmt: skip


def told(**changes) -> Told:
    pair = planted()
    lessons = build_lessons(pair.groups, pair.flown, pair.first, pair.second)
    values = {"book": None, "old_ready": (), "book_problem": "",
              "lesson_titles": {one.id: one.title for one in lessons}}  # fmt: skip
    return Told(studied(), **{**values, **changes})


@pytest.fixture
def page(qtbot: QtBot) -> ImpactPage:
    made = ImpactPage()
    qtbot.addWidget(made)
    made.resize(1180, 640)
    made.show()
    return made


def texts(page: ImpactPage, name: str) -> list[str]:
    widget = page.lists[name]
    return [widget.item(row).text() for row in range(widget.count())]


def test_the_page_tells_situations_lessons_items_and_competencies(page: ImpactPage) -> None:
    page.show_told(told())
    (cause,) = texts(page, "causes")
    assert "Does the autopilot stay engaged at go-around?" in cause
    assert "Before: It disconnects" in cause
    assert "After: It stays engaged" in cause
    assert "Go-around in autopilot, " in cause
    assert "Engagement was director, now autopilot" in cause
    kinds = studied().impact.kinds
    assert page.sentence.text().startswith(f"This changes {kinds} kind")
    assert any("other answer to question" in line for line in texts(page, "lessons"))
    hit = sum(studied().affected.values())
    assert 0 < hit < sum(studied().items.values()), "items about other causes still hold"
    assert f"({hit})" in page.heads["items"].text()
    assert "Go-around" in page.competencies.text()
    assert texts(page, "members") == [NO_BOOK]
    assert not page.book.isVisible()


def test_an_affected_item_is_one_whose_answer_the_edit_changes() -> None:
    """Flown in both ships, the strips part in exactly the items that are told."""
    pair = planted()
    check = build_check(pair.groups, pair.flown, pair.first, pair.second)
    about = [item.id for item in check.items if any("go_around" in name for name in item.answers)]
    assert set(studied().impact.items) >= set(about) != set()


def world_of(folder: Path) -> tuple[Workspace, Path]:
    """Return a workspace with a quiet ship, and a book in which members were found ready on it."""
    workspace = Workspace(user=folder)
    workspace.__dict__["installations"] = {SHIP: quiet_ship(SHIP)}
    world = build_world(folder, workspace)
    key = SigningKey.load_or_make(folder / CLUB_KEY_FILE).public_key
    apply_files(world.book_path, world.results, key, NOW, lambda _count: None)
    return workspace, world.book_path


@pytest.fixture
def small_bank(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make items of one scene only: a whole bank takes long."""

    def small(library, begin, watch) -> Bank:
        flights = scenes(library.logic.installation)[:1]
        return build_bank(library, begin, flights=flights, sequences=0, watch=watch)

    monkeypatch.setattr("trainer.assessment.differences.differences_edit.build_bank", small)
    without_shipped(monkeypatch)  # the ship of these tests isn't that of its file


@pytest.mark.usefixtures("small_bank")
def test_members_found_ready_under_the_old_logic_are_named_and_the_book_says_so(
    page: ImpactPage, tmp_path: Path
) -> None:
    workspace, path = world_of(tmp_path)
    required = workspace.requirements(SHIP, 365)[0]
    # Whatever rule of the first competency an option touches: readiness in it is no longer shown.
    edited = edited_so_that(quiet_ship(SHIP), required.rules)
    news: list[str] = []
    found = tell_edit(workspace, edited, [], news.append, book=path, now_utc=NOW)
    page.show_told(found)
    named = texts(page, "members")
    assert len(named) == len(found.old_ready) > 0
    assert {one.member for one in found.old_ready} <= set(NAMES)
    assert all("found ready 2026-03-08 at stage 1" in line for line in named)
    assert page.book.isVisible()
    assert page.book.isChecked()
    assert any(one.startswith("Making the items") for one in news)
    assert enter_in_book(found, workspace) == "Entered in the club's book: Ship Amber at stage 2."
    with ClubBook.open(path) as book:
        board = read_board(book, SHIP, NOW)
        for one in found.old_ready:
            member = book.member_named(one.member)
            required = next(r for r in board.requirements if r.title == one.competency)
            cell = board.cell(member.id, required.competency_id)
            assert cell.status == "expired"
            assert set(one.rules) <= set(cell.changed_rules)


def test_a_book_that_cannot_be_read_is_told_and_the_rest_is_shown(page: ImpactPage) -> None:
    page.show_told(told(book=Path("club.sqlite3"), book_problem="club.sqlite3: it is damaged"))
    assert texts(page, "members") == ["club.sqlite3: it is damaged"]
    assert not page.book.isVisible()
    assert page.save.isEnabled()


@pytest.fixture
def door(qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[AircraftDoor]:
    """A door with an aircraft of one's own that is saved; a study of it is done at once."""

    def at_once(workspace, edited, lessons, progress, **_values) -> Told:
        progress("Comparing")
        assert workspace.installation(edited.id).option("go_around_autopilot") == STAYS
        assert edited.option("go_around_autopilot") == DISCONNECTS
        return told()

    studied()
    monkeypatch.setattr(aircraft_impact_door, "tell_edit", at_once)
    made = AircraftDoor(tmp_path, Workspace(user=tmp_path), lambda: None)
    made.told: list[str] = []
    made.pages: list[object] = []
    for signal in (made.said, made.news):
        signal.connect(made.told.append)
    made.opened.connect(made.pages.append)
    made.begin_copy("ship_amber", "Ship Ochre")
    qtbot.addWidget(made.questions)
    assert made.save(), "a new aircraft changes nothing for anybody"
    yield made
    made.close()


def edit(door: AircraftDoor, choice: str = DISCONNECTS) -> QuestionnairePage:
    page = door.questions
    page.show_question(GO_AROUND)
    page._take(Answer(choice))
    return page


def saved(door: AircraftDoor) -> str:
    path = door._workspace.user_installations / "ship_ochre.yaml"
    return load_installation(path, door._workspace.charts_folder).option("go_around_autopilot")


def test_an_edit_is_saved_only_after_its_changes_were_shown(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    edit(door)
    assert not door.save()
    shown = door.pages[-1]
    assert isinstance(shown, ImpactPage)
    qtbot.addWidget(shown)
    qtbot.waitUntil(shown.save.isEnabled, timeout=20000)
    assert saved(door) == STAYS
    assert "This changes" in shown.sentence.text()
    qtbot.mouseClick(shown.save, Qt.MouseButton.LeftButton)
    assert saved(door) == DISCONNECTS
    assert door.pages[-1] is door.questions
    assert door.shelf.drafts() == {}
    assert "Saved" in door.told[-1]


def test_going_back_saves_nothing_and_keeps_the_draft(door: AircraftDoor, qtbot: QtBot) -> None:
    edit(door)
    door.save()
    shown = door.pages[-1]
    qtbot.addWidget(shown)
    qtbot.waitUntil(shown.save.isEnabled, timeout=20000)
    shown.back.click()
    assert door.pages[-1] is door.questions
    assert saved(door) == STAYS
    assert door.shelf.drafts()["ship_ochre"].values[GO_AROUND].value == DISCONNECTS


def test_words_and_sources_alone_are_saved_at_once(door: AircraftDoor) -> None:
    edit(door, STAYS)
    door.questions.name.setText("Ship Ochre the second")
    door.questions._rename()
    assert door.save()
    assert door._workspace.installation("ship_ochre").title == "Ship Ochre the second"


def test_a_stopped_study_says_so_and_can_be_saved_all_the_same(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def endless(_workspace, _edited, _lessons, progress, **_values) -> Told:
        while True:
            progress("Comparing")

    monkeypatch.setattr(aircraft_impact_door, "tell_edit", endless)
    edit(door)
    door.save()
    shown = door.pages[-1]
    qtbot.addWidget(shown)
    assert not shown.save.isEnabled()
    shown.stop.click()
    qtbot.waitUntil(shown.save.isEnabled, timeout=20000)
    assert shown.state.text() == STOPPED
    assert saved(door) == STAYS
    shown.save.click()
    assert saved(door) == DISCONNECTS


@pytest.mark.usefixtures("small_bank")
@pytest.mark.parametrize("after", [1, 3])
def test_the_study_itself_stops_soon_after_it_is_told_to(tmp_path: Path, after: int) -> None:
    workspace = Workspace(user=tmp_path)
    workspace.__dict__["installations"] = {SHIP: quiet_ship(SHIP)}
    heard: list[object] = []

    def stopping(news: object) -> None:
        heard.append(news)
        if len(heard) > after:
            raise StoppedError(STOPPED)

    edited = quiet_ship(SHIP, go_around_autopilot=DISCONNECTS)
    with pytest.raises(StoppedError):
        aircraft_impact.tell_edit(workspace, edited, [], stopping, book=None, now_utc=NOW)
    assert len(heard) == after + 1


def test_long_rows_are_as_high_as_their_words(page: ImpactPage) -> None:
    name = "Robin Vale of the very long family name that goes on and on " * 6
    page.show_told(told(book=Path("x"), old_ready=(ready(name),)))
    rows = page.lists["members"]
    item = rows.item(0)
    words = QRect(0, 0, rows.viewport().width() - 30, 4000)
    flags = int(Qt.TextFlag.TextWordWrap)
    needed = rows.fontMetrics().boundingRect(words, flags, item.text()).height()
    assert needed > 3 * rows.fontMetrics().height()
    assert rows.visualItemRect(item).height() >= needed + 16


def ready(name: str) -> OldReadiness:
    aircraft = Aircraft("a", "Ship Other", "ship_other", 1)
    return OldReadiness(name, aircraft, "Go-around", "2026-03-08T10:00:00Z", ("x",))
