"""Begins a session in a situation: the flight trimmed, the modes set, and the whole settled."""

from __future__ import annotations

from trainer.charts.guard import Configuration
from trainer.charts.machine import ModeMachine
from trainer.flight import AircraftSpec, FlightModel
from trainer.flight.trim import InitialConditionError
from trainer.session.effects import EFFECT_FUNCTIONS
from trainer.session.faults import SLIP_STEPS, STUCK
from trainer.session.logic import Logic
from trainer.session.session import Session
from trainer.session.situation import LONG_AGO_S, Selected, SituationError, Start, StartModes
from trainer.units import wrap_360_deg


def begin(logic: Logic, aircraft: AircraftSpec, start: Start) -> Session:
    """Return a session at the start of a situation, settled.

    Args:
        logic: The installation's logic.
        aircraft: The aircraft that flies.
        start: The situation.

    Raises:
        SituationError: The aircraft can't fly it, the modes named aren't fitted, or the logic
            leaves them at once.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.flight.types import InitialCondition
        >>> from trainer.session.situation import Selected, Start
        >>> workspace = Workspace()
        >>> start = Start(InitialCondition(3000.0, 90.0, 105.0))
        >>> aircraft = workspace.aircraft("light_single")
        >>> session = begin(workspace.logic("ship_amber"), aircraft, start)
        >>> round(session.flight.altitude_ft), session.annunciation.engagement
        (3000, 'no_guidance')
    """
    try:
        flight = FlightModel(
            aircraft, start.initial, start.environment, start.sources, logic.guidance_limits()
        )
    except InitialConditionError as error:
        raise SituationError(f"the start can't be flown: {error}") from error
    _select(flight, start.selected)
    if "level_recovery_pitch" in logic.installation.options:
        choice = logic.installation.option("level_recovery_pitch")
        flight.references.level_vertical = (
            "zero_vertical_speed" if choice == "zero_vertical_speed" else "zero_pitch"
        )
    configuration = _configuration(logic.machine, start.modes)
    powered_s = LONG_AGO_S if start.modes.system == "ready" else 0.0
    session = Session(logic, flight, configuration, powered_s)
    _enter(session, start.selected)
    _fail(session, start.faults)
    session.bits = logic.signals.evaluate(flight, powered_s, session.bits)
    session.settle()
    _check(session, start.modes)
    session.trace.records.clear()
    session.clear_marks()
    return session


def _select(flight: FlightModel, selected: Selected) -> None:
    references = flight.references
    references.source_id = selected.source
    if selected.altitude_ft is not None:
        references.selected_altitude_ft = selected.altitude_ft
    if selected.heading_deg is not None:
        references.selected_heading_deg = wrap_360_deg(selected.heading_deg)
    if selected.course_deg is not None:
        references.selected_course_deg = wrap_360_deg(selected.course_deg)


def _enter(session: Session, selected: Selected) -> None:
    """Let each active state take its references, then put the stated ones in their place."""
    chart = session.installation.chart
    for region, state in zip(chart.regions.values(), session.configuration, strict=True):
        for name in region.states[state].enter:
            EFFECT_FUNCTIONS[name](session.flight)
    references = session.flight.references
    if selected.vertical_speed_fpm is not None:
        references.vertical_speed_fpm = selected.vertical_speed_fpm
    if selected.airspeed_kt is not None:
        references.airspeed_kt = selected.airspeed_kt


def _fail(session: Session, faults: tuple[str, ...]) -> None:
    """Let malfunctions be in force."""
    events = session.installation.chart.events
    for fault in faults:
        name = fault.removeprefix(STUCK)
        if fault.startswith(STUCK) and name not in (*events, *SLIP_STEPS):
            raise SituationError(f"fault '{fault}': this aircraft has no key '{name}'")
        session.inject(fault, True)


def _configuration(machine: ModeMachine, modes: StartModes) -> Configuration:
    wanted = {
        "system": modes.system,
        "engagement": modes.engagement,
        "lateral": modes.lateral,
        "vertical": modes.vertical,
    }
    arms = {region.arms: region for region in machine.chart.regions.values() if region.arms}
    for mode in modes.armed:
        if mode not in arms:
            raise SituationError(f"'{mode}' can't be armed; accepted: {', '.join(sorted(arms))}")
        region = arms[mode]
        wanted[region.id] = next(s for s in region.states if s != region.initial)
    for region_id, state in wanted.items():
        states = machine.chart.regions[region_id].states
        if state not in states:
            raise SituationError(f"no {region_id} mode '{state}'; accepted: {', '.join(states)}")
    return machine.configuration(wanted)


def _check(session: Session, modes: StartModes) -> None:
    shown = session.annunciation
    armed = {*shown.lateral.armed, *shown.vertical.armed}
    held = (
        shown.engagement == modes.engagement
        and shown.lateral.active == modes.lateral
        and shown.vertical.active == modes.vertical
        and set(modes.armed) <= armed
    )
    if not held:
        now = f"{shown.engagement}, {shown.lateral.active}, {shown.vertical.active}"
        rules = [fired.id for record in session.trace.records for fired in record.rules]
        raise SituationError(
            f"the start doesn't hold: it becomes {now}, armed {', '.join(sorted(armed)) or 'none'}"
            f" by {', '.join(rules) or 'no rule'}; accepted: modes that last"
        )
