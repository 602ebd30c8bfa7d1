"""Malfunctions that an instructor can inject, by name."""

from __future__ import annotations

from typing import get_args, get_type_hints

from trainer.flight import Faults, FlightModel
from trainer.session.selectors import SELECTORS, SelectionError

SIMPLE_FAULTS = {
    "servo": "Servo fault",
    "attitude": "Attitude data lost",
    "navigation": "Navigation signal lost",
    "glidepath": "Glidepath signal lost",
    "electrical": "Electrical power lost",
}

RUNAWAYS = {
    f"runaway_{kind}": f"Servo runaway: {kind.replace('_', ' ')}"
    for kind in get_args(get_type_hints(Faults)["servo_runaway"])
    if kind != "none"
}

STUCK = "stuck:"
"""Prefix of a fault that keeps a key from the logic, or a selector from turning:
`stuck:heading_select`, `stuck:selected_altitude_ft`."""
SLIPS = "slips:"
"""Prefix of a fault that lets a selector go one step too far: `slips:selected_altitude_ft`."""
SLIP_STEPS = {
    "selected_altitude_ft": 100.0, "selected_heading_deg": 5.0, "selected_course_deg": 5.0,
}  # fmt: skip
"""Selectors that can stick or slip -> how far they slip. Chosen for teaching: easily seen."""

FAULTS = {**SIMPLE_FAULTS, **RUNAWAYS}
SELECTOR_FAULTS = {
    f"{prefix}{name}": f"{SELECTORS[name].label} {words}"
    for prefix, words in ((STUCK, "doesn't take a turn"), (SLIPS, "slips one step too far"))
    for name in SLIP_STEPS
}


def fault_words(fault: str) -> str:
    """Return a malfunction in words.

    Example:
        >>> fault_words("servo"), fault_words("stuck:heading_select")
        ('Servo fault', 'The key heading select is dead')
    """
    known = FAULTS.get(fault) or SELECTOR_FAULTS.get(fault)
    if known:
        return known
    return f"The key {fault.removeprefix(STUCK).replace('_', ' ')} is dead"


def apply_fault(flight: FlightModel, fault: str, on: bool) -> frozenset[str]:
    """Start or end a malfunction and return the keys and selectors that don't act.

    Raises:
        SelectionError: No such fault.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.flight.types import InitialCondition
        >>> from trainer.session.situation import Start
        >>> start = Start(InitialCondition(3000.0, 90.0, 105.0))
        >>> session = Workspace().begin("ship_amber", start)
        >>> apply_fault(session.flight, "stuck:heading_select", True)
        frozenset({'heading_select'})
    """
    faults = flight.faults
    if fault in SIMPLE_FAULTS:
        setattr(faults, fault, on)
    elif fault in RUNAWAYS:
        kind = fault.removeprefix("runaway_") if on else "none"
        faults.servo_runaway = kind  # type: ignore[assignment]
    elif fault.startswith(STUCK):
        key = frozenset({fault.removeprefix(STUCK)})
        faults.stuck_keys = faults.stuck_keys | key if on else faults.stuck_keys - key
    elif fault.startswith(SLIPS) and fault.removeprefix(SLIPS) in SLIP_STEPS:
        name = frozenset({fault.removeprefix(SLIPS)})
        faults.slipping = faults.slipping | name if on else faults.slipping - name
    else:
        known = ", ".join([*FAULTS, f"{STUCK}KEY", *SELECTOR_FAULTS])
        raise SelectionError(f"no fault '{fault}'; accepted: {known}")
    return faults.stuck_keys


def faults_of(flight: FlightModel) -> tuple[str, ...]:
    """Return the malfunctions in force by name, as `apply_fault` takes them.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.flight.types import InitialCondition
        >>> from trainer.session.situation import Start
        >>> start = Start(InitialCondition(3000.0, 90.0, 105.0))
        >>> session = Workspace().begin("ship_amber", start)
        >>> reverted = session.inject("servo")
        >>> faults_of(session.flight)
        ('servo',)
    """
    faults = flight.faults
    found = [name for name in SIMPLE_FAULTS if getattr(faults, name)]
    if faults.servo_runaway != "none":
        found.append(f"runaway_{faults.servo_runaway}")
    found += [f"{STUCK}{name}" for name in sorted(faults.stuck_keys)]
    return (*found, *(f"{SLIPS}{name}" for name in sorted(faults.slipping)))


def slipped(name: str, value: float, now: float) -> float:
    """Return where a slipping selector stops when it is turned from `now` to `value`.

    Example:
        >>> slipped("selected_altitude_ft", 4000.0, 3900.0)
        4100.0
        >>> slipped("selected_heading_deg", 2.0, 10.0)
        357.0
    """
    step = SLIP_STEPS[name] if value >= now else -SLIP_STEPS[name]
    moved = value + step
    selector = SELECTORS[name]
    if selector.unit == "deg":
        return moved % 360.0
    return min(max(moved, selector.low), selector.high)
