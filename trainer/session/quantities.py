"""What a chart's signals measure, read from the flight: one function for each name.

Implements exactly the names of `charts.vocabulary`. Field units, as in the names. A quantity
without a usable signal reads `FAR`, so that no band can hold.
"""

from __future__ import annotations

from collections.abc import Callable

from trainer.flight import CourseReading, FlightModel

FAR = 99.0
"""Stands for a deviation that can't be measured; larger than any band."""

CAPTURE_BAND = 0.15
"""A course key pressed nearer to the course than this fraction of full scale acts at once. A
choice of this trainer, well inside the half scale within which a capture has to stay."""

Quantity = Callable[[FlightModel, CourseReading, float], float]
"""Function of the flight, of its `navigation()`, and of the time since power came on [s]."""


def measure(name: str, flight: FlightModel, powered_s: float) -> float:
    """Return one quantity of a flight, in the unit of its name.

    Args:
        name: One of `QUANTITIES`.
        flight: The flight to read.
        powered_s: Time since electrical power came on [s]; negative without power.
    """
    return QUANTITIES[name](flight, flight.navigation(), powered_s)


def _course_deviation_abs(_flight: FlightModel, nav: CourseReading, _powered_s: float) -> float:
    return abs(nav.deviation) if nav.valid else FAR


def _course_intercept_margin(flight: FlightModel, nav: CourseReading, _powered_s: float) -> float:
    """Return the margin; inside the capture band the time has come whatever the closure."""
    if not nav.valid:
        return FAR
    margin = flight.course_intercept_margin
    if flight.is_against_course:
        return margin
    return min(margin, abs(nav.deviation) - CAPTURE_BAND)


def _glidepath_deviation(_flight: FlightModel, nav: CourseReading, _powered_s: float) -> float:
    return nav.glidepath_deviation if nav.glidepath_valid else FAR


def _glidepath_deviation_abs(_flight: FlightModel, nav: CourseReading, _powered_s: float) -> float:
    return abs(nav.glidepath_deviation) if nav.glidepath_valid else FAR


def _altitude_rate_away_fpm(flight: FlightModel, _nav: CourseReading, _powered_s: float) -> float:
    rate_fpm = flight.vertical_speed_fpm
    return -rate_fpm if flight.altitude_error_ft > 0.0 else rate_fpm


def _captured_altitude_error_abs_ft(
    flight: FlightModel, _nav: CourseReading, _powered_s: float
) -> float:
    # Until a capture has begun the captured altitude is an old one: the next capture will be of
    # the selected altitude.
    if flight.modes.vertical == "altitude_capture":
        return abs(flight.target_altitude_error_ft)
    return abs(flight.altitude_error_ft)


QUANTITIES: dict[str, Quantity] = {
    "height_ft": lambda flight, _nav, _: flight.height_ft,
    "bank_abs_deg": lambda flight, _nav, _: abs(flight.bank_deg),
    "pitch_abs_deg": lambda flight, _nav, _: abs(flight.pitch_deg),
    "airspeed_kt": lambda flight, _nav, _: flight.airspeed_kt,
    "vertical_speed_fpm": lambda flight, _nav, _: flight.vertical_speed_fpm,
    "course_deviation_abs": _course_deviation_abs,
    "course_intercept_margin": _course_intercept_margin,
    "glidepath_deviation": _glidepath_deviation,
    "glidepath_deviation_abs": _glidepath_deviation_abs,
    "altitude_capture_margin_ft": lambda flight, _nav, _: flight.altitude_capture_margin_ft,
    "altitude_error_abs_ft": lambda flight, _nav, _: abs(flight.altitude_error_ft),
    "altitude_rate_away_fpm": _altitude_rate_away_fpm,
    "captured_altitude_error_abs_ft": _captured_altitude_error_abs_ft,
    "powered_s": lambda _flight, _nav, powered_s: powered_s,
    "course_valid": lambda _flight, nav, _: float(nav.valid),
    "glidepath_valid": lambda _flight, nav, _: float(nav.glidepath_valid),
    "attitude_valid": lambda flight, _nav, _: float(flight.attitude_valid),
    "servo_ok": lambda flight, _nav, _: float(flight.servo_ok),
    "electrical_ok": lambda flight, _nav, _: float(flight.electrical_ok),
    "on_back_course_side": lambda _flight, nav, _: float(nav.back_course_side),
    "source_is_approach": lambda flight, _nav, _: float(flight.source_kind == "approach"),
    "source_has_glidepath": lambda flight, _nav, _: float(flight.source_has_glidepath),
}
