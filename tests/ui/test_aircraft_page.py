"""Aircraft in the window: answering by key and mouse, drafts, files, sheets, placeholders."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QMessageBox
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.charts.installation import load_installation
from trainer.charts.questionnaire import questions_of
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.aircraft.aircraft_page import AircraftPage
from trainer.ui.aircraft.example_view import NOTHING_FOUND, ExampleView
from trainer.ui.aircraft.questionnaire_page import MARKS, QuestionnairePage
from trainer.ui.look.words import StripWords
from trainer.ui.window.main_window import MainWindow

HEIGHT = "limit:minimum_engagement_height_ft"
CAPTURE = "option:selected_altitude_in_capture"
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def door(qtbot: QtBot, tmp_path: Path) -> AircraftDoor:
    """A door to the user's folder; nothing flies."""
    made = AircraftDoor(tmp_path, Workspace(user=tmp_path), lambda: None)
    made.told: list[str] = []
    made.said.connect(made.told.append)
    return made


def listed(door: AircraftDoor, qtbot: QtBot) -> AircraftPage:
    page = door.aircraft()
    qtbot.addWidget(page)
    page.resize(1280, 760)
    page.show()
    return page


def asked(door: AircraftDoor, qtbot: QtBot, title: str = "Ship Ochre") -> QuestionnairePage:
    """Begin a new aircraft and show its questions."""
    door.begin_copy("ship_amber", title)
    page = door.questions
    qtbot.addWidget(page)
    page.resize(1280, 760)
    with qtbot.waitActive(page):
        page.show()
        page.activateWindow()
    return page


def settle() -> None:
    """Let the layout of a question just shown take its places."""
    for _ in range(3):
        QApplication.processEvents()


def enter(page: QuestionnairePage, qtbot: QtBot, state: str = "entered") -> None:
    """Type where the answer comes from."""
    form = page.form
    form.state.setFocus()
    wanted = form.state.findData(state)
    while form.state.currentIndex() < wanted:
        qtbot.keyClick(form.state, Qt.Key.Key_Down)
    for name, text in (("source", "supplement 2.1"), ("entered_by", "L"), ("date", "2026-11-01")):
        qtbot.keyClicks(form.fields[name], text)
    if state == "verified":
        qtbot.keyClicks(form.fields["verified_by"], "I")


def test_list_says_plainly_what_is_a_placeholder(door: AircraftDoor, qtbot: QtBot) -> None:
    page = listed(door, qtbot)
    assert page.list.count() == len(Workspace().installations)
    limits = len(Workspace().installation("ship_amber").limits)
    assert f"{limits} of {limits} limits" in page.statement.text()
    assert "not for use" in page.statement.text()
    assert not page.answer.isVisible(), "what comes with the program is copied, not changed"


def test_new_aircraft_is_asked_for_by_name(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = listed(door, qtbot)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_args: ("Ship Ochre", True))
    with qtbot.waitSignal(door.opened):
        qtbot.mouseClick(page.copy, Qt.MouseButton.LeftButton)
    assert door.questions.answers.id == "ship_ochre"
    assert door.questions.answers.title == "Ship Ochre"


@pytest.mark.parametrize(
    "title", ["Ship Amber, stage two", " ship  AMBER, stage two ", "Ship Ochre"]
)
def test_the_name_of_another_aircraft_is_refused(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, title: str
) -> None:
    ochre = asked(door, qtbot).answers
    page = listed(door, qtbot)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_args: (title, True))
    page.copy.click()
    told = f"Another aircraft is called '{' '.join(title.split())}' already"
    assert told.casefold() in door.told[-1].casefold()
    assert list(door.shelf.drafts().values()) == [ochre]


