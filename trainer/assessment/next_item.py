"""The next question: the one whose answer is expected to tell most.

Every hypothesis foresees one answer and slips with the same noise, so the information in an
answer is the entropy of the answer less a constant; only the entropy has to be compared. Items of
one kind promise the same, so one of each kind is looked at.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence
from math import log2

import numpy as np
from numpy.typing import NDArray

from trainer.assessment.diagnosis import Diagnosis
from trainer.assessment.hypotheses import Hypotheses
from trainer.assessment.item import Item
from trainer.assessment.posterior import Vector

NOVELTY_BITS = 0.2
"""What touching new parts of the logic is worth [bit]: little beside a listed rule to be found."""
_WORN = 0.3
_ALIKE = 0.02


class ItemSelector:
    """Selects items from one bank by expected information.

    Most hypotheses give the true answer to most items, so only the others are kept for each kind.
    """

    def __init__(self, hypotheses: Hypotheses) -> None:
        self._hypotheses = hypotheses
        self.kinds: list[tuple[Item, ...]] = [
            tuple(items) for items in hypotheses.bank.kinds.values()
        ]
        self._build([items[0] for items in self.kinds])
        self._build_touches()

    def _build(self, items: Sequence[Item]) -> None:
        found = [self._hypotheses.foreseen(item) for item in items]
        # The last column holds the unforeseen answers.
        self._columns = 1 + max((len(one.answers) for one in found), default=1)
        who, where = [], []
        for row, one in enumerate(found):
            straying = np.flatnonzero(one.index)
            places = one.index[straying].astype(np.int64) % self._columns
            who.append(straying)
            where.append(row * self._columns + places)
        self._who = np.concatenate(who) if who else np.zeros(0, dtype=np.int64)
        self._where = np.concatenate(where) if where else np.zeros(0, dtype=np.int64)

    def _build_touches(self) -> None:
        items = [item for items in self.kinds for item in items]
        names = {name: n for n, name in enumerate(sorted({t for i in items for t in i.touches}))}
        self._row = {item.id: row for row, item in enumerate(items)}
        self._touches = np.zeros((len(items), len(names)), dtype=np.float32)
        for row, item in enumerate(items):
            self._touches[row, [names[name] for name in item.touches]] = 1.0
        starts = np.cumsum([0, *(len(kind) for kind in self.kinds)])
        self._starts = starts[:-1].astype(np.int64)

    def novelty(self, diagnosis: Diagnosis) -> NDArray[np.float64]:
        """Return how much of the logic each item touches that no answer has yet, shape (items,).

        The share of the most that one item can touch; something touched before counts less each
        time.
        """
        rows = [self._row[one.item.id] for one in diagnosis.answered if one.item.id in self._row]
        times = self._touches[rows].sum(axis=0)
        most = max(float(self._touches.sum(axis=1).max(initial=0.0)), 1.0)
        return np.asarray(self._touches @ _WORN**times / most, dtype=np.float64)

    def _shares(self, posterior: Vector) -> NDArray[np.float64]:
        """Return the probability that each answer is meant, shape (kinds, columns)."""
        size = len(self.kinds) * self._columns
        totals = np.bincount(self._where, posterior[self._who], minlength=size)
        shares = totals.astype(np.float64).reshape(len(self.kinds), self._columns)
        shares[:, 0] = np.clip(posterior.sum() - shares.sum(axis=1), 0.0, None)
        return shares

    def gains_bits(self, diagnosis: Diagnosis) -> NDArray[np.float64]:
        """Return the information in the answer to each kind of item [bit], shape (kinds,)."""
        shares = self._shares(diagnosis.posterior)
        declared = diagnosis.declared
        noise, others = declared.noise, declared.alternatives
        foreseen, unforeseen = shares[:, :-1], shares[:, -1:]
        known = foreseen > 0.0
        answer = foreseen * (1.0 - noise) + (1.0 - unforeseen - foreseen) * noise / others
        # An unlisted rule gives the true answer now and then, any other with equal chance.
        answer[:, 0] += unforeseen[:, 0] * (1.0 - declared.unforeseen)
        answer[:, 1:] += unforeseen * declared.unforeseen / others
        answer = np.where(known, answer, 0.0)
        rest = np.clip(1.0 - answer.sum(axis=1), 1e-12, 1.0)
        left = np.maximum(others + 1 - known.sum(axis=1), 1)
        entropy = -(answer * np.log2(np.where(answer > 0.0, answer, 1.0))).sum(axis=1)
        entropy -= rest * np.log2(rest / left)
        return np.asarray(entropy - self._noise_bits(diagnosis, unforeseen[:, 0]))

    @staticmethod
    def _noise_bits(diagnosis: Diagnosis, unforeseen: NDArray[np.float64]) -> NDArray[np.float64]:
        """Entropy of an answer once the belief is known; larger for an unlisted rule."""
        declared = diagnosis.declared
        listed = _strip_bits(declared.noise, declared.alternatives)
        unlisted = _strip_bits(declared.unforeseen, declared.alternatives)
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
        novelty = self.novelty(diagnosis)
        worth = self.gains_bits(diagnosis)
        if self.kinds:
            worth = worth + NOVELTY_BITS * np.maximum.reduceat(novelty, self._starts)
        order = [self.kinds[int(place)] for place in np.argsort(-worth, kind="stable")]
        # A suspicion is confirmed or dropped before anything else is looked for.
        if unconfirmed:
            order.sort(key=lambda items: unconfirmed[0] not in items[0].answers)
        for items in order:
            fresh = [item for item in items if item.id not in seen]
            if fresh:
                best = max(novelty[self._row[item.id]] for item in fresh)
                fresh = [i for i in fresh if novelty[self._row[i.id]] >= best - _ALIKE]
                least = min(exposure[item.id] for item in fresh)
                return chance.choice([item for item in fresh if exposure[item.id] == least])
        return None


def _strip_bits(wrong: float, others: int) -> float:
    """Entropy of a strip that is one of `others` with this probability, else a known one [bit]."""
    return -wrong * log2(wrong) - (1.0 - wrong) * log2(1.0 - wrong) + wrong * log2(others)
