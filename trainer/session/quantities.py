"""What a chart's signals measure, read from the flight: one function for each name.

Implements exactly the names of `charts.vocabulary`. Field units, as in the names. A quantity
without a usable signal reads `FAR`, so that no band can hold.
"""

from __future__ import annotations

from collections.abc import Callable

from trainer.flight import FlightModel

FAR = 99.0
"""Stands for a deviation that can't be measured; larger than any band."""

CAPTURE_BAND = 0.15
"""A course key pressed nearer to the course than this fraction of full scale acts at once. A
choice of this trainer, well inside the half scale within which a capture has to stay."""

Quantity = Callable[[FlightModel, float], float]
"""Function of the flight and of the time since power came on [s]."""


def _course_deviation_abs(flight: FlightModel, _powered_s: float) -> float:
    return abs(flight.course_deviation) if flight.course_valid else FAR


def _course_intercept_margin(flight: FlightModel, _powered_s: float) -> float:
    """Return the margin; inside the capture band the time has come whatever the closure."""
    margin = flight.course_intercept_margin
    if not flight.course_valid:
        return FAR
    if flight.is_against_course:
        return margin
    return min(margin, abs(flight.course_deviation) - CAPTURE_BAND)


def _glidepath_deviation(flight: FlightModel, _powered_s: float) -> float:
    return flight.glidepath_deviation if flight.glidepath_valid else FAR


def _glidepath_deviation_abs(flight: FlightModel, _powered_s: float) -> float:
    return abs(flight.glidepath_deviation) if flight.glidepath_valid else FAR


def _altitude_rate_away_fpm(flight: FlightModel, _powered_s: float) -> float:
    rate_fpm = flight.vertical_speed_fpm
    return -rate_fpm if flight.altitude_error_ft > 0.0 else rate_fpm


def _captured_altitude_error_abs_ft(flight: FlightModel, _powered_s: float) -> float:
    # Until a capture has begun the captured altitude is an old one: the next capture will be of
    # the selected altitude.
    if flight.modes.vertical == "altitude_capture":
        return abs(flight.target_altitude_error_ft)
    return abs(flight.altitude_error_ft)


QUANTITIES: dict[str, Quantity] = {
    "height_ft": lambda flight, _: flight.height_ft,
    "bank_abs_deg": lambda flight, _: abs(flight.bank_deg),
    "pitch_abs_deg": lambda flight, _: abs(flight.pitch_deg),
    "airspeed_kt": lambda flight, _: flight.airspeed_kt,
    "vertical_speed_fpm": lambda flight, _: flight.vertical_speed_fpm,
    "course_deviation_abs": _course_deviation_abs,
    "course_intercept_margin": _course_intercept_margin,
    "glidepath_deviation": _glidepath_deviation,
    "glidepath_deviation_abs": _glidepath_deviation_abs,
    "altitude_capture_margin_ft": lambda flight, _: flight.altitude_capture_margin_ft,
    "altitude_error_abs_ft": lambda flight, _: abs(flight.altitude_error_ft),
    "altitude_rate_away_fpm": _altitude_rate_away_fpm,
    "captured_altitude_error_abs_ft": _captured_altitude_error_abs_ft,
    "powered_s": lambda _, powered_s: powered_s,
    "course_valid": lambda flight, _: float(flight.course_valid),
    "glidepath_valid": lambda flight, _: float(flight.glidepath_valid),
    "attitude_valid": lambda flight, _: float(flight.attitude_valid),
    "servo_ok": lambda flight, _: float(flight.servo_ok),
    "electrical_ok": lambda flight, _: float(flight.electrical_ok),
    "on_back_course_side": lambda flight, _: float(flight.on_back_course_side),
    "source_is_approach": lambda flight, _: float(flight.source_kind == "approach"),
    "source_has_glidepath": lambda flight, _: float(flight.source_has_glidepath),
}
