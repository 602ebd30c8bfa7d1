"""What somebody foresees who holds a wrong rule is what their whole chart does, fired in full."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from trainer.assessment.wrong_rules.library import Library
from trainer.charts.kernel import Outcome, UnsettledError
from trainer.charts.machine import ModeMachine

SENDS = 150
CALM = frozenset({
    "self_test_passed", "electrical_ok", "servo_ok", "attitude_valid", "bank_allows_engagement",
    "pitch_allows_engagement", "engagement_height_reached", "airspeed_above_lowest",
    "airspeed_below_highest", "course_signal_valid", "source_is_approach",
    "source_has_glidepath", "glidepath_signal_valid", "below_glidepath",
})  # fmt: skip
"""Mostly true, so that much can be engaged."""


def told(outcome: Outcome) -> tuple[object, ...]:
    """Return all of an outcome that a session reads, by name."""
    refusal = outcome.refusal.id if outcome.refusal is not None else None
    fired = [(firing.rule.id, firing.left, firing.entered) for firing in outcome.firings]
    return outcome.configuration, refusal, fired


@pytest.fixture(params=["amber", pytest.param("slate", marks=pytest.mark.long)])
def library(request: pytest.FixtureRequest) -> Library:
    return request.getfixturevalue(request.param)


def moment(machine: ModeMachine, chance: random.Random) -> int:
    """Return signals under which much can be engaged and something happens now and then."""
    return machine.bits(
        name for name in machine.signal_bit if chance.random() < (0.95 if name in CALM else 0.3)
    )


def test_every_belief_does_what_its_chart_does(library: Library) -> None:
    differences = unsettled = 0
    for name, belief in library.beliefs.items():
        believed, whole = belief.logic.machine, ModeMachine(belief.chart)
        chance = random.Random(name)
        configuration = whole.initial
        for _ in range(SENDS):
            bits = moment(whole, chance)
            event = chance.choice(list(whole.chart.events))
            try:
                configuration = whole.settle(configuration, bits).configuration
                outcome = whole.send(configuration, bits, event)
            except UnsettledError:
                unsettled += 1
                with pytest.raises(UnsettledError):
                    believed.send(believed.settle(configuration, bits).configuration, bits, event)
                configuration = whole.initial
                continue
            assert told(believed.send(configuration, bits, event)) == told(outcome), name
            differences += (
                outcome.configuration
                != library.logic.machine.send(configuration, bits, event).configuration
            )
            configuration = outcome.configuration
    assert differences > len(library.beliefs)  # they are held at all
    assert unsettled < SENDS


def test_the_library_of_machines_fires_for_the_truth_alone(library: Library) -> None:
    assert library.logic.machine.machines
    belief = next(iter(library.beliefs.values()))
    assert belief.logic.machine.machines == ()
    assert belief.logic.installation == replace(library.logic.installation, chart=belief.chart)
