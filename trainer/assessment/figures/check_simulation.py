"""Error rates and consistency of the club's check, from members with a known share of right."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trainer.assessment.check.check import Check
from trainer.assessment.check.check_form import CheckForm, CheckPlan, draw_form
from trainer.assessment.figures.simulation import Figure, Lengths, Share
from trainer.assessment.items.bank import Bank


@dataclass(frozen=True, slots=True)
class Consistency:
    """Agreement of the decisions of two parallel forms.

    `kappa` is agreement beyond chance (Cohen 1960, from memory).
    """

    share: Share
    kappa: float


def error_rates(bank: Bank, plan: CheckPlan, count: int, seed: int) -> tuple[Figure, Figure]:
    """Return false passes at the non-master's and false fails at the master's share of right."""
    found = []
    for name, share, wrong in (
        ("false_pass", plan.rates.nonmaster, True),
        ("false_fail", plan.rates.master, False),
    ):
        errors, lengths = 0, []
        for number in range(count):
            chance = random.Random(f"{name} {seed} {number}")  # noqa: S311 - a simulation
            check = _play(draw_form(bank, plan, seed * 1_000_003 + number), plan, share, chance)
            errors += (check.outcome().decision == "pass") == wrong
            lengths.append(len(check.answers))
        found.append(Figure(name, Share(errors, count), Lengths(tuple(lengths))))
    return found[0], found[1]


def competency_rates(bank: Bank, plan: CheckPlan, count: int, seed: int) -> tuple[Figure, Figure]:
    """Return how often a competency is told ready: of members weak in it alone, of ready ones.

    Weak: right at the non-master's share there, at the master's everywhere else. Each member is
    weak in another competency, in turn.
    """
    names = sorted({item.competency for item in bank.items if not item.is_sequence})
    found = []
    for figure, share in (
        ("weak_told_ready", plan.rates.nonmaster),
        ("ready_told_ready", plan.rates.master),
    ):
        ready, lengths = 0, []
        for number in range(count):
            chance = random.Random(f"{figure} {seed} {number}")  # noqa: S311 - a simulation
            form = draw_form(bank, plan, seed * 5_000_011 + number)
            weak = names[number % len(names)]
            check = _play(form, plan, plan.rates.master, chance, {weak: share})
            results = check.outcome().competencies
            ready += any(one.competency == weak and check.is_ready(one) for one in results)
            lengths.append(len(check.answers))
        found.append(Figure(figure, Share(ready, count), Lengths(tuple(lengths))))
    return found[0], found[1]


def form_consistency(bank: Bank, plan: CheckPlan, count: int, seed: int) -> Consistency:
    """Return how often two parallel forms decide alike, half the members being masters."""
    decisions: list[tuple[bool, bool]] = []
    for number in range(count):
        chance = random.Random(f"forms {seed} {number}")  # noqa: S311 - a simulation
        share = plan.rates.master if number % 2 else plan.rates.nonmaster
        first = draw_form(bank, plan, seed * 2_000_003 + number)
        used = {item.id for item in (*first.items, *first.spare[:10])}
        second = draw_form(bank, plan, seed * 3_000_017 + number, used)
        pair = [_play(form, plan, share, chance).outcome().decision == "pass"
                for form in (first, second)]  # fmt: skip
        decisions.append((pair[0], pair[1]))
    alike = sum(one == other for one, other in decisions)
    passed = [sum(pair[side] for pair in decisions) / count for side in (0, 1)]
    by_chance = passed[0] * passed[1] + (1.0 - passed[0]) * (1.0 - passed[1])
    kappa = (alike / count - by_chance) / (1.0 - by_chance) if by_chance < 1.0 else 1.0
    return Consistency(Share(alike, count), kappa)


def _play(
    form: CheckForm,
    plan: CheckPlan,
    share: float,
    chance: random.Random,
    shares: Mapping[str, float] = MappingProxyType({}),
) -> Check:
    """Answer a check; `shares` of right answers by competency, where it isn't `share`."""
    check = Check(plan, form)
    while (item := check.next_item()) is not None:
        is_right = chance.random() < shares.get(item.competency, share)
        answer = item.true if is_right else item.true.with_cell("alert", "not_an_alert")
        check.answer(item, answer, "think_so")
    return check
