"""A day of simulated flight in one sitting: nothing grows, and each minute holds what must."""

from __future__ import annotations

import gc
import math
import random
import resource
from collections.abc import Callable
from dataclasses import astuple

import pytest

from trainer.app import Workspace
from trainer.charts.guard import evaluate_at
from trainer.session.faults import FAULTS, faults_of
from trainer.session.selectors import SELECTORS
from trainer.ui.lesson.practice import Practice
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.situations import SITUATIONS

HOURS = 24
SETTLED_H = 4
"""By then everything that is kept for a while is as large as it gets."""
GROWTH_BYTES = 30_000_000
KNOWN = ("selected_altitude_ft", "selected_heading_deg", "selected_course_deg", "power_percent")


def memory_bytes() -> int:
    gc.collect()
    with open("/proc/self/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * resource.getpagesize()


def act_calmly(practice: Practice, chance: random.Random) -> None:
    """Fly on as a pilot on a long way does: another heading, another altitude."""
    practice.select("power_percent", 75.0)
    practice.select("selected_heading_deg", float(chance.randrange(360)))
    practice.select("selected_altitude_ft", float(100 * chance.randrange(40, 70)))
    for key in ("director", "autopilot"):
        if practice.session.annunciation.engagement == "no_guidance" or key == "autopilot":
            practice.press(key)
    practice.press(chance.choice(("heading_select", "course_track", "altitude_hold")))
    practice.press(chance.choice(("vertical_speed", "airspeed_hold", "altitude_hold")))


def act_wildly(practice: Practice, chance: random.Random) -> None:
    """Do anything: a key, a selector, a malfunction that is mended the next time."""
    session = practice.session
    match chance.randrange(4):
        case 0 | 1:
            keys = [e.id for e in session.installation.chart.events.values() if e.kind == "key"]
            practice.press(chance.choice(keys))
        case 2:
            name = chance.choice([name for name in SELECTORS if name in KNOWN])
            practice.select(name, round(chance.uniform(SELECTORS[name].low, SELECTORS[name].high)))
        case _:
            for fault in faults_of(session.flight):
                practice.inject(fault, False)
            if chance.random() < 0.3:
                practice.inject(chance.choice(tuple(FAULTS)), True)


def check(practice: Practice) -> None:
    session = practice.session
    sample = session.flight.sample()
    assert all(math.isfinite(one) for one in astuple(sample) if isinstance(one, float))
    assert 0.0 <= sample.heading_deg <= 360.0
    chart = session.logic.machine.chart
    for one in chart.invariants.values():
        if evaluate_at(one.if_, chart, session.configuration, session.bits):
            assert evaluate_at(one.then, chart, session.configuration, session.bits), one.id


@pytest.mark.long
@pytest.mark.parametrize(("ship", "act"), [("ship_amber", act_calmly), ("ship_slate", act_wildly)])
def test_a_day_in_the_air(
    ship: str, act: Callable[[Practice, random.Random], None], record_property: Callable
) -> None:
    workspace, chance = Workspace(), random.Random(24)
    start = next(one.start for one in SITUATIONS if one.id == "approach")
    practice = Practice(FreeFlight(lambda: workspace.begin(ship, start)), lambda _answered: None)
    practice.proceed()
    practice.speed = 8
    settled, minutes, flown_s, landings = 0, 0, 0.0, 0
    while flown_s + practice.session.t_s < HOURS * 3600:
        practice.is_running = True
        practice.tick(0.25)
        if flown_s + practice.session.t_s >= 60 * (minutes + 1):
            minutes += 1
            act(practice, chance)
            check(practice)
            if minutes == SETTLED_H * 60:
                settled = memory_bytes()
            if practice.session.flight.sample().on_ground:
                flown_s, landings = flown_s + practice.session.t_s, landings + 1
                practice.restart()
    grown = memory_bytes() - settled
    record_property("grown_bytes", grown)
    record_property("landings", landings)
    print(f"{ship}: {minutes} minutes, {landings} begun again, {grown / 1e6:.1f} MB grown")  # noqa: T201
    assert grown < GROWTH_BYTES
