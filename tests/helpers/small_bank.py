"""A small item bank of a ship, computed once in a run, kept where a window looks for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.kept_bank import kept_bank
from trainer.app import Workspace
from trainer.assessment.items.bank import Bank
from trainer.records.check_bank_file import bank_key, bank_path, write_bank

SHIP = "ship_amber"
SCENES = ("low_climb",)


def small_bank(ship: str = SHIP) -> Bank:
    """Return a bank of a few scenes: less than the real one, made the same way."""
    return kept_bank(ship, SCENES, most_of_a_kind=1, sequences=4)


def keep_small_bank(user: Path, ship: str = SHIP) -> None:
    """Put the small bank where a workspace with this folder of user data finds it."""
    workspace = Workspace(user=user)
    key = bank_key(workspace.charts_folder, workspace.installation_paths[ship])
    write_bank(bank_path(user, ship), key, small_bank(ship))


def without_shipped(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no bank that is shipped with the program be found."""
    monkeypatch.setattr("trainer.records.bank_shelf.shipped_key", lambda *_: "another")


PLANS = """\
format: check_plans/1
plans:
  A:
    title: As long as it takes
    nonmaster_percent: 60
    master_percent: 90
    false_pass_percent: 5
    false_fail_percent: 2
    least_items: 4
    most_items: 8
    rationale: Short, for the tests.
  B:
    title: The same number for everybody
    nonmaster_percent: 60
    master_percent: 90
    false_pass_percent: 5
    false_fail_percent: 5
    fixed_items: 6
    cut: 4
    rationale: Six are enough here.
"""


def prepare(user: Path) -> None:
    """Put bank and short plans into a folder of user data."""
    user.mkdir(parents=True, exist_ok=True)
    keep_small_bank(user)
    (user / "check_plans.yaml").write_text(PLANS, encoding="utf-8")
