"""Members that don't exist: they hold known wrong rules, slip at a known rate, and answer items."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from trainer.assessment.bank import Bank
from trainer.assessment.belief import Belief
from trainer.assessment.believed_answer import FlownQuestion
from trainer.assessment.item import Begin, Item, fly_to
from trainer.assessment.library import Library
from trainer.session.annunciation import Annunciation


def flown_answer(item: Item, belief: Belief, library: Library, begin: Begin) -> Annunciation:
    """Return what somebody answers who holds a belief, the item flown and the chart patched.

    Args:
        item: The item.
        belief: One or more misconceptions, really composed.
        library: The installation's library.
        begin: Starts a session of the installation.
    """
    session = fly_to(item.situation, begin)
    return FlownQuestion(session, item.stimulus, item.true).answer(belief.quick, library)


def all_strips(bank: Bank) -> tuple[Annunciation, ...]:
    """Return every strip that is an answer somewhere in the bank, in a fixed order."""
    found = {a: None for item in bank.items for a in (item.true, *item.answers.values())}
    return tuple(found)


@dataclass(slots=True)
class SimulatedMember:
    """Somebody who answers by a belief and slips now and then.

    Attributes:
        held: Misconception ids; more than one needs `belief`, `library` and `begin`.
        noise: Probability of a slip.
        strips: A slip is another one of these.
        lures: Share of slips that are the answer of some other wrong rule to this very item.
    """

    held: tuple[str, ...]
    noise: float
    chance: random.Random
    strips: Sequence[Annunciation]
    lures: float = 0.0
    belief: Belief | None = None
    library: Library | None = None
    begin: Begin | None = None
    known: dict[str, Annunciation] = field(default_factory=dict)

    def intended(self, item: Item) -> Annunciation:
        """Return the answer without slip."""
        if not self.held:
            return item.true
        if len(self.held) == 1:
            return item.answer_of(self.held[0])
        if item.id not in self.known:
            assert self.belief is not None
            assert self.library is not None
            assert self.begin is not None
            self.known[item.id] = flown_answer(item, self.belief, self.library, self.begin)
        return self.known[item.id]

    def answer(self, item: Item) -> Annunciation:
        """Return the strip that is built."""
        intended = self.intended(item)
        if self.chance.random() >= self.noise:
            return intended
        wrong = [a for a in (item.true, *item.answers.values()) if a != intended]
        if wrong and self.chance.random() < self.lures:
            return self.chance.choice(wrong)
        while True:
            slip = self.chance.choice(self.strips)
            if slip != intended:
                return slip
