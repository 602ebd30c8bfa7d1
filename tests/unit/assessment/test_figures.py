"""The figures that the diagnosis promises, of simulated members: the same seed, the same figures.

Run long, and asserted as they stand: nothing is let through for being within chance.
"""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.figures.outsiders import random_changes
from trainer.assessment.figures.simulation import Simulator
from trainer.assessment.items.bank import Bank
from trainer.assessment.wrong_rules.library import Library

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def simulator(workspace: Workspace, amber: Library, whole_bank: Bank) -> Simulator:
    def begin(start):
        return workspace.begin("ship_amber", start)

    return Simulator(whole_bank, amber, begin, seed=909)


def test_who_holds_one_rule_is_named_after_a_dozen_items_a_third_of_what_chance_needs(
    simulator: Simulator,
) -> None:
    chosen, drawn = simulator.single(1), simulator.single(1, adaptive=False)
    assert chosen.share.value >= 0.97
    assert chosen.lengths.mean <= 12.0
    # Drawn at random, so many are never named within the longest sitting: no equal accuracy.
    assert drawn.share.value < chosen.share.value
    assert drawn.lengths.mean >= 3.0 * chosen.lengths.mean


def test_both_of_two_rules_are_found_within_forty_items(simulator: Simulator) -> None:
    pairs = simulator.pairs(40)
    assert pairs.share.value >= 0.90
    assert max(pairs.lengths.values) <= 40


def test_a_sound_member_is_told_of_no_wrong_rule(simulator: Simulator) -> None:
    told, unexplained = simulator.sound(50)
    assert told.share.value <= 0.02
    assert unexplained.share.value <= 0.02


def test_a_rule_outside_the_library_stays_unexplained(simulator: Simulator) -> None:
    changes = random_changes(simulator.library, simulator.bank, simulator.flown, 40, simulator.seed)
    unexplained, _, mislabelled = simulator.outside("random_change", changes).figures
    assert unexplained.share.count == 40
    assert unexplained.share.value >= 0.90
    assert mislabelled.share.value <= 0.05
