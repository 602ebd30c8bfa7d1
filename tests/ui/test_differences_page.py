"""The page 'Differences': compared off the paint path, strips side by side, files written."""

import time

import pytest
from PySide6.QtWidgets import QApplication

from tests.helpers.differences import PLANTED, alike, planted, quiet_ship, with_limit
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.lesson.loader import load_lesson
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.differences.differences_check_run import FREE, OPEN, CheckRun
from trainer.ui.differences.differences_door import DifferencesDoor
from trainer.ui.differences.differences_page import DifferencesPage
from trainer.ui.differences.differences_study import Studied, parting_words, study
from trainer.ui.lesson.practice_words import lesson_text
from trainer.ui.look.theme import DARK, LIGHT, style_sheet
from trainer.ui.look.words import StripWords

NOW = "2026-03-10T12:00:00Z"


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    made = Workspace()
    other = with_limit(quiet_ship("ship_other", **PLANTED), "minimum_engagement_height_ft", 1000)
    ships = (quiet_ship(), other, quiet_ship("ship_third", go_around_autopilot="disconnects"))
    made.__dict__["installations"] = {one.id: one for one in ships}
    return made


@pytest.fixture
def door(qtbot, workspace):
    made = DifferencesDoor(workspace)
    page = made.page("ship_known")
    qtbot.addWidget(page)
    page.setStyleSheet(style_sheet(LIGHT))
    page.resize(1180, 640)
    page.show()
    yield made
    made.close()


def compared(door, qtbot, *names: str) -> DifferencesPage:
    page = door.made
    door.compare(*names)
    assert page.stop.isVisible()
    qtbot.waitUntil(lambda: not door.background.is_busy and page.studied is not None, timeout=60000)
    return page


@pytest.fixture(scope="module")
def found(workspace) -> Studied:
    """Two ships compared once."""
    return study(workspace, ("ship_known", "ship_other"), NOW, "0", lambda _news: None)


@pytest.fixture
def page(door, found) -> DifferencesPage:
    """The page with what was found."""
    door.made.show_studied(found)
    return door.made


def test_the_page_lists_causes_by_consequence_and_shows_their_flight(page):
    groups = planted().groups
    assert page.list.count() == len(groups)
    assert "Minimum engagement height" in page.list.item(0).text()
    assert "kinds of situation differ" in page.state.text()
    assert page.unsigned.text().startswith("Ship Known: 46 of 46 values not signed")
    assert page.unsigned.isVisibleTo(page)
    page.list.setCurrentRow(0)
    assert page.choices.text().count("(placeholder)") == 2
    for place, group in enumerate(groups):
        page.list.setCurrentRow(place)
        shown = [strip.annunciation for strip in page.strips]
        flight = page.studied.briefing.rows[place].flown
        assert flight.difference.causes == group.causes
        assert shown == [flight.before, flight.first.after, flight.second.after]
        assert all(strip.isVisible() for strip in page.strips)
        assert page.sentence.text() == page.studied.briefing.rows[place].sentence
        assert page.parting.text() == parting_words(page.studied, place)
    assert page.seamless.text().startswith("Seamless on the strip")


def test_three_ships_are_shown_side_by_side(door, qtbot):
    page = compared(door, qtbot, "ship_known", "ship_other", "ship_third")
    assert page.list.count() == len(planted().groups)
    assert page.table.isVisible()
    heads = [page.table.horizontalHeaderItem(column).text() for column in range(4)]
    assert heads == ["Setting", "Ship Known", "Ship Other", "Ship Third"]
    settings = [page.table.item(row, 0).text() for row in range(page.table.rowCount())]
    row = settings.index("Does the autopilot stay engaged at go-around?")
    texts = [page.table.item(row, column).text() for column in (1, 2, 3)]
    assert texts[1] == texts[2] != texts[0]


def test_briefing_and_lessons_are_saved_and_a_wrong_name_is_told(door, page, tmp_path, workspace):
    door.save_briefing(tmp_path / "page.pdf")
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF")
    assert page.state.text().startswith("Saved")
    door.save_lessons(tmp_path / "other.yaml")
    assert load_lesson(tmp_path / "other.yaml", workspace.charts).installation == "ship_other"
    door.save_briefing(tmp_path / "page.odt")
    assert "accepted" in page.state.text()
    assert page.state.property("role") == "caution"


def test_the_same_ship_twice_is_refused_and_nothing_runs(door):
    door.compare("ship_known", "ship_known", "")
    assert not door.background.is_busy
    assert "aren't the same" in door.made.state.text()


def test_stopping_says_so_and_leaves_the_page_ready(door, qtbot):
    door.compare("ship_known", "ship_other", "")
    door.stop()
    qtbot.waitUntil(lambda: not door.background.is_busy, timeout=60000)
    assert door.made.state.text() == "Stopped; nothing was changed."
    assert door.made.compare.isEnabled()
    assert not door.made.stop.isVisible()


