"""Malfunctions that an instructor can inject, by name."""

from __future__ import annotations

from typing import get_args, get_type_hints

from trainer.flight import Faults, FlightModel
from trainer.session.selectors import SelectionError

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
"""Prefix of a fault that keeps a key from the logic: `stuck:heading_select`."""

FAULTS = {**SIMPLE_FAULTS, **RUNAWAYS}


def apply_fault(flight: FlightModel, fault: str, on: bool) -> frozenset[str]:
    """Start or end a malfunction and return the keys that don't reach the logic.

    Raises:
        SelectionError: No such fault.
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
    else:
        known = ", ".join([*FAULTS, f"{STUCK}KEY"])
        raise SelectionError(f"no fault '{fault}'; accepted: {known}")
    return faults.stuck_keys
