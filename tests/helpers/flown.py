"""Oracles that fly again: what somebody answers who holds a belief, what two ships really do."""

from __future__ import annotations

from trainer.assessment.differences.differences import FlownDifference
from trainer.assessment.differences.differences_play import Ship, play_stimulus
from trainer.assessment.figures.simulated_member import FlownItems
from trainer.assessment.items.item import Begin, Item, fly_to
from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.library import Library
from trainer.session.annunciation import Annunciation


def flown_answer(item: Item, belief: Belief, library: Library, begin: Begin) -> Annunciation:
    """What somebody answers who holds a belief, the item flown and the chart really patched."""
    return FlownItems(library, begin).answer(item, belief.kernel)


def verify_flown(one: FlownDifference, first: Ship, second: Ship) -> bool:
    """Fly a difference again in both ships; True if both read exactly what it says."""
    for ship, side in ((first, one.first), (second, one.second)):
        session = fly_to(one.situation, ship.begin)
        if session.annunciation != one.before or play_stimulus(session, one.stimulus).side != side:
            return False
    return True
