"""A bank on the disk: read back as it was, believed only if it is whole and of these charts."""

from __future__ import annotations

import gzip
import hashlib
import json
import shutil
from dataclasses import fields, replace
from pathlib import Path

import pytest

from tests.helpers.small_bank import SHIP, small_bank, without_shipped
from trainer.app import Workspace
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.assessment.wrong_rules.distinguish import UNSEEN
from trainer.flight.types import Environment, Hill, InitialCondition, Wind, WindLayer
from trainer.records import check_bank_file
from trainer.records.check_bank_file import bank_key, bank_path, read_bank, write_bank

KEY = "a key"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return bank_path(tmp_path, SHIP)


def test_a_bank_comes_back_as_it_was(path):
    bank = small_bank()
    write_bank(path, KEY, bank)
    back = read_bank(path, KEY)
    assert back == bank
    for one, other in zip(back.items, bank.items, strict=True):
        assert hash(one.situation) == hash(other.situation)
        assert list(one.answers) == list(other.answers)
        for field in fields(Item):
            kept, was = getattr(one, field.name), getattr(other, field.name)
            assert type(kept) is type(was), field.name
            assert kept == was


def test_every_field_of_a_start_comes_back(path):
    item = small_bank().items[0]
    start = replace(
        item.situation.start,
        initial=InitialCondition(2000.0, pitch_deg=None, power_percent=55.5, on_ground=True),
        environment=Environment(
            wind_layers=(WindLayer(1000.0, Wind(270.0, 12.5)),),
            hills=(Hill(*range(1, 1 + len(Hill.__dataclass_fields__))),),
        ),
        faults=("servo_fault",),
    )
    situation = replace(item.situation, start=start, presses=("heading", "approach"))
    bank = Bank(SHIP, (replace(item, situation=situation),), ("a", "b"), 3)
    write_bank(path, KEY, bank)
    assert read_bank(path, KEY) == bank


def test_no_file_is_no_bank(path):
    assert read_bank(path, KEY) is None


def test_a_bank_of_another_key_is_not_believed(path):
    write_bank(path, KEY, small_bank())
    assert read_bank(path, "another key") is None


