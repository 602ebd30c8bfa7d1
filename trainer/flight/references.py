"""Writes a guidance reference from the flight as it is now: what 'synchronise' means for each."""

from __future__ import annotations

from collections.abc import Callable

from trainer.errors import TrainerError
from trainer.flight.readings import FlightReadings

LEVEL_BANK_DEG = 6.0
"""Roll hold engaged below this bank levels the wings (common practice)."""


class UnknownReferenceError(TrainerError):
    """A reference that can't be synchronised because it is not one."""


def _vertical_speed(flight: FlightReadings) -> None:
    flight.references.vertical_speed_fpm = round(flight.vertical_speed_fpm / 100.0) * 100.0


def _airspeed(flight: FlightReadings) -> None:
    flight.references.airspeed_kt = float(round(flight.airspeed_kt))


def _pitch(flight: FlightReadings) -> None:
    limits = flight.guidance_limits
    pitch_deg = round(flight.pitch_deg * 2.0) / 2.0
    pitch_deg = min(pitch_deg, limits.pitch_up_limit_deg)
    flight.references.pitch_deg = max(pitch_deg, -limits.pitch_down_limit_deg)


def _bank(flight: FlightReadings) -> None:
    bank_deg = flight.bank_deg
    limit_deg = flight.guidance_limits.bank_limit_deg
    held_deg = 0.0 if abs(bank_deg) < LEVEL_BANK_DEG else bank_deg
    flight.references.bank_deg = max(-limit_deg, min(limit_deg, held_deg))


def _held_altitude(flight: FlightReadings) -> None:
    flight.references.held_altitude_ft = flight.altitude_ft


def _captured_altitude(flight: FlightReadings) -> None:
    flight.references.captured_altitude_ft = flight.references.selected_altitude_ft


def _held_from_captured(flight: FlightReadings) -> None:
    flight.references.held_altitude_ft = flight.references.captured_altitude_ft


def _go_around_heading(flight: FlightReadings) -> None:
    flight.references.go_around_heading_deg = flight.heading_deg


def _level(flight: FlightReadings) -> None:
    flight.references.bank_deg = 0.0
    flight.references.pitch_deg = 0.0


SYNC: dict[str, Callable[[FlightReadings], None]] = {
    "vertical_speed": _vertical_speed,
    "airspeed": _airspeed,
    "pitch": _pitch,
    "bank": _bank,
    "held_altitude": _held_altitude,
    "captured_altitude": _captured_altitude,
    "held_altitude_from_captured": _held_from_captured,
    "go_around_heading": _go_around_heading,
    "level": _level,
}


def synchronise(flight: FlightReadings, what: str) -> None:
    """Write one reference of a flight from its present state.

    Args:
        flight: The flight.
        what: A key of `SYNC`.

    Raises:
        UnknownReferenceError: `what` is not such a key.
    """
    action = SYNC.get(what)
    if action is None:
        raise UnknownReferenceError(f"found reference {what!r}; accepted: {', '.join(SYNC)}")
    action(flight)
