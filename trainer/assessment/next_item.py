"""The next question: the one whose answer is expected to tell most.

Every hypothesis foresees one answer and slips with the same noise, so the information in an
answer is the entropy of the answer less a constant; only the entropy has to be compared. Items of
one kind promise the same, so one of each kind is looked at.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from trainer.assessment.diagnosis import Diagnosis
from trainer.assessment.hypotheses import UNFORESEEN, Hypotheses
from trainer.assessment.item import Item

_COLUMNS = 32
"""Room for the different answers to one item; the last holds the unforeseen ones."""


class ItemSelector:
    """Selects items from one bank by expected information."""

    def __init__(self, hypotheses: Hypotheses) -> None:
        self._hypotheses = hypotheses
        self.kinds: list[tuple[Item, ...]] = [
            tuple(items) for items in hypotheses.bank.kinds.values()
        ]
        self._flat = self._places([items[0] for items in self.kinds])

    def _places(self, items: Sequence[Item]) -> NDArray[np.int32]:
        rows = np.empty((len(items), self._hypotheses.count), dtype=np.int32)
        for row, item in enumerate(items):
            index = self._hypotheses.foreseen(item).index
            places = np.where(index == UNFORESEEN, _COLUMNS - 1, np.minimum(index, _COLUMNS - 2))
            rows[row] = row * _COLUMNS + places
        return rows.ravel()

    def gains_bits(self, diagnosis: Diagnosis) -> NDArray[np.float64]:
        """Return the entropy of the answer to each kind of item [bit], shape (kinds,)."""
        weights = np.tile(diagnosis.posterior, len(self.kinds))
        totals = np.bincount(self._flat, weights, minlength=len(self.kinds) * _COLUMNS)
        shares = totals.astype(np.float64).reshape(len(self.kinds), _COLUMNS)
        noise, others = diagnosis.declared.noise, diagnosis.declared.alternatives
        foreseen, unforeseen = shares[:, :-1], shares[:, -1:]
        known = foreseen > 0.0
        wrong = noise / others
        answer = foreseen * (1.0 - noise) + (1.0 - unforeseen - foreseen) * wrong
        # An unlisted rule gives the true answer by noise only, any other with equal chance.
        answer[:, 0] += unforeseen[:, 0] * noise
        answer[:, 1:] += unforeseen * (1.0 - noise) / others
        answer = np.where(known, answer, 0.0)
        rest = np.clip(1.0 - answer.sum(axis=1), 1e-12, 1.0)
        left = np.maximum(others + 1 - known.sum(axis=1), 1)
        entropy = -(answer * np.log2(np.where(answer > 0.0, answer, 1.0))).sum(axis=1)
        entropy -= rest * np.log2(rest / left)
        return np.asarray(entropy - self._noise_bits(diagnosis, unforeseen[:, 0]))

    @staticmethod
    def _noise_bits(diagnosis: Diagnosis, unforeseen: NDArray[np.float64]) -> NDArray[np.float64]:
        """Entropy of an answer once the belief is known; larger for an unlisted rule."""
        noise, others = diagnosis.declared.noise, diagnosis.declared.alternatives
        slip = -noise * np.log2(noise) - (1.0 - noise) * np.log2(1.0 - noise)
        listed = slip + noise * np.log2(others)
        unlisted = slip + (1.0 - noise) * np.log2(others)
        return np.asarray((1.0 - unforeseen) * listed + unforeseen * unlisted)

    def select(
        self, diagnosis: Diagnosis, seen: Collection[str], chance: random.Random
    ) -> Item | None:
        """Return the most telling item not yet seen, or None if the bank is used up.

        Args:
            diagnosis: The member's diagnosis so far.
            seen: Ids of the items that the member has had.
            chance: Which of the situations of the best kind is taken; the least shown come first.
        """
        exposure = self._hypotheses.bank.exposure
        unconfirmed = diagnosis.unconfirmed()
        order = [self.kinds[int(p)] for p in np.argsort(-self.gains_bits(diagnosis), kind="stable")]
        # A suspicion is confirmed or dropped before anything else is looked for.
        if unconfirmed:
            order.sort(key=lambda items: unconfirmed[0] not in items[0].answers)
        for items in order:
            fresh = [item for item in items if item.id not in seen]
            if fresh:
                least = min(exposure[item.id] for item in fresh)
                return chance.choice([item for item in fresh if exposure[item.id] == least])
        return None
