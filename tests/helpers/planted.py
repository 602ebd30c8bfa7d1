"""Pairs of installations that differ in one option, and two ways to hold a comparison to them.

What a comparison missed is looked for by walking both ships side by side on the machines
themselves, at random; what it invented, by firing the machines along the way that it names. Neither
uses the tables and cubes with which the product is searched.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass, replace

from tests.helpers.situations import workspace
from trainer.assessment.differences.differences_impact import changed_rules
from trainer.charts.compare import Comparison, Difference
from trainer.charts.conflicts import signal_constraints
from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation, OptionValue
from trainer.charts.kernel import AUTOMATIC, Outcome
from trainer.charts.machine import ModeMachine
from trainer.charts.shown import Shown, shown
from trainer.charts.specialise import specialise

SMALL = {
    "level_recovery": "not_fitted",
    "underspeed_protection": "not_fitted",
    "overspeed_protection": "not_fitted",
    "airspeed_hold": "not_fitted",
}
"""Fewer modes fitted: the same logic with a smaller product, so that many pairs can be walked."""
_NEEDS = {
    "hand_steering_release": ("hand_steering", "fitted"),
    "level_recovery_below_minimum_height": ("level_recovery", "fitted"),
}
"""Options that decide nothing on the strip unless another option is chosen so."""
_FEWER = {"hand_steering": "not_fitted", "back_course": "not_fitted"}
_EASED = ("engagement_height_reached", "self_test_passed", "attitude_valid", "servo_ok",
          "electrical_ok", "course_signal_valid", "source_is_approach")  # fmt: skip
"""Signals without which little happens; a random walk begins with them and seldom loses them."""
_STAYS = 0.9
Parting = tuple[str, tuple[tuple[str, str, str], ...], str, str]
"""Event, (region, first, second) where the strips differ, both refusals."""


def variant(base: Installation, **choices: str) -> Installation:
    """Return the installation with some options chosen otherwise."""
    options = dict(base.options)
    for name, choice in choices.items():
        options[name] = OptionValue(name, choice)
    chart = specialise(base.generic, {name: value.choice for name, value in options.items()})
    return replace(base, options=options, chart=chart)


def edited_so_that(base: Installation, rules: Iterable[str]) -> Installation:
    """Return an installation with the first option changed that changes one of some rules."""
    for option in base.generic.options.values():
        for choice in option.choices:
            edited = variant(base, **{option.id: choice})
            if set(changed_rules(base, edited)) & set(rules):
                return edited
    raise AssertionError("no option changes these rules")


@dataclass(frozen=True)
class PlantedPair:
    """Two installations and the one option in which they differ."""

    option: str
    first: Installation
    second: Installation


def planted_pairs(
    count: int,
    seed: int,
    base: Installation | None = None,
    kept: dict[str, str] | None = None,
    names: tuple[str, ...] = (),
) -> list[PlantedPair]:
    """Return random installations, each with a twin that differs in one option only.

    Args:
        count: How many; each option is planted in its turn.
        seed: Same seed, same pairs.
        base: What else the installations are; None: a shipped one.
        kept: Options that aren't drawn, with their choice; None: those that keep it small.
        names: Options that are planted; empty: all.
    """
    generator = random.Random(seed)
    ship = workspace().installation("ship_amber") if base is None else base
    kept = SMALL | _FEWER if kept is None else kept
    names = names or tuple(ship.generic.options)
    pairs = []
    for number in range(count):
        planted = names[number % len(names)]
        choices = {
            name: generator.choice(list(spec.choices))
            for name, spec in ship.generic.options.items()
        }
        choices |= kept
        if planted in _NEEDS:
            needed, choice = _NEEDS[planted]
            choices[needed] = choice
        others = [c for c in ship.generic.options[planted].choices if c != choices[planted]]
        twin = {**choices, planted: generator.choice(others)}
        pairs.append(PlantedPair(planted, variant(ship, **choices), variant(ship, **twin)))
    return pairs


def parting_of(one: Difference) -> Parting:
    """Return what a reported difference says."""
    return one.event, one.contrast, one.first.refusal, one.second.refusal


def partings_met(pair: PlantedPair, walks: int, steps: int, seed: int) -> dict[Parting, Shown]:
    """Walk both ships side by side on their machines; return where they parted, and the strip.

    Args:
        pair: Ships whose limits are the same, so that their signals are too.
        walks: Walks from the beginning; each ends where the ships part.
        steps: Events of a walk at most.
        seed: Same seed, same walks.
    """
    chance = random.Random(seed)
    sides = (_Side(pair.first), _Side(pair.second))
    events = [e for e in pair.first.chart.events if e in pair.second.chart.events]
    found: dict[Parting, Shown] = {}
    for _ in range(walks):
        _walk(sides, events, chance, steps, found)
    return found


class _Side:
    def __init__(self, ship: Installation) -> None:
        self.ship = ship
        self.machine = ModeMachine(ship.chart)

    def read(self, configuration: Configuration) -> Shown:
        return shown(self.ship.chart, self.ship.generic, configuration)

    def act(self, configuration: Configuration, event: str, bits: int) -> Outcome:
        if event == AUTOMATIC:
            return self.machine.settle(configuration, bits)
        is_selector = bool(self.ship.chart.events[event].changes)
        return self.machine.send(configuration, bits, event, settle_first=not is_selector)


def _walk(
    sides: tuple[_Side, _Side], events: list[str], chance: random.Random, steps: int,
    found: dict[Parting, Shown],
) -> None:  # fmt: skip
    here = [side.machine.initial for side in sides]
    chart = sides[0].ship.chart
    bits = sides[0].machine.bits(name for name in _EASED if name in chart.signals)
    for step in range(2 * steps):
        event = AUTOMATIC if step % 2 == 0 else chance.choice(events)
        if event == AUTOMATIC or chart.events[event].changes:
            wanted = None if event == AUTOMATIC else set(chart.events[event].changes)
            bits = _new_bits(sides[0].machine, bits, wanted, chance)
        before = sides[0].read(here[0])
        ends = [side.act(at, event, bits) for side, at in zip(sides, here, strict=True)]
        reads = [side.read(end.configuration) for side, end in zip(sides, ends, strict=True)]
        refusals = [end.refusal.id if end.refusal is not None else "" for end in ends]
        if reads[0] != reads[1] or refusals[0] != refusals[1]:
            contrast = tuple(
                (region, mine, theirs)
                for (region, mine), (_, theirs) in zip(*reads, strict=True)
                if mine != theirs and refusals[0] == refusals[1]
            )
            found.setdefault((event, contrast, refusals[0], refusals[1]), before)
            return
        here = [end.configuration for end in ends]


def _new_bits(machine: ModeMachine, bits: int, free: set[str] | None, chance: random.Random) -> int:
    """Return a physically possible valuation, a signal or two turned over, with what that implies.

    Of a selector only what it can change is free.
    """
    implies, excludes = signal_constraints(machine.chart)
    names = [name for name in machine.signal_bit if free is None or name in free]
    true = set(machine.signal_names(bits))
    for name in chance.sample(names, min(len(names), chance.choice((1, 1, 2, 3)))):
        if name in true and not (name in _EASED and chance.random() < _STAYS):
            true -= {one for one in machine.signal_bit if name == one or name in implies[one]}
        elif name not in true:
            gained = {name, *implies[name]}
            lost = {one for other in gained for one in excludes[other]}
            lost |= {one for one in machine.signal_bit if implies[one] & lost}
            true = (true | gained) - lost
    turned = true ^ set(machine.signal_names(bits))
    return bits if free is not None and not turned <= free else machine.bits(true)


def replayed(one: Difference, pair: PlantedPair) -> Parting | None:
    """Fire both ships' machines along the way that a difference names; None if they part before."""
    sides = (_Side(pair.first), _Side(pair.second))
    here = [side.machine.initial for side in sides]
    for move in one.path:
        here = [
            side.act(at, move.event, move.cube[0]).configuration
            for side, at in zip(sides, here, strict=True)
        ]
        if sides[0].read(here[0]) != sides[1].read(here[1]):
            return None
    ends = [side.act(at, one.event, one.cube[0]) for side, at in zip(sides, here, strict=True)]
    reads = [side.read(end.configuration) for side, end in zip(sides, ends, strict=True)]
    refusals = [end.refusal.id if end.refusal is not None else "" for end in ends]
    contrast = tuple(
        (region, mine, theirs)
        for (region, mine), (_, theirs) in zip(*reads, strict=True)
        if mine != theirs and refusals[0] == refusals[1]
    )
    return one.event, contrast, refusals[0], refusals[1]


