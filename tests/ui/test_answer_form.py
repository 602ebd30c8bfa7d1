"""Where an answer comes from: the state follows what is typed, and nothing typed is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from tests.ui.test_aircraft_page import CAPTURE, CTRL, HEIGHT, asked, door
from trainer.charts.installation import load_installation
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.aircraft.questionnaire_page import MARKS, QuestionnairePage

__all__ = ["door"]
SIGNED = {"source": "supplement 2.1", "entered_by": "L", "date": "2026-11-01"}


def fill(page: QuestionnairePage, qtbot: QtBot, **texts: str) -> None:
    """Type into the fields, as a user would who touches nothing else."""
    for name, text in texts.items():
        field = page.form.fields[name]
        assert field.isEnabled()
        field.clear()
        qtbot.keyClicks(field, text)


def choose(page: QuestionnairePage, qtbot: QtBot, state: str) -> None:
    """Choose a state by the arrow keys."""
    picker = page.form.state
    wanted = picker.findData(state)
    while picker.currentIndex() != wanted:
        is_above = picker.currentIndex() < wanted
        qtbot.keyClick(picker, Qt.Key.Key_Down if is_above else Qt.Key.Key_Up)


def where(page: QuestionnairePage):
    """Return the provenance that is kept."""
    return page.answers.answer(page.question).provenance


def test_state_follows_what_is_filled_in(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    fill(page, qtbot, source="supplement 2.1", entered_by="L")
    assert where(page).state == "placeholder"
    assert "needs the date" in page.form.problem.text()
    fill(page, qtbot, date="2026-11-01")
    assert where(page).state == "entered"
    assert page.list.currentItem().text().startswith(MARKS["entered"])
    fill(page, qtbot, verified_by="I")
    assert where(page).state == "verified"
    assert page.form.problem.property("role") == "right"
    page.form.fields["source"].clear()
    qtbot.keyClicks(page.form.fields["source"], " ")
    assert where(page).state == "placeholder"


def test_a_state_that_the_user_chose_stays_and_the_page_says_what_to_choose(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    fill(page, qtbot, **SIGNED)
    choose(page, qtbot, "placeholder")
    fill(page, qtbot, source="supplement 2.2")
    for _ in range(2):  # also when one comes back to it
        assert where(page).state == "placeholder"
        assert "choose 'Entered from a source'" in page.form.problem.text()
        assert "not for use" in page.form.problem.text()
        page.show_question(CAPTURE)
        page.show_question(HEIGHT)
    page.form.unknown.click()
    assert "take this tick away" in page.form.problem.text()
    page.form.unknown.click()
    assert where(page).state == "entered"


def test_typed_names_stay_whatever_the_state(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    fill(page, qtbot, **SIGNED, verified_by="I")
    for state in ("placeholder", "entered", "verified", "entered"):
        choose(page, qtbot, state)
        assert where(page).state == state
        page.show_question(CAPTURE)
        page.show_question(HEIGHT)
        assert page.form.fields["verified_by"].text() == "I"
    assert door.save()
    path = tmp_path / "installations" / "ship_ochre.yaml"
    saved = load_installation(path, door._workspace.charts_folder)
    kept = saved.limit("minimum_engagement_height_ft").provenance
    assert (kept.state, kept.verified_by, kept.date) == ("entered", "I", "2026-11-01")


# ISO 8601, calendar date in its extended form: year, month and day with hyphens.
@pytest.mark.parametrize(
    "typed", ["28.11.2026", "2026-13-01", "2026-02-30", "20261128", "soon", "2027-01-01"]
)
def test_the_form_of_a_date_is_checked_in_every_state(
    door: AircraftDoor, qtbot: QtBot, typed: str
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    for state in ("placeholder", "entered"):
        fill(page, qtbot, **{**SIGNED, "date": typed})
        choose(page, qtbot, state)
        assert f"'{typed}'" in page.form.problem.text()
        wanted = "up to today" if typed == "2027-01-01" else "year-month-day"
        assert wanted in page.form.problem.text()
        assert page.list.currentItem().text().startswith(MARKS["problem"])
        limits = len([one for one in page.questions if one.kind == "limit"])
        assert f"{limits} of {limits} limits" in page.statement.text()
        assert door.save() is False
        assert typed in door.told[-1]
    assert door.shelf.drafts()["ship_ochre"].values[HEIGHT].provenance.date == typed


def test_the_same_name_twice_is_warned_of_and_not_refused(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    fill(page, qtbot, **{**SIGNED, "entered_by": "Bo Hill"}, verified_by="bo hill ")
    assert where(page).state == "verified"
    assert "same name" in page.form.problem.text()
    assert page.form.problem.property("role") == "caution"
    assert door.save()


def test_source_name_and_date_are_carried_over_by_a_key_only(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = asked(door, qtbot)
    assert not page.form.as_before.isEnabled()
    fill(page, qtbot, **SIGNED, verified_by="I")
    first = page.question
    qtbot.keyClick(page, Qt.Key.Key_Down, CTRL)
    assert [field.text() for field in page.form.fields.values()] == ["", "", "", ""]
    assert where(page).state == "placeholder"
    assert page.form.as_before.toolTip() == "supplement 2.1, L, 2026-11-01"
    fill(page, qtbot, source="supplement 2.4")
    qtbot.keyClick(page.form.fields["source"], Qt.Key.Key_E, CTRL)
    found = where(page)
    assert (found.source, found.entered_by, found.date) == ("supplement 2.4", "L", "2026-11-01")
    assert (found.state, found.verified_by) == ("entered", "")  # a signature isn't carried over
    assert not page.form.as_before.isEnabled()
    page.show_question(HEIGHT)
    assert page.form.as_before.toolTip().startswith("supplement 2.4")
    page.show_question(first.key)
    assert where(page).source == "supplement 2.1"
