"""The library fires what the kernel decides, nothing else, and threads share nothing in it."""

from __future__ import annotations

from contextlib import suppress
from functools import cache
from typing import Any as AnyType

import pytest

from tests.helpers.charts import microstep
from tests.helpers.definition import sends, sent
from tests.helpers.situations import intercept, workspace
from tests.helpers.threads import Strips, flight, flights_alone, flown_together, with_machine
from trainer.charts.explore import explore
from trainer.charts.kernel import AUTOMATIC, Firing, Microstep, Outcome, UnknownEventError
from trainer.charts.machine import ModeMachine
from trainer.charts.smallest import lamp
from trainer.lesson.coverage import cover
from trainer.lesson.flown import fly
from trainer.lesson.runner import LessonRunner
from trainer.session.logic import Logic
from trainer.session.start import begin

ENOUGH = 500
"""Configurations of an exploration beside flights."""
SHIPS = ("ship_amber", "ship_slate")


def _fired_otherwise(machine: ModeMachine, outcome: Outcome, bits: int) -> list[object]:
    """Return the microsteps in which the library, asked for every region, fires something else."""
    found: list[object] = []
    for step in outcome.steps:
        _, fired = microstep(machine, machine.kernel.unpack(step.code), bits, step.event)
        if fired != step.firings:
            found.append((step, fired))
    return found


@pytest.mark.parametrize("ship", SHIPS)
@pytest.mark.parametrize("count", [1_500, pytest.param(50_000, marks=pytest.mark.long)])
def test_the_library_fires_what_the_kernel_decides_wherever_a_walk_comes(
    ship: str, count: int
) -> None:
    machine = workspace().logic(ship).machine
    fired = 0
    for send in sends(machine, count, 11):
        outcome = sent(machine.kernel, send)
        assert _fired_otherwise(machine, outcome, send[1]) == []
        assert sent(machine, send) == outcome
        fired += len(outcome.firings)
    assert fired > count / 2


def test_what_the_library_does_not_fire_is_a_mistake_of_the_program() -> None:
    machine = ModeMachine(lamp())
    machine.machines[0].events["press"].transitions["none"].clear()
    powered = machine.bits(["powered"])
    with pytest.raises(RuntimeError, match="'lights' was decided and not fired"):
        machine.send(("none",), powered, "press")
    assert _fired_otherwise(machine, machine.kernel.send(("none",), powered, "press"), powered)


def test_what_the_library_fires_otherwise_is_a_mistake_of_the_program() -> None:
    machine, other = ModeMachine(lamp()), ModeMachine(lamp("ignored"))
    machine.machines = other.machines  # the key again does nothing there
    powered = machine.bits(["powered"])
    assert machine.send(("none",), powered, "press").configuration == ("lit",)
    with pytest.raises(RuntimeError, match="'goes_off' was decided and not fired"):
        machine.send(("lit",), powered, "press")
    settles = ModeMachine(lamp())
    settles.machines[0].events[AUTOMATIC].transitions["lit"].clear()
    with pytest.raises(RuntimeError, match="'fails'"):
        settles.settle(("lit",), 0)


def test_what_the_library_fires_beside_what_is_decided_is_noticed_by_the_walk() -> None:
    machine, silent = ModeMachine(lamp()), ModeMachine(lamp("ignored"))
    silent.machines = machine.machines
    powered = silent.bits(["powered"])
    outcome = silent.kernel.send(("lit",), powered, "press")
    assert outcome.firings == ()
    assert _fired_otherwise(silent, outcome, powered)


def test_an_event_of_no_chart_is_refused_by_name() -> None:
    machine = ModeMachine(lamp())
    with pytest.raises(UnknownEventError, match="no event 'pull'; accepted: press"):
        machine.send(("none",), 0, "pull")


# ---------------------------------------------------------------- threads


class SharedModel(ModeMachine):
    """A machine as it must not be: all calls fire one and the same model."""

    def __init__(self, like: ModeMachine) -> None:
        super().__init__(like.chart)
        self._model: AnyType = type("Shared", (), {})()

    def fire(self, index: int, state: str, step: Microstep, bits: int) -> Firing | None:
        event, model = self.machines[index].events.get(step.event), self._model
        model.state, model.rule = state, None
        if event is None or not event.trigger(model, code=step.code, bits=bits):
            return None
        return Firing(model.rule, state, model.state) if model.rule is not None else None


@cache
def _alone(ship: str) -> dict[int, Strips]:
    return flights_alone(workspace().logic(ship), 8)


@pytest.mark.parametrize("ship", SHIPS)
@pytest.mark.parametrize("duration_s", [1.0, pytest.param(60.0, marks=pytest.mark.long)])
def test_four_threads_on_one_logic_fly_as_each_flies_alone(ship: str, duration_s: float) -> None:
    found = flown_together(Logic(workspace().installation(ship)), _alone(ship), duration_s)
    assert (found.differences, found.errors) == ([], [])
    assert found.flights >= 4


@pytest.mark.parametrize("duration_s", [2.0, pytest.param(60.0, marks=pytest.mark.long)])
def test_exploring_and_covering_beside_a_flight_change_nothing_in_it(duration_s: float) -> None:
    ship = "ship_amber"
    logic = Logic(workspace().installation(ship))
    lesson = workspace().lesson(workspace().lesson_paths[0])
    aircraft = workspace().aircraft(logic.installation.aircraft)

    def exploring() -> None:
        with suppress(_EnoughError):
            explore(logic.machine.kernel, _enough)

    def covering() -> None:
        runner = LessonRunner(lesson, lambda: begin(logic, aircraft, lesson.start))
        covered = cover(logic.installation, [(lesson.id, fly(runner))])
        assert any(item.lessons for item in covered.of("state"))

    found = flown_together(logic, _alone(ship), duration_s, (exploring, covering))
    assert (found.differences, found.errors) == ([], [])
    assert found.flights >= 4
    assert found.works >= 2


class _EnoughError(Exception):
    """Ends an exploration that has gone on long enough."""


def _enough(done: int, _known: int) -> None:
    if done >= ENOUGH:
        raise _EnoughError


def test_a_model_that_calls_share_is_caught_by_the_same_flights() -> None:
    logic = workspace().logic("ship_amber")
    wrong = with_machine(logic, SharedModel(logic.machine))
    assert flights_alone(logic, 2) == {seed: _alone("ship_amber")[seed] for seed in range(2)}
    found = flown_together(wrong, _alone("ship_amber"), 30.0)
    assert not found.is_sound, "one model for four threads must show"


def test_a_shared_model_in_one_thread_is_no_difference() -> None:
    logic = workspace().logic("ship_amber")
    wrong = with_machine(logic, SharedModel(logic.machine))
    assert flight(intercept("ship_amber"), wrong, 0) == _alone("ship_amber")[0]
