"""What a member may believe: nothing wrong, one or two wrong rules, or a wrong rule not listed.

For every item it says what each hypothesis answers. Two wrong rules at once answer as the bank has
computed for both together; without that, cell by cell. A rule that is not listed is wrong on one
topic, in a way that nobody can foresee.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trainer.assessment.diagnosis.deviation import Deviations
from trainer.assessment.diagnosis.posterior import Vector
from trainer.assessment.diagnosis.recheck import Rechecks
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.assessment.items.item_subject import topic_level
from trainer.assessment.wrong_rules.mutants import is_mutant
from trainer.session.annunciation import CELLS, Annunciation

Told = tuple[str, Annunciation]
"""Id of an item, and a wrong answer to it."""

UNFORESEEN = -1
"""Stands for an answer that is wrong in an unforeseen way."""


@dataclass(frozen=True, slots=True)
class Priors:
    """How likely each sort of member is before the first answer. Declared, not estimated."""

    sound: float = 0.30
    single: float = 0.45
    pair: float = 0.15
    unlisted: float = 0.12
    """A wrong rule that isn't listed and that nobody can foresee, on one topic."""
    by_topic: tuple[float, ...] = (1.0, 4.0, 0.2, 2.0, 1.0)
    """How that divides: wrong on a whole event, on an event while something else is so, where it
    changes just this, on what it does in one state, on what it does to one region."""
    candidate: float = 0.05
    """One that isn't listed and is made from the chart: rule or condition unknown, carried over."""
    mutant: float = 0.03
    """Any other small change of the chart."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """The answers to one item: `answers[index[h]]` is what hypothesis h answers."""

    answers: tuple[Annunciation, ...]
    index: NDArray[np.int16]


def topics_of(item: Item) -> tuple[str, ...]:
    """Return the topics on which an unlisted wrong rule would show."""
    return item.topics or item.stimulus.keys or (item.stimulus.id,)


def merge(true: Annunciation, one: Annunciation, other: Annunciation) -> Annunciation:
    """Return what both wrong rules together show: each changes its own cells, the first wins."""
    merged = true
    for cell in CELLS:
        for wrong in (other, one):
            if wrong.cell(cell) != true.cell(cell):
                merged = merged.with_cell(cell, wrong.cell(cell))
    return merged


class Hypotheses:
    """The hypotheses over one bank: sound, each misconception, each pair, then the unlisted ones.

    Args:
        bank: The items that may be asked.
        priors: How likely each sort of member is.
        listed: Ids of further misconceptions of the library: where the bank exposes one of them
            nowhere its probability stays, so that nobody is called sound.

    Attributes:
        misconceptions: Ids of the misconceptions: those that the bank exposes, and those listed.
        alike: The misconceptions in groups; the items of the bank tell none of a group from
            another one of it. Mostly each is alone.
        topics: Topics on which a rule that isn't listed may be wrong.
        automatic: Wrong rules made from the chart that no listed one stands for already.
        prior: Probability of each hypothesis, shape (h,).
        held: held[m, h] says whether hypothesis h holds misconception m, shape (m, h).
        rechecks: Which items ask about the same.
        deviations: How much is to be expected that a wrong answer deviates as others did.
    """

    def __init__(self, bank: Bank, priors: Priors = Priors(), listed: Collection[str] = ()) -> None:
        self.bank = bank
        self.misconceptions = tuple(sorted({*bank.exposed, *listed}))
        self.alike = alike_rules(bank.items, self.misconceptions)
        self.topics = tuple(sorted({name for item in bank.items for name in topics_of(item)}))
        self.automatic = _unlike(bank)
        self.pairs = tuple(combinations(range(len(self.misconceptions)), 2))
        m, p, t = len(self.misconceptions), len(self.pairs), len(self.topics)
        self.first_pair, self.first_topic = 1 + m, 1 + m + p
        self.first_automatic = self.first_topic + t
        self.count = self.first_automatic + len(self.automatic)
        self._number = {name: index for index, name in enumerate(self.misconceptions)}
        self._topic_number = {name: index for index, name in enumerate(self.topics)}
        self._automatic_number = {name: index for index, name in enumerate(self.automatic)}
        self._pair_number = {pair: index for index, pair in enumerate(self.pairs)}
        mutants = sum(is_mutant(name) for name in self.automatic)
        sizes = (1, m, p, len(self.automatic) - mutants, mutants)
        self.prior: Vector = _prior(priors, sizes, self.topics)
        self.held = self._held()
        self.rechecks = Rechecks(bank.items)
        strips = {a for item in bank.items for a in (item.true, *item.answers.values())}
        self.deviations = Deviations(strips)
        self._known: dict[str, Foreseen] = {}

    def _held(self) -> NDArray[np.bool_]:
        held = np.zeros((len(self.misconceptions), self.count), dtype=np.bool_)
        for index in range(len(self.misconceptions)):
            held[index, 1 + index] = True
        for column, (one, other) in enumerate(self.pairs):
            held[one, self.first_pair + column] = held[other, self.first_pair + column] = True
        return held

    def names(self, hypothesis: int) -> tuple[str, ...]:
        """Return the misconceptions that a hypothesis holds; none if sound or unlisted."""
        return tuple(self.misconceptions[i] for i in np.flatnonzero(self.held[:, hypothesis]))

    def topic(self, hypothesis: int) -> str:
        """Return the topic of an unlisted wrong rule, or an empty text."""
        if hypothesis >= self.first_automatic:
            name = self.automatic[hypothesis - self.first_automatic]
            return next(topics_of(i)[0] for i in self.bank.items if name in i.automatic)
        place = hypothesis - self.first_topic
        return self.topics[place] if place >= 0 else ""

    def place_of(self, topic: str) -> int:
        """Return the hypothesis that an unlisted rule is wrong on this topic."""
        return self.first_topic + self._topic_number[topic]

    def holding(self, names: Iterable[str]) -> NDArray[np.bool_]:
        """Return which hypotheses hold all these misconceptions, shape (h,)."""
        rows = [self.held[self._number[name]] for name in names]
        return np.logical_and.reduce(rows) if rows else np.ones(self.count, dtype=np.bool_)

    def foreseen(self, item: Item) -> Foreseen:
        """Return what each hypothesis answers to an item of the bank."""
        known = self._known.get(item.id)
        if known is None:
            known = self._known[item.id] = self._foreseen(item)
        return known

    def _foreseen(self, item: Item) -> Foreseen:
        answers: dict[Annunciation, int] = {item.true: 0}
        index = np.zeros(self.count, dtype=np.int16)
        wrong = [(self._number[name], answer) for name, answer in item.answers.items()]
        for number, answer in wrong:
            place = answers.setdefault(answer, len(answers))
            index[self.held[number]] = place
        for (one, first), (other, second) in combinations(sorted(wrong, key=lambda w: w[0]), 2):
            names = (self.misconceptions[one], self.misconceptions[other])
            both = item.pair_answers.get(names) or merge(item.true, first, second)
            column = self.first_pair + self._pair_number[one, other]
            index[column] = answers.setdefault(both, len(answers))
        for name, answer in item.automatic.items():
            if name in self._automatic_number:
                column = self.first_automatic + self._automatic_number[name]
                index[column] = answers.setdefault(answer, len(answers))
        for name in topics_of(item):
            index[self.first_topic + self._topic_number[name]] = UNFORESEEN
        return Foreseen(tuple(answers), index)


def _prior(priors: Priors, sizes: tuple[int, ...], topics: tuple[str, ...]) -> Vector:
    sound, single, pair, candidate, mutant = (
        np.full(size, share / max(size, 1))
        for size, share in zip(
            sizes,
            (priors.sound, priors.single, priors.pair, priors.candidate, priors.mutant),
            strict=True,
        )
    )
    levels = [topic_level(topic) for topic in topics]
    count = Counter(levels)
    total = sum(priors.by_topic[level] for level in count)
    unlisted = [priors.unlisted * priors.by_topic[level] / total / count[level] for level in levels]
    weights = np.concatenate((sound, single, pair, unlisted, candidate, mutant))
    return np.asarray(weights / weights.sum())


def alike_rules(items: Iterable[Item], names: Collection[str]) -> tuple[tuple[str, ...], ...]:
    """Return misconceptions in groups that answer alike to all items.

    Args:
        items: The items that may be asked.
        names: The misconceptions; one that no item shows is alone.
    """
    told = dict.fromkeys(names, frozenset[Told]()) | _told((i.id, i.answers) for i in items)
    groups: dict[object, list[str]] = {}
    for name, answers in told.items():
        groups.setdefault(answers or name, []).append(name)
    return tuple(tuple(group) for group in groups.values())


def _unlike(bank: Bank) -> tuple[str, ...]:
    """Return the automatic wrong rules that no listed one, and no other one, answers like."""
    known = set(_told((i.id, i.answers) for i in bank.items).values())
    made = _told((i.id, i.automatic) for i in bank.items)
    found: list[str] = []
    for name in sorted(made, key=lambda name: (is_mutant(name), name)):
        if made[name] not in known:
            known.add(made[name])
            found.append(name)
    return tuple(found)


def _told(answers: Iterable[tuple[str, Mapping[str, Annunciation]]]) -> dict[str, frozenset[Told]]:
    """Return all that each wrong rule answers wrongly, of the answers to each item."""
    found: dict[str, set[Told]] = {}
    for item, by_rule in answers:
        for name, answer in by_rule.items():
            found.setdefault(name, set()).add((item, answer))
    return {name: frozenset(one) for name, one in found.items()}
