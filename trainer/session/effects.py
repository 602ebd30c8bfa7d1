"""What entering a state, or a rule, does to the references that guidance follows.

Implements exactly the names of `charts.vocabulary.EFFECTS`.
"""

from __future__ import annotations

from collections.abc import Callable

from trainer.flight import FlightModel

VERTICAL_SPEED_STEP_FPM = 100.0
AIRSPEED_STEP_KT = 1.0
PITCH_STEP_DEG = 0.5
ALTITUDE_STEP_FT = 20.0

Effect = Callable[[FlightModel], None]


def _sync(what: str) -> Effect:
    return lambda flight: flight.sync(what)


def _vertical_speed(step_fpm: float) -> Effect:
    def change(flight: FlightModel) -> None:
        limit_fpm = flight.guidance_limits.vertical_speed_limit_fpm
        wanted_fpm = flight.references.vertical_speed_fpm + step_fpm
        flight.references.vertical_speed_fpm = max(-limit_fpm, min(limit_fpm, wanted_fpm))

    return change


def _airspeed(step_kt: float) -> Effect:
    def change(flight: FlightModel) -> None:
        limits = flight.guidance_limits
        low_kt, high_kt = limits.minimum_airspeed_kt, limits.maximum_airspeed_kt
        wanted_kt = flight.references.airspeed_kt + step_kt
        flight.references.airspeed_kt = max(low_kt, min(high_kt, wanted_kt))

    return change


def _pitch(step_deg: float) -> Effect:
    def change(flight: FlightModel) -> None:
        limits = flight.guidance_limits
        low_deg, high_deg = -limits.pitch_down_limit_deg, limits.pitch_up_limit_deg
        wanted_deg = flight.references.pitch_deg + step_deg
        flight.references.pitch_deg = max(low_deg, min(high_deg, wanted_deg))

    return change


def _held_altitude(step_ft: float) -> Effect:
    def change(flight: FlightModel) -> None:
        flight.references.held_altitude_ft += step_ft

    return change


EFFECT_FUNCTIONS: dict[str, Effect] = {
    "take_present_bank": _sync("bank"),
    "take_present_pitch": _sync("pitch"),
    "take_present_vertical_speed": _sync("vertical_speed"),
    "take_present_airspeed": _sync("airspeed"),
    "hold_present_altitude": _sync("held_altitude"),
    "hold_captured_altitude": _sync("held_altitude_from_captured"),
    "capture_selected_altitude": _sync("captured_altitude"),
    "take_present_heading": _sync("go_around_heading"),
    "raise_vertical_speed": _vertical_speed(VERTICAL_SPEED_STEP_FPM),
    "lower_vertical_speed": _vertical_speed(-VERTICAL_SPEED_STEP_FPM),
    "raise_airspeed": _airspeed(AIRSPEED_STEP_KT),
    "lower_airspeed": _airspeed(-AIRSPEED_STEP_KT),
    "raise_pitch": _pitch(PITCH_STEP_DEG),
    "lower_pitch": _pitch(-PITCH_STEP_DEG),
    "raise_held_altitude": _held_altitude(ALTITUDE_STEP_FT),
    "lower_held_altitude": _held_altitude(-ALTITUDE_STEP_FT),
}
