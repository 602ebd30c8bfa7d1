"""Where banks are found: shipped, kept, or brought by an assignment with its aircraft."""

from __future__ import annotations

import base64
import json
import random
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.shipped_banks import make_shipped, shipped_names
from tests.helpers.small_bank import SHIP, keep_small_bank, small_bank
from trainer.app import Workspace
from trainer.assessment.figures.simulated_member import FlownItems
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import verify
from trainer.records import check_bank_file
from trainer.records.assignment import issue_assignment, preview_assignment, take_assignment
from trainer.records.bank_shelf import BankShelf
from trainer.records.check_bank_file import bank_path, read_bank, shipped_key, write_bank
from trainer.records.error import InvalidRecordError
from trainer.records.packet import read_packet, write_packet
from trainer.records.roster import Aircraft, Requirement

NOW = "2026-03-10T12:00:00Z"
PLOVER = "ship_plover"
MEND = "make them anew: python -m tests.helpers.shipped_banks"
CHARTS = Workspace().charts_folder


@pytest.mark.parametrize("name", shipped_names())
def test_the_program_brings_the_bank_of_each_of_its_aircraft(name: str, tmp_path: Path) -> None:
    source = CHARTS / "installations" / f"{name}.yaml"
    path = bank_path(CHARTS, name)
    bank = read_bank(path, shipped_key(CHARTS, source))
    assert bank is not None, f"{path.name} isn't of these charts: {MEND}"
    assert bank.installation == name
    assert path.stat().st_size < 1_500_000
    assert Workspace(user=tmp_path).kept_bank(name)[1] == bank


@pytest.mark.parametrize("name", shipped_names())
def test_items_that_are_shipped_are_answered_as_the_program_answers_them(
    name: str, tmp_path: Path
) -> None:
    """A sample of them; all of all is for the next test, which takes long."""
    workspace = Workspace(user=tmp_path)
    library, bank = workspace.kept_bank(name)
    begin = lambda start: workspace.begin(name, start)  # noqa: E731
    answers = FlownItems(library, begin)
    for item in random.Random(7).sample(bank.items, 25):
        verify(item, begin)
        for rule, belief in library.beliefs.items():
            assert answers.answer(item, belief.kernel) == item.answer_of(rule), f"{item.id}: {MEND}"


@pytest.mark.long
@pytest.mark.parametrize("name", shipped_names())
def test_what_is_shipped_is_what_the_program_makes(name: str) -> None:
    shipped = BankShelf(CHARTS, Path("/none")).take(CHARTS / "installations" / f"{name}.yaml")
    made = make_shipped(name)
    assert shipped == made, f"the program makes other items of {name} now: {MEND}"


def test_the_key_of_a_shipped_bank_follows_what_items_follow_from(tmp_path: Path) -> None:
    charts = tmp_path / "charts"
    shutil.copytree(CHARTS, charts)
    fit = charts / "installations" / f"{SHIP}.yaml"
    first = shipped_key(charts, fit)
    for other in ("check_plans.yaml", "flight_profile.yaml", "installations/ship_slate.yaml"):
        (charts / other).write_bytes((charts / other).read_bytes() + b"\n# another\n")
    fit.write_bytes(fit.read_bytes().replace(b"\n", b"\r\n"))
    assert shipped_key(charts, fit) == first
    keys = {first}
    for changed in (
        "generic.yaml", "competencies.yaml", "aircraft/light_single.yaml",
        f"installations/{SHIP}.yaml",
    ):  # fmt: skip
        (charts / changed).write_bytes((charts / changed).read_bytes() + b"\n# another\n")
        keys.add(shipped_key(charts, fit))
    assert len(keys) == 5


def test_what_was_made_here_goes_before_what_is_shipped(tmp_path: Path) -> None:
    keep_small_bank(tmp_path)
    assert Workspace(user=tmp_path).kept_bank(SHIP)[1] == small_bank()
    bank_path(tmp_path, SHIP).write_bytes(b"damaged")
    shipped = Workspace(user=tmp_path).kept_bank(SHIP)[1]
    assert len(shipped.items) > 5 * len(small_bank().items)


def test_nothing_of_an_enormous_file_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = bank_path(tmp_path, SHIP)
    write_bank(path, "key", small_bank())
    assert read_bank(path, "key") is not None
    monkeypatch.setattr(check_bank_file, "LARGEST_BYTES", 10_000)
    assert read_bank(path, "key") is None


def plover_workspace(user: Path) -> Workspace:
    """Return a workspace with an aircraft that no program brings."""
    amber = (CHARTS / "installations" / f"{SHIP}.yaml").read_text("utf-8")
    path = user / "installations" / f"{PLOVER}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(amber.replace(f"id: {SHIP}", f"id: {PLOVER}"), "utf-8")
    return Workspace(user=user)


def plover_bank() -> Bank:
    return replace(small_bank(), installation=PLOVER, unexposed=())