def test_ships_that_are_alike_say_so(qtbot, workspace):
    made = Workspace()
    made.__dict__["installations"] = {
        "ship_known": quiet_ship(), "ship_other": quiet_ship("ship_other"),
    }  # fmt: skip
    found = study(made, ("ship_known", "ship_other"), NOW, "0", lambda _news: None)
    door = DifferencesDoor(made)
    page = door.page()
    qtbot.addWidget(page)
    page.show_studied(found)
    assert page.list.count() == 0
    assert page.heading.text() == "No difference"
    assert not page.lessons.isEnabled()
    assert found.found.transitions == alike().found.transitions


def test_the_window_is_painted_while_ships_are_compared(door, qtbot):
    """Events of the window are handled while the work goes on in its thread."""
    door.compare("ship_known", "ship_other", "")
    turns, end = 0, time.monotonic() + 60
    while door.background.is_busy and time.monotonic() < end:
        QApplication.processEvents()
        turns += 1
        if turns > 20:
            door.stop()
    assert turns > 20


def test_every_control_has_a_name_and_a_look(door):
    door.set_look(DARK, door._look[1])
    page = door.made
    for widget in (page.known, page.other, page.third, page.list, page.table, page.compare):
        assert widget.accessibleName()
    assert page.known.currentData() == "ship_known"
    assert page.other.currentData() != "ship_known"


def test_the_aircraft_page_leads_to_the_differences_and_back(qtbot, tmp_path):
    aircraft = AircraftDoor(tmp_path, Workspace(), lambda: None)
    opened = []
    aircraft.opened.connect(opened.append)
    page = aircraft.aircraft("ship_slate")
    qtbot.addWidget(page)
    page.differences.click()
    (shown,) = opened
    qtbot.addWidget(shown)
    assert shown.chosen[0] == "ship_slate"
    assert shown.chosen[1] != "ship_slate"
    shown.closed.emit()
    aircraft.differences.closed.emit()
    assert opened[-1] is page
    aircraft.close()


def test_a_difference_is_flown_from_its_very_moment_in_either_ship(door, page):
    flown = []
    door.flown.connect(flown.append)
    for place, row in enumerate(page.studied.briefing.rows):
        page.list.setCurrentRow(place)
        for ship, name in enumerate(("ship_known", "ship_other")):
            page.fly[ship].click()
            practice = flown.pop()
            assert practice.session.installation.id == name
            assert practice.session.annunciation == row.flown.before
            assert row.sentence in lesson_text(practice, StripWords({})).narration
            side = (row.flown.first, row.flown.second)[ship]
            if row.flown.stimulus.kind == "after_key":
                practice.press(row.flown.stimulus.key)
                assert practice.session.annunciation == side.after
            practice.restart()
            assert practice.session.annunciation == row.flown.before
            assert not practice.is_running
    shown = []
    door.opened.connect(shown.append)
    practice.then()
    assert shown == [page]


def test_the_check_finds_who_answers_as_the_known_ship_would(door, page, qtbot):
    shown, kept = [], []
    door.opened.connect(shown.append)
    door.kept.connect(lambda answered, flyer: kept.append((answered, flyer)))
    page.check.click()
    (asking,) = shown
    qtbot.addWidget(asking)
    items = asking.run.made.check.items
    for item in items:
        assert asking.run.item is item
        assert asking.page.lesson.question.text()
        wrong = next(iter(item.answers.values()), item.true)
        asking.page.builder.submitted.emit(Prediction(wrong, "sure"))
    assert len(kept) == len(items)
    assert [one.outcome.score.is_right for one, _ in kept] == [not item.answers for item in items]
    assert all(flyer.lesson.title.startswith("Differences check: from") for _, flyer in kept)
    habits = asking.run.made.check.habits
    assert asking.habits.count() == len(habits)
    assert f"{len(habits)} habits of Ship Known found" in asking.summary.text()
    assert all("as Ship Known would" in asking.habits.item(n).text() for n in range(len(habits)))
    assert asking.strips[1].annunciation != asking.strips[2].annunciation
    asking.back.click()
    assert shown[-1] is page


def test_the_check_finds_nothing_in_who_knows_the_other_ship(page):
    run = CheckRun(page.studied.check)
    while run.item is not None:
        run.answer(Prediction(run.item.true, "think_so"))
    assert {one.state for one in run.habit_words()} == {FREE}
    assert all(one.score.is_right for one in run.outcomes)


def test_answers_that_fit_neither_ship_are_told_as_that(page):
    run = CheckRun(page.studied.check)
    while run.item is not None:
        odd = run.item.true.with_cell("alert", "no_such_alert")
        run.answer(Prediction(odd, "guess"))
    assert {one.state for one in run.habit_words()} == {OPEN}
