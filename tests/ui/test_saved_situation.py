"""A moment saved begins again as it was; a spoilt file is named and the others stay."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.errors import FileError
from trainer.session.faults import faults_of
from trainer.session.session import Session
from trainer.session.situation import SituationError
from trainer.ui.practice.free_chooser import FreeChooser
from trainer.ui.practice.saved_situation import (
    SituationShelf,
    dump_situation,
    load_situation,
    start_of,
)
from trainer.ui.practice.situations import SITUATIONS

WORKSPACE = Workspace()
SHIPS = tuple(WORKSPACE.installations)


def flown(name: str, keys: tuple[str, ...], seconds: float) -> Session:
    """Return a session some time after a situation's start."""
    situation = next(s for s in SITUATIONS if s.id == name)
    session = WORKSPACE.begin(SHIPS[0], situation.start)
    for event in keys:
        session.press(event)
    for _ in range(round(seconds / 0.05)):
        session.step()
    return session


@pytest.mark.parametrize(
    ("name", "keys", "seconds"),
    [
        ("cruise", (), 10.0),
        ("cruise", ("director", "autopilot", "heading_select", "vertical_speed"), 20.0),
        ("intercept", ("course_track",), 15.0),
        ("approach", ("approach",), 30.0),
        ("climb_out", ("director", "autopilot", "reference_up"), 25.0),
    ],
)
def test_moment_begins_again_as_it_was(
    tmp_path: Path, name: str, keys: tuple[str, ...], seconds: float
) -> None:
    session = flown(name, keys, seconds)
    path = SituationShelf(tmp_path, SHIPS).keep("My moment", session)
    saved = load_situation(path, SHIPS)
    again = WORKSPACE.begin(saved.installation, saved.start)
    assert again.annunciation == session.annunciation
    then, now = session.flight.sample(), again.flight.sample()
    for field, least in (
        ("altitude_ft", 1.0), ("heading_deg", 0.1), ("airspeed_kt", 0.1), ("north_nm", 0.001),
        ("east_nm", 0.001), ("bank_deg", 0.1), ("power_percent", 0.1),
    ):  # fmt: skip
        assert getattr(now, field) == pytest.approx(getattr(then, field), abs=least), field
    assert again.references.selected_altitude_ft == session.references.selected_altitude_ft
    assert again.flight.sources == session.flight.sources


def test_malfunctions_are_kept(tmp_path: Path) -> None:
    session = flown("cruise", ("director",), 1.0)
    faults = ("glidepath", "stuck:altitude_hold", "slips:selected_heading_deg")
    for fault in faults:
        session.inject(fault, True)
    saved = load_situation(SituationShelf(tmp_path, SHIPS).keep("Failed", session), SHIPS)
    assert saved.start.faults == faults
    again = WORKSPACE.begin(saved.installation, saved.start)
    assert faults_of(again.flight) == faults
    assert not again.press("altitude_hold").has_changed
    again.select("selected_heading_deg", 100.0)
    assert again.references.selected_heading_deg != 100.0


def test_fault_that_the_aircraft_has_not_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    start = start_of(flown("cruise", (), 1.0), ("stuck:lamp_test",))
    path.write_text(dump_situation("x", SHIPS[0], start), encoding="utf-8")
    with pytest.raises(SituationError, match="no key 'lamp_test'"):
        WORKSPACE.begin(SHIPS[0], load_situation(path, SHIPS).start)
    path.write_text(dump_situation("x", SHIPS[0], start_of(flown("cruise", (), 1.0), ("hail",))))
    with pytest.raises(FileError, match="'hail'"):
        load_situation(path, SHIPS)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    shelf = SituationShelf(tmp_path, SHIPS)
    session = flown("cruise", (), 1.0)
    paths = {shelf.keep("The same", session) for _ in range(3)}
    assert len(paths) == 3
    assert [situation.title for situation in shelf.situations()] == ["The same"] * 3


def test_spoilt_file_is_named_and_the_others_stay(tmp_path: Path) -> None:
    shelf = SituationShelf(tmp_path, SHIPS)
    path = shelf.keep("Good", flown("cruise", (), 1.0))
    path.with_name("bad.yaml").write_text("format: situation/1\ntitel: x\n", encoding="utf-8")
    assert [situation.title for situation in shelf.situations()] == ["Good"]
    assert "bad.yaml:2" in shelf.problems[0]


def test_unknown_aircraft_is_refused_with_those_that_are_known(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    start = start_of(flown("cruise", (), 1.0))
    path.write_text(dump_situation("x", "no_such_ship", start), encoding="utf-8")
    with pytest.raises(FileError, match=SHIPS[0]):
        load_situation(path, SHIPS)


def test_saved_situation_is_offered_and_started(qtbot: QtBot, tmp_path: Path) -> None:
    shelf = SituationShelf(tmp_path, SHIPS)
    shelf.keep("My moment", flown("cruise", ("director",), 5.0))
    chooser = FreeChooser()
    qtbot.addWidget(chooser)
    chooser.show_aircraft({ship: ship for ship in SHIPS})
    chooser.show_saved(shelf.situations())
    chooser.list.setCurrentRow(len(SITUATIONS))
    assert chooser.title.text() == "My moment"
    with qtbot.waitSignal(chooser.started) as signal:
        chooser.start.click()
    assert signal.args[0] == SHIPS[0]
    assert signal.args[1].modes.engagement == "director"
