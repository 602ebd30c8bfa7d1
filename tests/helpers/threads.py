"""Flights by chance that several threads fly at once on one logic, and what each shows alone."""

from __future__ import annotations

import random
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial

from tests.helpers.situations import intercept
from trainer.charts.guard import Configuration
from trainer.charts.machine import ModeMachine
from trainer.session.annunciation import Annunciation
from trainer.session.logic import Logic
from trainer.session.session import Session

ACTS = 40
STEPS = 4
Strips = tuple[tuple[Configuration, int, Annunciation], ...]


def flight(begun: Session, logic: Logic, seed: int) -> Strips:
    """Return what a flight shows after each of some keys, turns and steps by chance."""
    chance, session = random.Random(seed), begun.fork()
    session.logic = logic
    keys = [event.id for event in logic.machine.chart.events.values() if event.kind == "key"]
    shown = []
    for _ in range(ACTS):
        kind = chance.random()
        if kind < 0.6:
            session.press(chance.choice(keys))
        elif kind < 0.75:
            session.select("selected_altitude_ft", chance.choice((1500.0, 2200.0, 4000.0)))
        elif kind < 0.85:
            session.select("source", chance.choice(("", "approach", "beacon")))
        for _ in range(STEPS):
            session.step()
        shown.append((session.configuration, session.bits, session.annunciation))
    return tuple(shown)


@dataclass
class Together:
    """What several threads found.

    Attributes:
        flights: How many were flown.
        works: How often the work beside them was done.
        differences: Seeds of flights that showed something else than alone.
        errors: What went wrong in any of them.
    """

    flights: int = 0
    works: int = 0
    differences: list[int] = field(default_factory=list)
    errors: list[BaseException] = field(default_factory=list)

    @property
    def is_sound(self) -> bool:
        """True if every flight was as alone."""
        return not self.differences and not self.errors


@contextmanager
def switching_often() -> Iterator[None]:
    """Let the interpreter change threads as often as it can."""
    before_s = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        yield
    finally:
        sys.setswitchinterval(before_s)


def flown_together(
    logic: Logic,
    alone: dict[int, Strips],
    duration_s: float,
    beside: Sequence[Callable[[], object]] = (),
) -> Together:
    """Fly the same flights in four threads on one logic until time is up; stop at a difference.

    Args:
        logic: What all share.
        alone: Seed -> what that flight shows by itself.
        duration_s: How long.
        beside: What a fifth thread does all the while, each at least once.
    """
    found, end_s = Together(), time.monotonic() + duration_s
    begun = intercept(logic.installation.id)

    def is_over() -> bool:
        return time.monotonic() > end_s or not found.is_sound

    def fly(number: int) -> None:
        chance = random.Random(number)
        while not is_over():
            seed = chance.choice(sorted(alone))
            if flight(begun, logic, seed) != alone[seed]:
                found.differences.append(seed)
            found.flights += 1

    def work() -> None:
        while beside and (found.works < len(beside) or not is_over()):
            beside[found.works % len(beside)]()
            found.works += 1

    def caught(run: Callable[[], None]) -> None:
        try:
            run()
        except Exception as error:
            found.errors.append(error)

    jobs = [*(partial(fly, number) for number in range(4)), work]
    threads = [threading.Thread(target=caught, args=(job,)) for job in jobs]
    with switching_often():
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return found


def flights_alone(logic: Logic, count: int) -> dict[int, Strips]:
    """Return seed -> what the flight shows by itself, on a logic that nobody else has."""
    own = Logic(logic.installation)
    begun = intercept(logic.installation.id)
    return {seed: flight(begun, own, seed) for seed in range(count)}


def with_machine(logic: Logic, machine: ModeMachine) -> Logic:
    """Return a logic of the same installation that another machine runs."""
    other = Logic(logic.installation)
    other.machine = machine
    return other
