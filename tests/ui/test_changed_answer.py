"""A changed value takes no claim along: what was signed or entered stands for the old one only."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt
from pytestqt.qtbot import QtBot

from tests.ui.test_aircraft_page import CAPTURE, CTRL, HEIGHT, asked, door, settle
from tests.ui.test_answer_form import SIGNED, choose, fill, where
from trainer.app import Workspace
from trainer.charts.installation import Provenance, load_installation
from trainer.charts.questionnaire import Answers
from trainer.ui.aircraft.aircraft_door import AircraftDoor
from trainer.ui.aircraft.questionnaire_page import MARKS, QuestionnairePage

__all__ = ["door"]
VERIFIED = Provenance("verified", "supplement 2.1", "L", "2026-11-01", "Olan Marsh")
ENTERED = Provenance("entered", "supplement 2.1", "L", "2026-11-01")


def type_value(page: QuestionnairePage, qtbot: QtBot, text: str) -> None:
    """Type a number over the one that stands there."""
    page.form.number.setFocus()
    page.form.number.selectAll()
    qtbot.keyClick(page.form.number, Qt.Key.Key_Delete)
    qtbot.keyClicks(page.form.number, text)


def signed(door: AircraftDoor, qtbot: QtBot, **more: str) -> QuestionnairePage:
    """Show a height of 800 ft that is entered, or verified by the name given."""
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    fill(page, qtbot, **SIGNED, **more)
    return page


def test_a_signature_is_gone_with_the_value_that_was_signed(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    assert where(page) == VERIFIED
    type_value(page, qtbot, "60")
    assert where(page) == Provenance("placeholder", "supplement 2.1", "L", "2026-11-01")
    told = "Changed from 800 ft, which Olan Marsh had signed: sign it again."
    assert page.form.problem.text().startswith(told)
    assert page.form.fields["verified_by"].text() == ""
    assert page.list.currentItem().text().startswith(MARKS["placeholder"])
    assert door.save()
    path = tmp_path / "installations" / "ship_ochre.yaml"
    saved = load_installation(path, door._workspace.charts_folder)
    kept = saved.limit("minimum_engagement_height_ft")
    assert (kept.value, kept.provenance.state, kept.provenance.verified_by) == (
        60.0,
        "placeholder",
        "",
    )


def test_signing_again_verifies_the_new_value(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    type_value(page, qtbot, "60")
    fill(page, qtbot, verified_by="Olan Marsh")
    assert where(page) == VERIFIED
    assert page.form.problem.text().endswith("Verified.")
    type_value(page, qtbot, "800")  # now it is 60 that was signed
    assert where(page).state == "placeholder"
    assert "Changed from 60 ft" in page.form.problem.text()


def test_the_old_value_brings_back_what_was_said_of_it(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    for slip in ("8000", "80", "", "8oo"):
        type_value(page, qtbot, slip)
        assert where(page).state == "placeholder"
        type_value(page, qtbot, "800")
        assert where(page) == VERIFIED
        assert page.form.fields["verified_by"].text() == "Olan Marsh"
        assert page.form.state.currentData() == "verified"


def test_undoing_what_was_typed_brings_it_back_too(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    page.form.number.setFocus()
    qtbot.keyClicks(page.form.number, "5")
    assert where(page).state == "placeholder"
    qtbot.keyClick(page.form.number, Qt.Key.Key_Z, CTRL)
    assert page.form.number.text() == "800"
    assert where(page) == VERIFIED


def test_an_entered_value_needs_its_source_confirmed(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot)
    assert where(page) == ENTERED
    type_value(page, qtbot, "950")
    assert where(page).state == "placeholder"
    told = page.form.problem.text()
    assert told.startswith("Changed from 800 ft, which stood in supplement 2.1: look there again")
    assert "choose 'Entered from a source'" in told
    choose(page, qtbot, "entered")
    assert where(page) == ENTERED
    assert page.form.problem.text().endswith("Entered.")


def test_another_section_typed_confirms_as_well(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot)
    type_value(page, qtbot, "950")
    qtbot.keyClicks(page.form.fields["source"], ".4")
    assert where(page).source == "supplement 2.1.4"
    assert where(page).state == "entered"


@pytest.mark.parametrize("by", ["key", "mouse"])
def test_another_choice_falls_back_and_the_first_one_restores(
    door: AircraftDoor, qtbot: QtBot, by: str
) -> None:
    page = asked(door, qtbot)
    page.show_question(CAPTURE)
    settle()
    fill(page, qtbot, **SIGNED, verified_by="Olan Marsh")
    page.form.take_focus()
    first, second = page.form.choices.button(0), page.form.choices.button(1)
    was = first.text()
    if by == "key":
        qtbot.keyClick(first, Qt.Key.Key_Down)
    else:
        second.click()
    assert where(page).state == "placeholder"
    assert page.form.problem.text().startswith(f"Changed from '{was}', which Olan Marsh had signed")
    if by == "key":
        qtbot.keyClick(second, Qt.Key.Key_Up)
    else:
        first.click()
    assert where(page) == VERIFIED


def test_it_holds_on_the_way_to_other_questions_and_for_a_reopened_draft(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    type_value(page, qtbot, "60")
    qtbot.keyClick(page, Qt.Key.Key_Down, CTRL)
    qtbot.keyClick(page, Qt.Key.Key_Up, CTRL)
    assert "which Olan Marsh had signed" in page.form.problem.text()
    assert where(page).state == "placeholder"
    again = AircraftDoor(tmp_path, Workspace(user=tmp_path), lambda: None)
    again.answer("ship_ochre")
    other = again.questions
    qtbot.addWidget(other)
    other.show_question(HEIGHT)
    assert "which Olan Marsh had signed" in other.form.problem.text()
    type_value(other, qtbot, "800")
    assert where(other) == VERIFIED
    assert again.shelf.drafts()["ship_ochre"].answer(other.question).before is None


def test_a_saved_aircraft_that_is_changed_later(
    door: AircraftDoor, qtbot: QtBot, tmp_path: Path
) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    assert door.save()
    door.answer("ship_ochre")
    page.show_question(HEIGHT)
    assert where(page) == VERIFIED
    type_value(page, qtbot, "60")
    assert door.shelf.drafts()["ship_ochre"].values[HEIGHT].provenance.verified_by == ""
    door._write()
    door.answer("ship_ochre")
    page.show_question(HEIGHT)
    assert (page.form.number.text(), where(page).state) == ("60", "placeholder")


def test_not_known_does_not_lift_what_fell(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot)
    type_value(page, qtbot, "950")
    page.form.unknown.click()
    assert where(page).is_unknown
    page.form.unknown.click()
    assert where(page).state == "placeholder"
    assert "Changed from 800 ft" in page.form.problem.text()


def test_as_in_the_question_before_signs_nothing(door: AircraftDoor, qtbot: QtBot) -> None:
    page = asked(door, qtbot)
    fill(page, qtbot, **SIGNED)
    page.show_question(HEIGHT)
    fill(page, qtbot, source="supplement 2.4", entered_by="L", date="2026-11-01", verified_by="I")
    type_value(page, qtbot, "60")
    qtbot.keyClick(page, Qt.Key.Key_E, CTRL)
    assert where(page).state == "placeholder"
    assert where(page).verified_by == ""


def test_a_name_that_was_typed_for_another_value_is_not_kept_either(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    choose(page, qtbot, "placeholder")
    type_value(page, qtbot, "60")
    assert where(page).verified_by == ""
    type_value(page, qtbot, "800")
    assert where(page).verified_by == "Olan Marsh"


def test_a_value_that_is_shown_shortened_is_not_changed_by_a_touch_of_its_source(
    door: AircraftDoor, qtbot: QtBot
) -> None:
    page = asked(door, qtbot)
    page.show_question(HEIGHT)
    type_value(page, qtbot, "1234.5678")
    fill(page, qtbot, **SIGNED)
    page.show_question(CAPTURE)
    page.show_question(HEIGHT)
    assert page.form.number.text() == "1234.57"
    qtbot.keyClicks(page.form.fields["source"], ".4")
    answer = page.answers.answer(page.question)
    assert (answer.value, answer.provenance.state) == (1234.5678, "entered")


def test_a_copy_takes_no_signature_along(door: AircraftDoor, qtbot: QtBot) -> None:
    page = signed(door, qtbot, verified_by="Olan Marsh")
    assert door.save()
    door.begin_copy("ship_ochre", "Ship Umber")
    page.show_question(HEIGHT)
    assert where(page) == Provenance("placeholder", "supplement 2.1", "L", "2026-11-01")


def test_a_draft_of_an_older_program_is_read() -> None:
    old = {
        "id": "a", "title": "A", "aircraft": "light_single", "chart": "generic", "note": "",
        "values": {HEIGHT: {"value": 60, "provenance": {"state": "entered", "source": "2.1"}}},
    }  # fmt: skip
    answer = Answers.from_json(old).values[HEIGHT]
    assert (answer.value, answer.before) == (60.0, None)


@pytest.mark.parametrize("name", ["number", "source", "name"])
def test_as_before_works_where_a_field_takes_the_key_for_itself(
    door: AircraftDoor, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    page = asked(door, qtbot)
    fill(page, qtbot, **SIGNED)
    page.show_question(HEIGHT)
    edits = {"number": page.form.number, "source": page.form.fields["source"], "name": page.name}
    edit = edits[name]
    swallow = type(edit).event

    def end_of_line(event: QEvent) -> bool:
        """Behave as on a desktop where Ctrl+E moves to the end of the line."""
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return swallow(edit, event)

    monkeypatch.setattr(edit, "event", end_of_line)
    edit.setFocus()
    qtbot.keyClick(edit, Qt.Key.Key_E, CTRL)
    assert where(page).source == "supplement 2.1"
