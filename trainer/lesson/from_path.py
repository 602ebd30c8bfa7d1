"""A path of the exploration as a lesson: flown first, so that what it shows can be seen.

The exploration lets signals change at will. Here a flight is looked for in which they come about:
begun in the modes before one of the path's steps, as early as a flight can begin, its keys pressed,
its losses brought about as malfunctions, the rest waited for. Only a flight that breaks the
invariant counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.charts.explore import Edge, Violation
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, holds
from trainer.charts.spec import All, ChartSpec, Not
from trainer.flight import AircraftSpec
from trainer.lesson.spec import Do, Inject, Lesson, Predict, Say, Set, Step, Wait
from trainer.lesson.writer import write_lesson
from trainer.session.example import try_begin
from trainer.session.example_scene import ExampleScene, example_scenes, with_modes
from trainer.session.faults import faults_of
from trainer.session.logic import Logic
from trainer.session.selectors import SELECTORS
from trainer.session.session import STEP_S, Session
from trainer.session.situation import StartModes

_FAULTS = {
    "self_test_passed": "electrical",
    "servo_ok": "servo",
    "attitude_valid": "attitude",
    "electrical_ok": "electrical",
    "course_signal_valid": "navigation",
    "glidepath_signal_valid": "glidepath",
}
"""Signal -> the malfunction that takes it away."""
_LONGEST_WAIT_S = 60.0
_LOOK_S = 2.0
"""Flown on after the last step."""
_TURN_FT = 1500.0
_INSIDE = ("autopilot", "director", "no_guidance")


@dataclass(frozen=True, slots=True)
class ShownViolation:
    """A lesson that shows a violation.

    Attributes:
        text: The lesson, as YAML.
        events: What happens in it from its start on, `automatic` for a wait or a malfunction.
    """

    text: str
    events: tuple[str, ...]


def lesson_from_path(
    logic: Logic, aircraft: AircraftSpec, violation: Violation
) -> ShownViolation | None:
    """Return a lesson that breaks an invariant when it is flown, or None if none was found.

    Args:
        logic: The logic in which it was found.
        aircraft: The aircraft that flies.
        violation: What the exploration found.
    """
    search = _Search(logic, aircraft, violation)
    for place in range(len(violation.path) + 1):
        modes = _modes(logic.installation.chart, _configuration(violation, place))
        if modes is None:
            continue
        for scene in example_scenes(logic.installation):
            steps = search.fly(scene, modes, violation.path[place:])
            if steps is not None:
                events = tuple(edge.event for edge in violation.path[place:])
                return ShownViolation(_text(logic, violation, scene, modes, steps), events)
    return None


class _Search:
    def __init__(self, logic: Logic, aircraft: AircraftSpec, violation: Violation) -> None:
        self._logic, self._aircraft = logic, aircraft
        invariant = violation.invariant
        self._broken = logic.machine.kernel.tests(All((invariant.if_, Not(invariant.then))))
        self._names = violation.all_signals

    def fly(
        self, scene: ExampleScene, modes: StartModes, path: tuple[Edge, ...]
    ) -> list[Step] | None:
        """Return the steps that lead from a start to a broken invariant, None if they don't."""
        session = try_begin(self._logic, self._aircraft, with_modes(scene, modes))
        return self._follow(session, path) if session is not None else None

    def _follow(self, session: Session, path: tuple[Edge, ...]) -> list[Step] | None:
        """Follow what is left of the path; the invariant counts only after something was done."""
        if not path:
            waited_s = self._wait(session.fork(), until_broken=True)
            return [Wait(waited_s)] if waited_s is not None else None
        mended = self._mended(path[0], session)
        for step in self._ways(path[0], session):
            fork = session.fork()
            for one in mended:
                fork.inject(one.fault, False)
            done = self._do(fork, step)
            if done is None:
                continue
            rest = [] if self._is_broken(fork) else self._follow(fork, path[1:])
            if rest is not None:
                return [*mended, done, *rest]
        return None

    def _mended(self, edge: Edge, session: Session) -> list[Inject]:
        """Return the ends of malfunctions that an edge can't do with."""
        true = {name for bit, name in enumerate(self._names) if edge.cube[0] >> bit & 1}
        needed = {fault for name, fault in _FAULTS.items() if name in true}
        return [Inject(one, False) for one in faults_of(session.flight) if one in needed]

    def _ways(self, edge: Edge, session: Session) -> Iterator[Step]:
        """Yield what may bring an edge about: a key or selector, a malfunction, or waiting."""
        if edge.event == SELECTORS["selected_altitude_ft"].event:
            selected_ft = session.references.selected_altitude_ft
            for turn_ft in (_TURN_FT, -_TURN_FT):
                yield Set((("selected_altitude_ft", selected_ft + turn_ft),))
        elif edge.event != AUTOMATIC:
            yield Do(edge.event)
        else:
            for bit, name in enumerate(self._names):
                if name in _FAULTS and edge.cube[1] >> bit & 1:
                    yield Inject(_FAULTS[name])
            yield Wait(_LONGEST_WAIT_S)

    def _do(self, session: Session, step: Step) -> Step | None:
        """Do a step and return it as it was done; None if nothing comes of waiting."""
        match step:
            case Do(event):
                session.press(event)
            case Set(((name, value),)):
                session.select(name, value)
            case Inject(fault):
                session.inject(fault)
            case Wait():
                waited_s = self._wait(session, until_broken=False)
                return Wait(waited_s) if waited_s is not None else None
        return step

    def _wait(self, session: Session, *, until_broken: bool) -> float | None:
        """Fly on until the logic moves or the invariant is broken; return how long, or None."""
        start, waited_s = session.configuration, 0.0
        while waited_s < _LONGEST_WAIT_S:
            session.step()
            waited_s = round(waited_s + STEP_S, 2)
            if self._is_broken(session):
                return waited_s
            if not until_broken and session.configuration != start:
                return waited_s
        return None

    def _is_broken(self, session: Session) -> bool:
        code = self._logic.machine.kernel.pack(session.configuration)
        return holds(self._broken, code, session.bits)


def _configuration(violation: Violation, place: int) -> Configuration:
    if place < len(violation.path):
        return violation.path[place].source
    return violation.configuration


def _modes(chart: ChartSpec, configuration: Configuration) -> StartModes | None:
    """Return the modes with which a flight begins in a configuration, None if none can."""
    states = dict(zip(chart.regions, configuration, strict=True))
    armed = []
    for region in chart.regions.values():
        state = states[region.id]
        if region.kind == "armed":
            armed += [region.arms] if state != region.initial else []
        elif region.id not in ("engagement", "lateral", "vertical", "system") and (
            state != region.initial
        ):
            return None
    if states["system"] != "ready" or states["engagement"] not in _INSIDE:
        return None
    return StartModes(states["engagement"], states["lateral"], states["vertical"], tuple(armed))


def _text(
    logic: Logic, violation: Violation, scene: ExampleScene, modes: StartModes, steps: list[Step]
) -> str:
    invariant = violation.invariant
    last = steps[-1] if steps else None
    asked = Predict("after_time", "", _LOOK_S)
    told = Say(f"This shows where a rule fails. {invariant.sentence}")
    if isinstance(last, Do):
        steps, asked = steps[:-1], Predict("after_key", last.event, 0.0)
    else:
        steps = [*steps, Wait(_LOOK_S)]
    lesson = Lesson(
        f"violation-{invariant.id}", "<exploration>", f"Violation of {invariant.id}",
        logic.installation.id, (invariant.sentence,), (), with_modes(scene, modes),
        (told, *steps, asked),
    )  # fmt: skip
    return write_lesson(lesson)