def spoilt(path: Path) -> dict[str, bytes]:
    """Return damaged files by what was done to them."""
    whole = path.read_bytes()
    head, _, body = gzip.decompress(whole).partition(b"\n")
    told, data = json.loads(head), json.loads(body)
    flipped = bytearray(whole)
    flipped[len(whole) // 2] ^= 1

    def packed(head: object, body: bytes) -> bytes:
        return gzip.compress(json.dumps(head).encode() + b"\n" + body)

    return {
        "empty": b"",
        "cut": whole[: len(whole) // 2],
        "one bit": bytes(flipped),
        "no gzip": b"format: bank/1",
        "not UTF-8": gzip.compress(b"\xff\xfe\n{}"),
        "answer changed": packed(told, body.replace(b'"heading_select"', b'"course_track"')),
        "no head": gzip.compress(body),
        "head a list": packed([], body),
        "body cut": packed(told, body[:-100]),
        "sum forged, body empty": packed({**told, "sha256": _sum(b"{}")}, b"{}"),
        "sum forged, tables gone": _forged(told, {**data, "tables": {}}),
        "sum forged, items short": _forged(told, {**data, "items": [[1, 2]]}),
    }


def _sum(body: bytes) -> str:
    return hashlib.sha256(body).hexdigest()


def _forged(told: dict[str, str], data: object) -> bytes:
    body = json.dumps(data).encode()
    head = json.dumps({**told, "sha256": _sum(body)}).encode()
    return gzip.compress(head + b"\n" + body)


def test_a_damaged_bank_is_no_bank(path):
    write_bank(path, KEY, small_bank())
    cases = spoilt(path)
    assert read_bank(path, KEY) is not None
    believed = []
    for what, data in cases.items():
        path.write_bytes(data)
        if read_bank(path, KEY) is not None:
            believed.append(what)
    assert believed == []


def test_a_folder_that_takes_nothing_is_no_trouble(tmp_path):
    (tmp_path / "banks").write_text("a file, not a folder", "utf-8")
    write_bank(bank_path(tmp_path, SHIP), KEY, small_bank())
    assert read_bank(bank_path(tmp_path, SHIP), KEY) is None


def test_writing_leaves_no_drafts(path):
    write_bank(path, KEY, small_bank())
    write_bank(path, KEY, small_bank())
    assert [one.name for one in path.parent.iterdir()] == [path.name]


def test_the_key_follows_charts_installation_and_program(tmp_path, monkeypatch):
    shipped = Workspace(user=tmp_path).charts_folder
    charts = tmp_path / "charts"
    shutil.copytree(shipped, charts)
    fit = charts / "installations" / f"{SHIP}.yaml"
    keys = {bank_key(charts, fit)}
    assert bank_key(charts, fit) in keys
    for changed in (
        charts / "generic.yaml",
        fit,
        next((charts / "misconceptions").rglob("*.yaml")),
    ):
        changed.write_text(changed.read_text("utf-8") + "\n# another\n", "utf-8")
        keys.add(bank_key(charts, fit))
    monkeypatch.setattr(check_bank_file, "program_version", lambda: "9.9.9")
    keys.add(bank_key(charts, fit))
    monkeypatch.setattr(check_bank_file, "_code_key", lambda: "other code")
    keys.add(bank_key(charts, fit))
    assert len(keys) == 6


def test_a_workspace_reads_what_another_has_kept(tmp_path, monkeypatch):
    without_shipped(monkeypatch)
    first = Workspace(user=tmp_path)
    assert first.kept_bank(SHIP) is None
    monkeypatch.setattr("trainer.app.build_bank", lambda _library, _begin, watch: _made(watch))
    parts: list[float] = []
    _, bank = first.bank(SHIP, parts.append)
    assert parts == [0.25, 1.0]
    assert first.bank(SHIP)[1] is bank
    assert Workspace(user=tmp_path).kept_bank(SHIP)[1] == bank
    bank_path(tmp_path, SHIP).write_bytes(b"damaged")
    again = Workspace(user=tmp_path)
    assert again.kept_bank(SHIP) is None
    assert again.bank(SHIP)[1] == bank
    assert Workspace(user=tmp_path).kept_bank(SHIP) is not None


def test_a_rule_that_no_strip_ever_shows_is_left_out_wherever_the_bank_is_used(
    tmp_path, monkeypatch
):
    looked_at = []

    def never(library, names):
        looked_at.extend(names)
        return ("servo_fault_clears_all",)

    unexposed = ("servo_fault_clears_all", "signal_loss_is_silent")
    made = replace(small_bank(), unexposed=unexposed)
    monkeypatch.setattr("trainer.app.build_bank", lambda *_args, **_named: made)
    monkeypatch.setattr("trainer.app.unseen", never)
    without_shipped(monkeypatch)
    first = Workspace(user=tmp_path)
    assert "servo_fault_clears_all" in first.library(SHIP).beliefs
    first.bank(SHIP)
    assert looked_at == list(unexposed)
    for workspace in (first, Workspace(user=tmp_path)):
        library, bank = workspace.bank(SHIP)
        assert bank.unexposed == ("signal_loss_is_silent",)
        assert bank.unseen == ("servo_fault_clears_all",)
        assert workspace.library(SHIP) is library
        assert "servo_fault_clears_all" not in library.beliefs
        assert "signal_loss_is_silent" in library.beliefs
        assert library.left_out[-1].misconception.id == "servo_fault_clears_all"
        assert library.left_out[-1].reason == UNSEEN


def _made(watch):
    watch(0.25)
    # With what some few flights don't show, all that is reachable would be searched for it.
    return replace(small_bank(), unexposed=())
