"""Simulated members whose wrong rule the diagnosis doesn't know, made apart from its hypotheses.

Two sorts: written misconceptions that are held out (library and bank are built anew without them),
and random changes of the chart's table, drawn without regard to any rule that is there.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence

from trainer.assessment.figures.simulated_member import FlownItems
from trainer.assessment.items.bank import Bank
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.charts.kernel import Entry, Kernel, Overlay, Row, Test, made_up
from trainer.charts.spec import RegionSpec

_MODES = ("engagement", "active", "armed")
_LOOKED_AT = 600
_LEAST_SHOWN = 0.003
"""Share of the bank's items that a random change must show in: 1 of 300, as the rarest written."""


def folds(held: Sequence[Misconception], count: int, seed: int) -> list[list[Misconception]]:
    """Return the misconceptions in so many parts, mixed by a seed."""
    mixed = list(held)
    random.Random(f"folds {seed}").shuffle(mixed)  # noqa: S311 - a simulation
    return [mixed[place::count] for place in range(count)]


def held_out(library: Library, names: Iterable[str]) -> dict[str, Kernel]:
    """Return what members believe who hold these misconceptions.

    Args:
        library: A library that has them.
        names: Their ids.
    """
    return {name: library.beliefs[name].kernel for name in names if name in library.beliefs}


def random_changes(
    library: Library, bank: Bank, flown: FlownItems, count: int, seed: int
) -> dict[str, Kernel]:
    """Return charts in which an event does something else, under a condition drawn at random.

    Args:
        library: The installation's library.
        bank: Its items: a change must show in some, and not answer as a listed rule does.
        flown: The items flown.
        count: How many are wanted.
        seed: Which.
    """
    found: dict[str, Kernel] = {}
    number = 0
    while len(found) < count:
        number += 1
        chance = random.Random(f"change {seed} {number}")  # noqa: S311 - a simulation
        kernel = _changed(library, chance)
        looked_at = chance.sample(bank.items, min(_LOOKED_AT, len(bank.items)))
        shows = {i.id: a for i in looked_at if (a := flown.answer(i, kernel)) != i.true}
        if len(shows) < _LEAST_SHOWN * len(looked_at):
            continue
        alike = (
            name
            for name in bank.exposed
            if shows == {i.id: i.answers[name] for i in looked_at if name in i.answers}
        )
        if next(alike, None) is None:
            found[f"change {number}"] = kernel
    return found


def _changed(library: Library, chance: random.Random) -> Kernel:
    chart = library.logic.installation.chart
    regions = [(n, r) for n, r in enumerate(chart.regions.values()) if r.kind in _MODES]
    event = chance.choice(list(chart.events))
    test = _condition(regions, library.truth, chance)
    rows: dict[Row, tuple[Entry, ...]] = {}
    for number, region in chance.sample(regions, chance.choice((1, 1, 2))):
        target = chance.choice(list(region.states))
        for state in region.states:
            if state != target:
                row = (event, number, state)
                rows[row] = (
                    Entry((test,), target, made_up(region.id)),
                    *library.truth.entries(row),
                )
    return Overlay(library.truth, rows)


def _condition(regions: list[tuple[int, RegionSpec]], truth: Kernel, chance: random.Random) -> Test:
    """Return a condition on a signal, or on half the states of a region, or on both, or none."""
    mask = 1 << chance.choice(list(truth.signal_bit.values())) if chance.random() < 0.3 else 0
    value = mask if chance.random() < 0.5 else 0
    if chance.random() < 0.4:
        return Test(0, mask, value)
    number, region = chance.choice(regions)
    states = list(region.states)
    chance.shuffle(states)
    return Test(truth.barring(number, states[: max(1, len(states) // 2)]), mask, value)