@pytest.fixture
def lead(tmp_path: Path) -> Workspace:
    """The lead's workspace, with the items of the club's own aircraft made."""
    made = plover_workspace(tmp_path / "lead")
    BankShelf(CHARTS, made.user_folder).keep(made.installation_paths[PLOVER], plover_bank())
    return made


@pytest.fixture
def issue(club: Any, lead: Workspace) -> Callable[..., bytes]:
    """Return what writes an assignment for the club's own aircraft."""
    aircraft = Aircraft(PLOVER, "Ship Plover", PLOVER, 1)
    club.book.set_aircraft(aircraft, [Requirement("lateral", "Lateral", 365, {})])

    def write(bank: bytes | None = None) -> bytes:
        return issue_assignment(
            club.book, club.key, club.member.id, PLOVER, lessons=(), check_form="A",
            check_seed=7, issued_utc="2026-03-01T08:00:00Z", due_utc="2026-03-20T08:00:00Z",
            installation_text=lead.carried_text(PLOVER),
            bank=lead.carried_bank(PLOVER) if bank is None else bank,
        )  # fmt: skip

    return write


def taken(club: Any, data: bytes, user: Path) -> tuple[list[str], Workspace]:
    """Take an assignment as the member; return what was told, and the workspace afterwards."""
    member = Workspace(user=user)
    preview = preview_assignment(
        club.store, data, club.member_key.public_key, NOW, member.own_aircraft
    )
    assert not (user / "banks").exists()
    take_assignment(club.store, preview, NOW)
    return list(preview.changes), Workspace(user=user)


def test_an_assignment_brings_the_items_and_the_member_makes_none(
    club: Any, issue: Callable[..., bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told, member = taken(club, issue(), tmp_path / "member")
    assert any("so that none have to be found here" in line for line in told)
    monkeypatch.delattr("trainer.app.build_bank")
    assert member.bank(PLOVER)[1] == plover_bank()


def test_neither_book_nor_answers_keep_the_items(club: Any, issue: Callable[..., bytes],
                                                 tmp_path: Path) -> None:  # fmt: skip
    data = issue()
    taken(club, data, tmp_path / "member")
    assert "bank" in read_packet(data, "assignment").payload
    for database in (club.book.database, club.store.database):
        (payload,) = database.read("SELECT payload_json FROM assignment")[-1]
        assert "bank" not in json.loads(payload)


def test_items_of_another_program_are_told_and_made_anew(
    club: Any, issue: Callable[..., bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = issue()
    monkeypatch.setattr(check_bank_file, "program_version", lambda: "9.9.9")
    told, member = taken(club, data, tmp_path / "member")
    assert any("made by another version of it, or are damaged" in line for line in told)
    assert PLOVER in member.installations
    assert member.kept_bank(PLOVER) is None
    monkeypatch.setattr("trainer.app.build_bank", lambda *_, **__: plover_bank())
    assert member.bank(PLOVER)[1] == plover_bank()


def test_items_of_another_aircraft_or_damaged_ones_are_not_kept(
    club: Any, issue: Callable[..., bytes], lead: Workspace, tmp_path: Path
) -> None:
    whole = lead.carried_bank(PLOVER)
    amber = bank_path(CHARTS, SHIP).read_bytes()
    for number, bank in enumerate((amber, whole[:-9], whole[:99] + b"x" + whole[100:], b"bank")):
        told, member = taken(club, issue(bank), tmp_path / f"member {number}")
        assert any("are damaged" in line for line in told), number
        assert member.kept_bank(PLOVER) is None
        with club.store.database.write() as connection:
            connection.execute("DELETE FROM assignment")
        with club.book.database.write() as connection:
            connection.execute("DELETE FROM assignment")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"bank": "no base 64!"}, "bank: not base 64"),
        ({"bank": 7}, "bank must be a text"),
        ({"bank": ""}, "the bank is empty"),
        ({"installation_text": None}, "bank: belongs to no aircraft"),
    ],
)
def test_a_bank_that_is_not_written_as_one_is_refused(
    club: Any, issue: Callable[..., bytes], tmp_path: Path, change: dict[str, Any], message: str
) -> None:
    payload = {**read_packet(issue(), "assignment").payload, **change}
    payload = {name: value for name, value in payload.items() if value is not None}
    data = write_packet("assignment", payload, club.key)
    own = Workspace(user=tmp_path / "member").own_aircraft
    with pytest.raises(InvalidRecordError, match=message):
        preview_assignment(club.store, data, club.member_key.public_key, NOW, own)


def test_only_the_items_of_a_users_own_aircraft_are_handed_on(
    lead: Workspace, tmp_path: Path
) -> None:
    keep_small_bank(lead.user_folder)
    assert lead.carried_bank(SHIP) == b""
    assert lead.carried_bank(PLOVER) != b""
    assert plover_workspace(tmp_path / "other").carried_bank(PLOVER) == b""
    text = base64.b64encode(lead.carried_bank(PLOVER)).decode()
    assert len(text) < 1_000_000
    lead.installation_paths[PLOVER].write_text(lead.carried_text(PLOVER) + "\n# edited\n", "utf-8")
    assert lead.carried_bank(PLOVER) == b""
