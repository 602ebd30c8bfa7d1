"""How long a member waits: for a kept bank, for an answer to be kept, for the next item due.

The fastest round is held against a budget: an answer kept and the next item flown in 0.1 s.
"""

from __future__ import annotations

from pathlib import Path

from tests.helpers.small_bank import SHIP, prepare, small_bank
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.records.check_bank_file import read_bank, write_bank
from trainer.records.store import Store
from trainer.ui.check.check_desk import CheckDesk
from trainer.ui.check.due_desk import DueDesk, Engine

NOW = "2026-03-10T12:00:00Z"


def test_a_kept_bank_is_read(benchmark, tmp_path: Path) -> None:
    path = tmp_path / "bank.json.gz"
    write_bank(path, "key", small_bank())
    assert benchmark(read_bank, path, "key") == small_bank()


def test_an_answer_is_kept_and_the_next_item_flown(benchmark, tmp_path: Path) -> None:
    prepare(tmp_path)
    workspace = Workspace(user=tmp_path)
    with Store.open(tmp_path / "attempts.sqlite3") as store:
        desk = CheckDesk(workspace, lambda: store, lambda: NOW)
        purpose = next(p for p in desk.purposes() if p.installation_id == SHIP)
        known = (workspace.library(SHIP), small_bank())

        def begin() -> tuple[tuple[object, ...], dict[str, object]]:
            taken = desk.begin(purpose, "B", "Robin Vale", known)
            return (taken, Prediction(taken.item.true, "sure"), 1.0), {}

        benchmark.pedantic(desk.answer, setup=begin, rounds=10)
        assert store.attempts("Robin Vale")
    assert benchmark.stats["min"] < 0.1


def test_the_next_due_item_is_chosen(benchmark, tmp_path: Path) -> None:
    workspace = Workspace(user=tmp_path)
    with Store.open(tmp_path / "attempts.sqlite3") as store:
        desk = DueDesk(workspace, lambda: store, lambda: NOW)
        desk.engines[SHIP] = Engine.of(small_bank())
        assert benchmark(desk.item, "Robin Vale", SHIP, "") is not None
