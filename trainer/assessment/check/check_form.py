"""A form of the club's check: items in an order, drawn from the bank by a seed.

Competencies take turns, so that every stretch of the form covers them evenly. Parallel forms are
drawn with different seeds and share no item if the earlier ones are handed in. Items of several
keys are left to practice: in a check every answer must speak for one competency.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field

from trainer.assessment.check.sprt import Decision, Sprt, cut_score
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.errors import TrainerError

EACH_MOST = 11
"""Items of a competency after which it must be decided by itself, unless a plan says otherwise: the
fewest with which the shipped plan keeps both of its rates."""
SPARES_OF_A_GROUP = 3
"""Spare items of a critical group that a form holds; a second chance needs one."""

_ASKED_AND_SPARE = 2
"""Items of a critical group that a form can't do without."""

CHECK_RATES = Sprt(nonmaster=0.60, master=0.90, alpha=0.05, beta=0.01)
"""Beta leaves room within 5 % for ready members who slip twice on a critical group."""


class FormError(TrainerError):
    """A form that the bank can't fill."""


@dataclass(frozen=True, slots=True)
class CheckPlan:
    """How a check decides.

    Attributes:
        rates: Declared limits and error rates.
        fixed: Number of items in a fixed form; 0: the sequential test decides when to stop.
        least: Fewest items of a sequential check.
        most: Items after which a sequential check must decide.
        cut: Least right answers of a fixed form; 0: computed from the rates.
        cut_rationale: Why this cut, in the lead's words; empty: the computed one.
        competencies: Those checked, in the order of turns; empty: all that the bank has.
        each: Who has passed the whole is asked on until this test has decided on every competency
            by itself; None: the few answers of the whole check speak for it.
        each_most: Items of a competency after which `each` must decide.
    """

    rates: Sprt = CHECK_RATES
    fixed: int = 0
    least: int = 12
    most: int = 40
    cut: int = 0
    cut_rationale: str = ""
    competencies: tuple[str, ...] = field(default=())
    each: Sprt | None = None
    each_most: int = EACH_MOST

    @property
    def longest(self) -> str:
        """How many items there may be, in words; second chances not counted."""
        if self.each is not None:
            return f"{self.least} or more"
        return f"{self.fixed}" if self.fixed else f"at most {self.most}"

    @property
    def length(self) -> int:
        """Number of items that decide on the whole."""
        return self.fixed or self.most

    @property
    def cut_of_fixed(self) -> int:
        """Least right answers of a fixed form."""
        return self.cut or cut_score(self.fixed, self.rates).least_right

    def decide(self, right: int, wrong: int) -> Decision:
        """Return the decision on the whole after so many right and wrong answers."""
        if right + wrong < (self.fixed or self.least):
            return "open"
        if self.fixed:
            return "pass" if right >= self.cut_of_fixed else "fail"
        return self.rates.decide(right, wrong, self.most)


@dataclass(frozen=True, slots=True)
class CheckForm:
    """The items of one check, and spare critical ones for a second chance."""

    seed: int
    items: tuple[Item, ...]
    spare: tuple[Item, ...]