@dataclass(frozen=True)
class Verdict:
    """What a comparison of a planted pair came to.

    Attributes:
        missed: Partings met on the machines that it doesn't report.
        invented: Differences that don't come about on the machines, or are laid to another cause.
        kinds: Kinds of situation reported.
        unseen: Events reported that do something else, unseen on the strip.
        fitted: Keys reported that only one of them has.
        met: Partings met at random.
        is_named: The planted option is told, as a cause of situations or as a value.
    """

    option: str
    kinds: int
    unseen: int
    fitted: int
    met: int
    missed: tuple[Parting, ...]
    invented: tuple[Parting, ...]
    is_named: bool


def judged(pair: PlantedPair, found: Comparison, walks: int, steps: int, seed: int) -> Verdict:
    """Hold a comparison to the machines."""
    reported = {parting_of(one) for one in found.differences}
    met = partings_met(pair, walks, steps, seed)
    cause = f"option:{pair.option}"
    invented = [
        parting_of(one)
        for one in found.differences
        if replayed(one, pair) != parting_of(one) or one.causes != (cause,)
    ]
    named = {value.cause for value in found.values}
    return Verdict(
        pair.option, len(found.differences), len(found.unseen),
        sum(name.startswith("fitted:") for name in named), len(met),
        tuple(one for one in met if one not in reported), tuple(invented), cause in named,
    )  # fmt: skip
