"""The next question: the one whose answer is expected to tell most.

Every hypothesis foresees one answer and slips with the same noise, so the information in an
answer is the entropy of the answer less a constant; only the entropy has to be compared. Items of
one kind promise the same, so one of each kind is looked at.

Once no listed rule is likely, only rules that nobody has listed are left to look for: then what
was answered wrongly is asked again, and what was never asked comes before the rest.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from math import log2
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from trainer.assessment.diagnosis.diagnosis import Diagnosis
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.diagnosis.posterior import Vector
from trainer.assessment.items.item import Item

_ALIKE_BITS = 0.002
_ALIKE_SHARE = 0.99


class ItemSelector:
    """Selects items from one bank by expected information.

    Most hypotheses give the true answer to most items, so only the others are kept for each item.
    """

    def __init__(self, hypotheses: Hypotheses) -> None:
        self._hypotheses = hypotheses
        self.items = hypotheses.bank.items
        found = [hypotheses.foreseen(item) for item in self.items]
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

    def _shares(self, posterior: Vector) -> NDArray[np.float64]:
        """Return the probability that each answer is meant, shape (items, columns)."""
        size = len(self.items) * self._columns
        totals = np.bincount(self._where, posterior[self._who], minlength=size)
        shares = totals.astype(np.float64).reshape(len(self.items), self._columns)
        shares[:, 0] = np.clip(posterior.sum() - shares.sum(axis=1), 0.0, None)
        return shares

    def gains_bits(self, diagnosis: Diagnosis) -> NDArray[np.float64]:
        """Return the information in the answer to each item [bit], shape (items,)."""
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

    def untold(self, diagnosis: Diagnosis) -> NDArray[np.float64]:
        """Return how much each item asks that hasn't been asked yet, shape (items,).

        A belief counts by its probability, and once more by what the answers have left of it: so
        what was never asked comes before what was once answered rightly, and what was answered
        wrongly before both.
        """
        weights = diagnosis.posterior**2 / self._hypotheses.prior
        rows = self._where // self._columns
        return np.asarray(np.bincount(rows, weights[self._who], minlength=len(self.items)))

    @staticmethod
    def _noise_bits(diagnosis: Diagnosis, unforeseen: NDArray[np.float64]) -> NDArray[np.float64]:
        """Entropy of an answer once the belief is known; larger for an unlisted rule."""
        declared = diagnosis.declared
        listed = _strip_bits(declared.noise, declared.alternatives)
        unlisted = _strip_bits(declared.unforeseen, declared.alternatives)
        return np.asarray((1.0 - unforeseen) * listed + unforeseen * unlisted)

    def select(
        self,
        diagnosis: Diagnosis,
        seen: Collection[str],
        chance: random.Random,
        exposure: Mapping[str, int] = MappingProxyType({}),
    ) -> Item | None:
        """Return the most telling item not yet seen, or None if the bank is used up.

        Args:
            diagnosis: The member's diagnosis so far.
            seen: Ids of the items that the member has had.
            chance: Which of the situations of the best kind is taken; the least shown come first.
            exposure: How often each item was answered, by whomever; an item left out: never.
        """
        unconfirmed = diagnosis.unconfirmed()
        is_cleared = diagnosis.is_cleared
        worth = self.untold(diagnosis) if is_cleared else self.gains_bits(diagnosis)
        fresh = [place for place, item in enumerate(self.items) if item.id not in seen]
        # A suspicion is confirmed or dropped before anything else is looked for.
        telling = [p for p in fresh if unconfirmed and unconfirmed[0] in self.items[p].answers]
        open_to = telling or self._owed(diagnosis, fresh) or fresh
        if not open_to:
            return None
        best = max(worth[place] for place in open_to)
        enough = best * _ALIKE_SHARE if is_cleared else best - _ALIKE_BITS
        alike = [self.items[place] for place in open_to if worth[place] >= enough]
        least = min(exposure.get(item.id, 0) for item in alike)
        return chance.choice([item for item in alike if exposure.get(item.id, 0) == least])

    def _owed(self, diagnosis: Diagnosis, fresh: list[int]) -> list[int]:
        """Return the item that asks again about a wrong answer, once no listed rule is likely."""
        if not diagnosis.is_cleared:
            return []
        places = {self.items[place].id: place for place in fresh}
        return [places[name] for name in diagnosis.owed() if name in places][:1]


def _strip_bits(wrong: float, others: int) -> float:
    """Entropy of a strip that is one of `others` with this probability, else a known one [bit]."""
    return -wrong * log2(wrong) - (1.0 - wrong) * log2(1.0 - wrong) + wrong * log2(others)
