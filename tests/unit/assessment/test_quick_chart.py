"""A changed chart takes from the true one what it shares with it: never what it doesn't."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pytest
from trainer.assessment.wrong_rules.quick_chart import REFUSALS, QuickChart, holds

from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.mutants import mutants
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, UnsettledError

POINTS = 40
CALM = (
    "self_test_passed", "electrical_ok", "servo_ok", "attitude_valid", "bank_allows_engagement",
    "pitch_allows_engagement", "engagement_height_reached", "airspeed_above_lowest",
    "airspeed_below_highest", "course_signal_valid", "source_is_approach", "source_has_glidepath",
    "glidepath_signal_valid",
)  # fmt: skip
HAPPENING = (
    "altitude_distant", "altitude_capture_reached", "course_capture_reached",
    "captured_altitude_reached", "glidepath_reached", "below_glidepath", "underspeed_reached",
)  # fmt: skip


def plain_step(
    quick: QuickChart, configuration: Configuration, bits: int, event: str
) -> Configuration | None:
    """Return what a microstep leads to by the definition: each row's first that holds."""
    moves = []
    for index, state in enumerate(configuration):
        entries = quick.entries((event, index, state))
        moves.append(next((to for tests, to in entries if holds(tests, configuration, bits)), None))
    if all(to is None for to in moves):
        return None
    return tuple(to or state for to, state in zip(moves, configuration, strict=True))


def plain_settle(quick: QuickChart, configuration: Configuration, bits: int) -> Configuration:
    for _ in range(100):
        after = plain_step(quick, configuration, bits, AUTOMATIC)
        if after is None:
            return configuration
        configuration = after
    raise UnsettledError(("a believed rule",))


def plain_send(
    quick: QuickChart, configuration: Configuration, bits: int, event: str
) -> Configuration:
    entries = quick.entries((event, REFUSALS, ""))
    if any(holds(tests, configuration, bits) for tests, _ in entries):
        return configuration
    after = plain_step(quick, configuration, bits, event)
    return configuration if after is None else plain_settle(quick, after, bits)


def changed_charts(library: Library, chance: random.Random) -> dict[str, QuickChart]:
    """Return charts changed in every way that there is."""
    truth, beliefs = library.truth, list(library.beliefs.values())
    made = mutants(truth, library.logic.installation.chart)
    one, other = beliefs[0], next(b for b in beliefs if not b.rows & beliefs[0].rows)
    row = chance.choice(truth.rows)
    found = {name: made[name].quick for name in chance.sample(sorted(made), 60)}
    found |= {belief.id: belief.quick for belief in beliefs}
    found["two at once"] = one.quick.overlaid(other.quick, other.rows)
    found["forced"] = truth.forced(row, "")
    found["a change of a change"] = one.quick.forced(row, row[2])
    return found


def points_on_a_walk(library: Library, chance: random.Random) -> list[tuple[Configuration, int]]:
    """Return places, with signals, that a walk of the true chart comes through."""
    machine, events = library.logic.machine, list(library.truth.chart.events)
    found = []
    here = machine.initial
    for _ in range(POINTS):
        names = [name for name in CALM if chance.random() < 0.97]
        names += [name for name in HAPPENING if chance.random() < 0.3]
        bits = machine.bits(names)
        here = library.truth.settle(here, bits)
        found.append((here, bits))
        here = library.truth.send(here, bits, chance.choice(events))
    return found


def rest(lead: Callable[..., Configuration], *given: Any) -> Configuration | None:
    """Return where something leads, or None if it never comes to rest."""
    try:
        return lead(*given)
    except UnsettledError:
        return None


@pytest.mark.parametrize("seed", [1, 2])
def test_a_changed_chart_walks_as_its_own_rows_say(amber: Library, seed: int) -> None:
    chance = random.Random(seed)
    events = list(amber.truth.chart.events)
    points = points_on_a_walk(amber, chance)
    parted: set[str] = set()
    for name, quick in changed_charts(amber, chance).items():
        for here, bits in points:
            event = chance.choice(events)
            at_rest = plain_step(quick, here, bits, AUTOMATIC) is None
            assert quick.is_at_rest(here, bits) == at_rest, name
            then = rest(plain_settle, quick, here, bits)
            assert rest(quick.settle, here, bits) == then, name
            expected = rest(plain_send, quick, here, bits, event)
            assert rest(quick.send, here, bits, event) == expected, name
            if not at_rest or expected != amber.truth.send(here, bits, event):
                parted.add(name)
    assert len(parted) > 20, "the changes must show, or this test compares nothing"
