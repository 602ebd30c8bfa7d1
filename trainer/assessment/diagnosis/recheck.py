"""Which wrong answers fit nothing yet, and which items ask about the same once more.

A slip doesn't come back, a wrong rule does: so nobody is called sound before what was wrong has
been asked about again.
"""

from __future__ import annotations

from collections.abc import Sequence

from trainer.assessment.items.item import Item

ALIKE = 0.6
"""Share of their topics that two items have in common which ask about the same."""


class Rechecks:
    """The items of one bank that ask about the same.

    Args:
        items: The items of the bank.
    """

    def __init__(self, items: Sequence[Item]) -> None:
        self._topics = [(item, frozenset(item.topics)) for item in items]
        self._alike: dict[str, tuple[str, ...]] = {}

    def alike(self, item: Item) -> tuple[str, ...]:
        """Return the ids of the other items that ask about the same, the most alike first."""
        known = self._alike.get(item.id)
        if known is None:
            known = self._alike[item.id] = self._search(item)
        return known

    def _search(self, item: Item) -> tuple[str, ...]:
        topics = frozenset(item.topics)
        found = [
            (other.kind != item.kind, -likeness, other.id)
            for other, others in self._topics
            if other.id != item.id and (likeness := _likeness(topics, others)) >= ALIKE
        ]
        return tuple(name for _, _, name in sorted(found))

    def owed(self, answers: Sequence[tuple[Item, bool]]) -> tuple[str, ...]:
        """Return the items that ask again about the first wrong answer that wasn't yet.

        Args:
            answers: The items answered, in order, each with whether it was right.

        Returns:
            Ids of items not answered, the most alike first; empty if nothing is owed.
        """
        had = [item.id for item, _ in answers]
        for place, (item, is_right) in enumerate(answers):
            if is_right:
                continue
            alike = self.alike(item)
            left = tuple(name for name in alike if name not in had)
            if left and not set(alike).intersection(had[place + 1 :]):
                return left
        return ()


def _likeness(one: frozenset[str], other: frozenset[str]) -> float:
    """Return how many of their topics two items have in common, from 0 to 1."""
    union = len(one | other)
    return len(one & other) / union if union else 0.0
