"""Members that don't exist: they hold known wrong rules, slip at a known rate, and answer items."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Begin, Item, fly_to
from trainer.assessment.wrong_rules.believed_answer import FlownQuestion
from trainer.assessment.wrong_rules.library import Library
from trainer.charts.kernel import Kernel
from trainer.session.annunciation import Annunciation


class FlownItems:
    """Answers to items under any chart, each item flown once.

    Args:
        library: The installation's library.
        begin: Starts a session of the installation.
    """

    def __init__(self, library: Library, begin: Begin) -> None:
        self._library = library
        self._begin = begin
        self._flown: dict[str, FlownQuestion] = {}

    def answer(self, item: Item, kernel: Kernel) -> Annunciation:
        """Return what somebody answers who believes a chart."""
        flown = self._flown.get(item.id)
        if flown is None:
            session = fly_to(item.situation, self._begin)
            flown = self._flown[item.id] = FlownQuestion(session, item.stimulus, item.true)
        return flown.answer(kernel, self._library)


def all_strips(bank: Bank) -> tuple[Annunciation, ...]:
    """Return every strip that is an answer somewhere in the bank, in a fixed order."""
    found = {a: None for item in bank.items for a in (item.true, *item.answers.values())}
    return tuple(found)


@dataclass(slots=True)
class SimulatedMember:
    """Somebody who answers by a belief and slips now and then.

    Attributes:
        intended: What is answered without a slip.
        noise: Probability of a slip.
        strips: A slip is another one of these.
        lures: Share of slips that are the answer of some other wrong rule to this very item.
    """

    intended: Callable[[Item], Annunciation]
    noise: float
    chance: random.Random
    strips: Sequence[Annunciation]
    lures: float = 0.0

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