def test_a_name_that_is_taken_by_renaming_is_not_saved(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = asked(door, qtbot)
    page.name.setText("")
    qtbot.keyClicks(page.name, "Ship Amber, stage two")
    assert door.save() is False
    assert "called 'Ship Amber, stage two' already" in door.told[-1]
    assert not (tmp_path / "installations").exists()
    qtbot.keyClicks(page.name, " 2")
    assert door.save() is True
    assert door.save() is True, "its own name is no other aircraft's"


def test_two_of_one_name_from_before_can_still_be_saved(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    assert door.save()
    path = door._workspace.installation_paths["ship_ochre"]
    path.write_text(path.read_text("utf-8").replace("Ship Ochre", "Ship Amber, stage two"), "utf-8")
    door._workspace.reload_installations()
    door.answer("ship_ochre")
    page.show_question(HEIGHT)
    fields = page.form.fields
    qtbot.keyClicks(fields["source"], "supplement")
    assert page.answers.title == "Ship Amber, stage two"
    assert door.save()


def test_copies_without_a_name_get_names_of_their_own(door: AircraftDoor) -> None:
    for _ in range(2):
        door.begin_copy("ship_slate", " ")
    title = door._workspace.installation("ship_slate").title
    titles = [one.title for one in door.shelf.drafts().values()]
    assert titles == [f"Copy of {title}", f"Copy of {title} 2"]


def test_cancelled_name_begins_nothing(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = listed(door, qtbot)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_args: ("Ship Ochre", False))
    page.copy.click()
    assert door.questions is None
    assert door.shelf.drafts() == {}


def test_every_question_is_in_the_list_and_can_be_reached_by_key(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = asked(door, qtbot)
    seen = []
    for _ in page.questions:
        seen.append(page.question.key)
        qtbot.keyClick(page, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    chart = Workspace().installation("ship_amber").generic
    assert seen == [question.key for question in questions_of(chart)]
    qtbot.keyClick(page, Qt.Key.Key_Up, Qt.KeyboardModifier.ControlModifier)
    assert page.question.key == seen[-2]


def test_choice_by_mouse_is_kept_at_once_as_a_draft(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = asked(door, qtbot)
    page.show_question(CAPTURE)
    settle()
    radio = page.form.choices.button(1)
    qtbot.mouseClick(radio, Qt.MouseButton.LeftButton, pos=QPoint(8, radio.height() // 2))
    draft = json.loads((tmp_path / "aircraft-drafts/ship_ochre.json").read_text(encoding="utf-8"))
    assert draft["values"][CAPTURE]["value"] == "keeps_first_altitude"


def test_choice_by_arrow_key(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question(CAPTURE)
    settle()
    page.form.take_focus()
    first = page.form.choices.button(0)
    qtbot.keyClick(first, Qt.Key.Key_Down)
    assert page.answers.answer(page.question).value == "keeps_first_altitude"


def test_crash_loses_nothing(door: AircraftDoor, qtbot: QtBot, tmp_path: Path) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    page.form.number.clear()
    qtbot.keyClicks(page.form.number, "950")
    qtbot.keyClicks(page.form.fields["source"], "half a sent")
    # No closing, no saving: another program begins in the same folder.
    again = AircraftDoor(tmp_path, Workspace(user=tmp_path), lambda: None)
    rows = {row.id: row for row in again._rows()}
    assert rows["ship_ochre"].installation is None
    again.answer("ship_ochre")
    qtbot.addWidget(again.questions)
    answer = again.questions.answers.values[HEIGHT]
    assert answer.value == 950.0
    assert answer.provenance.source == "half a sent"


def test_spoilt_draft_is_told_and_stops_nothing(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    folder = tmp_path / "aircraft-drafts"
    folder.mkdir()
    (folder / "bad.json").write_text("{", encoding="utf-8")
    page = listed(door, qtbot)
    assert "bad.json" in page.problems.text()
    assert page.list.count() == len(Workspace().installations)


def test_unfinished_answer_is_not_saved_but_shown(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    page.form.state.setFocus()
    qtbot.keyClick(page.form.state, Qt.Key.Key_Down)
    assert "where it stands" in page.form.problem.text()
    assert page.list.currentItem().text().startswith(MARKS["problem"])
    limits = len([one for one in page.questions if one.kind == "limit"])
    assert f"{limits} of {limits} limits" in page.statement.text(), (
        "unfinished: a placeholder still"
    )
    page.show_question(CAPTURE)
    qtbot.keyClick(page, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert page.question.key == HEIGHT
    assert "Minimum engagement height" in door.told[-1]
    assert not (tmp_path / "installations").exists()


@pytest.mark.parametrize("typed", ["", "abc", "-5", "99999", "nan"])
def test_bad_number_is_told_and_not_lost(door: AircraftDoor, qtbot: QtBot, typed: str) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    page.form.number.setFocus()
    page.form.number.selectAll()
    qtbot.keyClick(page.form.number, Qt.Key.Key_Delete)
    qtbot.keyClicks(page.form.number, typed)
    assert "number from 0 to 5000 ft" in page.form.problem.text()
    assert door.save() is False
    page.show_question(CAPTURE)
    page.show_question(HEIGHT)
    assert page.form.number.text() == typed


def test_saved_aircraft_flies(door: AircraftDoor, qtbot: QtBot, tmp_path: Path) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    page.form.number.setFocus()
    page.form.number.selectAll()
    qtbot.keyClicks(page.form.number, "1200")
    enter(page, qtbot, "verified")
    assert page.form.problem.text().endswith("Verified.")
    with qtbot.waitSignal(door.changed):
        qtbot.mouseClick(page.save, Qt.MouseButton.LeftButton)
    path = tmp_path / "installations" / "ship_ochre.yaml"
    saved = load_installation(path, door._workspace.charts_folder)
    assert saved.limit("minimum_engagement_height_ft").value == 1200.0
    assert saved.limit("minimum_engagement_height_ft").provenance.verified_by == "I"
    assert "ship_ochre" in door._workspace.installations
    assert door.shelf.drafts() == {}
    assert not page.discard.isEnabled()
    rows = listed(door, qtbot)
    values = len(saved.options) + len(saved.limits)
    told = f"yours, {values - 1} of {values}"
    assert any(told in rows.list.item(n).text() for n in range(rows.list.count()))


def test_contradicting_limits_are_refused_with_the_reason(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = asked(door, qtbot)
    page.show_question("limit:overspeed_kt")
    page.form.number.selectAll()
    qtbot.keyClicks(page.form.number, "65")
    assert door.save() is False
    assert "underspeed_kt 70 is not below overspeed_kt 65" in door.told[-1]
    assert door.shelf.drafts()["ship_ochre"] == page.answers
    assert list((tmp_path / "installations").glob("*")) == []


def test_not_known_goes_on_the_sheet(door: AircraftDoor, qtbot: QtBot, tmp_path: Path) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    enter(page, qtbot)
    page.form.unknown.click()
    assert page.form.state.currentData() == "placeholder"
    assert page.form.problem.text().startswith("On the sheet of questions to ask.")
    assert page.list.currentItem().text().startswith(MARKS["unknown"])
    door.write_sheet("ship_ochre", tmp_path / "sheet.txt")
    text = (tmp_path / "sheet.txt").read_text(encoding="utf-8")
    asked_part = text.split("NOT KNOWN")[1].split("ASSUMED")[0]
    assert "Minimum engagement height above ground" in asked_part


def test_sheet_is_written_while_a_number_is_half_typed(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    page.form.number.clear()
    qtbot.keyClicks(page.form.number, "8o")
    assert "must be a number" in page.form.problem.text()
    chosen = str(tmp_path / "sheet.txt")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (chosen, ""))
    page.sheet.click()
    assert [one for one in door.told if one] == []  # an empty text takes a message away
    text = (tmp_path / "sheet.txt").read_text(encoding="utf-8")
    assert "Minimum engagement height above ground" in text
    assert page.form.number.text() == "8o"


def test_sheet_by_the_dialog_gets_an_ending(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = listed(door, qtbot)
    chosen = str(tmp_path / "sheet")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (chosen, ""))
    page.sheet.click()
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_sheet_that_cannot_be_written_is_told(door: AircraftDoor, tmp_path: Path) -> None:
    door.write_sheet("ship_amber", tmp_path / "none" / "sheet.txt")
    assert "not written" in door.told[-1]


def test_discarding_asks_first(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = asked(door, qtbot)
    buttons = QMessageBox.StandardButton
    monkeypatch.setattr(QMessageBox, "question", lambda *_args: buttons.No)
    page.discard.click()
    assert "ship_ochre" in door.shelf.drafts()
    monkeypatch.setattr(QMessageBox, "question", lambda *_args: buttons.Yes)
    page.discard.click()
    assert door.shelf.drafts() == {}


def test_broken_file_is_listed_with_its_message(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    folder = tmp_path / "installations"
    folder.mkdir()
    (folder / "bad.yaml").write_text("format: installation/1\ncolour: red\n", encoding="utf-8")
    door._workspace.reload_installations()
    page = listed(door, qtbot)
    assert "bad.yaml" in page.problems.text()
    assert page.problems.isVisible()


def test_example_stands_beside_the_question(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question("option:go_around_autopilot")
    door.finder.run_to_end()
    example = page.example
    assert example.shown_side.key == "stays"
    assert example.strip.annunciation.engagement == "autopilot"
    radio = page.form.choices.button(1)
    radio.click()
    assert example.shown_side.key == "disconnects"
    assert example.strip.annunciation.engagement == "director"
    qtbot.mouseClick(example.steps[0], Qt.MouseButton.LeftButton)
    assert example.strip.annunciation == example.shown_side.steps[0].annunciation
    assert example.strip.annunciation.engagement == "autopilot"


def test_example_follows_a_number(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    door.finder.run_to_end()
    assert page.example.shown_side.key == "780 ft"
    page.form.number.selectAll()
    qtbot.keyClicks(page.form.number, "1500")
    door.finder.run_to_end()
    assert page.example.shown_side.key == "1480 ft"


def test_search_goes_on_between_paints_and_ends_when_left(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question("option:glidepath_capture")
    assert door.finder.is_busy
    page.hide()
    assert not door.finder.is_busy
    page.show()
    page.show_question("option:go_around_autopilot")
    qtbot.waitUntil(lambda: page.example.shown_side is not None, timeout=20000)


def test_example_plays_step_by_step(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question("option:go_around_autopilot")
    door.finder.run_to_end()
    example = page.example
    example._timer.setInterval(1)
    example.play.click()
    assert example.step == 0
    qtbot.waitUntil(lambda: example.step == 2 and example.play.text() == "Play")


def test_no_example_says_so(qtbot: QtBot) -> None:
    view = ExampleView()
    qtbot.addWidget(view)
    view.set_words(StripWords({}))
    view.show_examples((), "x")
    assert view.message.text() == NOTHING_FOUND
    assert view.shown_side is None


def test_window_leads_to_the_aircraft_and_offers_the_new_one(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, lambda: Workspace(user=tmp_path))
    qtbot.addWidget(window)
    window.show()
    window.load()
    before = window.desk.free.aircraft.count()
    window.top.aircraft.click()
    page = window.pages.currentWidget()
    assert isinstance(page, AircraftPage)
    window.desk.aircraft.begin_copy("ship_amber", "Ship Ochre")
    assert window.pages.currentWidget() is window.desk.aircraft.questions
    window.desk.aircraft.save()
    assert window.desk.free.aircraft.count() == before + 1
    assert "Ship Ochre" in [
        window.desk.free.aircraft.itemText(n) for n in range(window.desk.free.aircraft.count())
    ]
    window.desk.aircraft.questions.back.click()
    assert window.pages.currentWidget() is page
    assert page.chosen == "ship_ochre"


def test_placeholders_are_told_beside_the_strip(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, lambda: Workspace(user=tmp_path))
    qtbot.addWidget(window)
    window.show()
    window.load()
    window.show_free()
    window.desk.free.start.click()
    window.driver.stop_clock()
    assert window.desk.page.placeholders.text() == "19 limits not signed"
    assert "not for use in the aircraft" in window.desk.page.placeholders.toolTip()


def test_the_aircraft_that_flies_is_named_beside_its_controls(qtbot: QtBot, tmp_path: Path) -> None:
    window = MainWindow(tmp_path, lambda: Workspace(user=tmp_path))
    qtbot.addWidget(window)
    window.resize(1180, 680)
    window.show()
    window.load()
    title = "The club's second aircraft with the long name, in the north"
    window.desk.aircraft.begin_copy("ship_amber", title)
    window.desk.aircraft.save()
    window.show_free()
    free = window.desk.free
    free.aircraft.setCurrentIndex(free.aircraft.findText(title))
    free.start.click()
    window.driver.stop_clock()
    settle()
    page = window.desk.page
    assert page.aircraft.text() == title
    assert page.aircraft.isVisible()
    assert not page.controls.verticalScrollBar().isVisible(), "all controls are in sight"


def test_an_example_is_flown_from_its_very_beginning_as_answered(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = asked(door, qtbot)
    page.show_question("option:go_around_autopilot")
    door.finder.run_to_end()
    flown, opened = [], []
    door.flown.connect(flown.append)
    door.opened.connect(opened.append)
    for number, ends in ((0, "autopilot"), (1, "director")):
        page.form.choices.button(number).click()
        side = page.example.shown_side
        qtbot.mouseClick(page.example.fly, Qt.MouseButton.LeftButton)
        practice = flown.pop()
        assert practice.session.annunciation == side.steps[0].annunciation
        assert side.steps[1].line in practice.flyer.narration
        practice.press("go_around")
        assert practice.session.annunciation.engagement == ends
        assert practice.session.annunciation == side.steps[2].annunciation
    practice.then()
    assert opened[-1] is page


def test_an_example_of_a_number_is_flown_with_that_number(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    door.finder.run_to_end()
    flown = []
    door.flown.connect(flown.append)
    page.example.fly.click()
    assert page.example.shown_side.key == "780 ft"
    sample = flown[0].session.flight.sample()
    assert abs(sample.height_ft - 780.0) < 1.0


def test_esc_goes_back_page_by_page_and_from_an_example_to_its_question(
    qtbot: QtBot, tmp_path: Path
) -> None:
    window = MainWindow(tmp_path, lambda: Workspace(user=tmp_path))
    qtbot.addWidget(window)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    window.load()
    window.top.aircraft.click()
    page = window.pages.currentWidget()
    door = window.desk.aircraft
    door.begin_copy("ship_amber", "Ship Ochre")
    door.questions.show_question("option:go_around_autopilot")
    door.finder.run_to_end()
    door.questions.example.fly.click()
    window.driver.stop_clock()
    assert window.pages.currentWidget() is window.desk.page
    assert "Fly this example" in window.desk.page.lesson.title.text()
    esc(qtbot, window)
    assert window.pages.currentWidget() is door.questions
    assert window.practice is None
    esc(qtbot, window)
    assert window.pages.currentWidget() is page
    page.list.setCurrentRow(0)
    page.differences.click()
    assert window.pages.currentWidget() is door.differences.made
    esc(qtbot, window)
    assert window.pages.currentWidget() is page


def esc(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window.pages.currentWidget(), Qt.Key.Key_Escape)
