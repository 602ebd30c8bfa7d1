"""Who believes the truth answers every item right: simulated members go through the kernel too."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.figures.simulated_member import FlownItems


@pytest.mark.parametrize(
    "ship",
    [
        "ship_amber",
        pytest.param("ship_amber_stage_two", marks=pytest.mark.long),
        pytest.param("ship_slate", marks=pytest.mark.long),
    ],
)
def test_the_truth_answers_every_item_of_every_bank(workspace: Workspace, ship: str) -> None:
    library, bank = workspace.bank(ship)
    flown = FlownItems(library, lambda start: workspace.begin(ship, start))
    wrong = [i.id for i in bank.items if flown.answer(i, library.truth) != i.true]
    assert len(bank.items) > 3000
    assert {item.stimulus.kind for item in bank.items} >= {"key", "set", "fault", "wait"}
    assert wrong == []