def draw_form(bank: Bank, plan: CheckPlan, seed: int, excluded: Collection[str] = ()) -> CheckForm:
    """Return the form that a seed draws.

    Args:
        bank: The item bank.
        plan: How the check decides.
        seed: The same seed draws the same form from the same bank.
        excluded: Ids of items not to be used, for instance those that the member has had, newest
            first. A critical matter is asked about all the same: where it has no two items left,
            those that were had the longest ago come again.

    Raises:
        FormError: The bank has too few items left, or the form is too short for the critical ones.
    """
    chance = random.Random(f"check {seed}")  # noqa: S311 - a form, not a secret
    whole = [i for i in bank.items if not i.is_sequence]
    chance.shuffle(whole)
    names = plan.competencies or tuple(sorted({item.competency for item in whole}))
    whole = [item for item in whole if item.competency in names]
    items = _left(whole, excluded)
    critical = _critical(items)
    if len(critical) > plan.length:
        found = f"a form of {plan.length} for {len(critical)} critical matters"
        raise FormError(f"{found}; accepted: an item for each of them, or more")
    chosen = list(critical)
    used = {item.kind for item in chosen}
    asked = {item.id for item in critical}
    # One more of each group is held back: a second chance needs it.
    kept = {item.id for item in _critical([i for i in items if i.id not in asked])}
    turns = {
        name: [i for i in items if i.competency == name and i.id not in kept] for name in names
    }
    # Who has a critical item has had a turn: even the shortest check then asks about every one.
    had = {item.competency for item in critical}
    _fill(chosen, {name: turns[name] for name in names if name not in had}, used, plan.length)
    while len(chosen) < plan.length:
        before = len(chosen)
        _fill(chosen, turns, used, plan.length)
        if len(chosen) == before:
            found = f"only {before} items for a form of {plan.length}"
            raise FormError(f"{found}; accepted: a shorter form, or more competencies")
    chosen = _mixed(chosen, len(critical), plan, chance)
    if plan.each is not None:
        _fill_each(chosen, turns, used, plan.each_most)
    held = {one.id for one in chosen}
    return CheckForm(seed, tuple(chosen), _spare([i for i in items if i.id not in held]))


def _left(whole: list[Item], excluded: Collection[str]) -> list[Item]:
    """Return the items not excluded; of a critical group at least one to ask, one to ask again."""
    left = [item for item in whole if item.id not in excluded]
    if len(left) == len(whole):
        return left
    age = {name: number for number, name in enumerate(excluded)}
    gone = [item for item in whole if item.id in excluded and item.is_critical]
    count = Counter(item.critical for item in left)
    for item in sorted(gone, key=lambda one: -age[one.id]):
        if count[item.critical] < _ASKED_AND_SPARE:
            left.append(item)
            count[item.critical] += 1
    return left


def _critical(items: list[Item]) -> list[Item]:
    """Return the first item of each critical group."""
    found: dict[str, Item] = {}
    for item in items:
        if item.is_critical:
            found.setdefault(item.critical, item)
    return list(found.values())


def _spare(items: list[Item]) -> tuple[Item, ...]:
    """Return the first few items of each critical group."""
    found: dict[str, list[Item]] = {}
    for item in items:
        if item.is_critical:
            found.setdefault(item.critical, []).append(item)
    return tuple(item for group in found.values() for item in group[:SPARES_OF_A_GROUP])


def _fill(chosen: list[Item], turns: dict[str, list[Item]], used: set[str], most: int) -> None:
    """Add an item of each competency in turn, up to a length."""
    for items in turns.values():
        item = _take(items, used, {one.id for one in chosen})
        if item is not None and len(chosen) < most:
            chosen.append(item)
            used.add(item.kind)


def _fill_each(chosen: list[Item], turns: dict[str, list[Item]], used: set[str], most: int) -> None:
    """Add items in turns until every competency has so many, or no more are there."""
    count = Counter(item.competency for item in chosen)
    while wanting := {name: items for name, items in turns.items() if count[name] < most}:
        before = len(chosen)
        _fill(chosen, wanting, used, before + len(wanting))
        if len(chosen) == before:
            return
        count.update(item.competency for item in chosen[before:])


def _take(items: list[Item], used: set[str], chosen: set[str]) -> Item | None:
    """Return an item of a kind not used yet, else any not chosen, or None."""
    fresh = [item for item in items if item.id not in chosen]
    for item in fresh:
        if item.kind not in used:
            return item
    return fresh[0] if fresh else None


def _mixed(chosen: list[Item], critical: int, plan: CheckPlan, chance: random.Random) -> list[Item]:
    """Spread the critical items over the part of the form that everybody answers."""
    first = max(min(plan.fixed or plan.least, len(chosen)), critical)
    head, tail = chosen[:first], chosen[first:]
    chance.shuffle(head)
    return [*head, *tail]
