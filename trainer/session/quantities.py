"""What a chart's signals measure, read from the flight, all at once.

Implements exactly the names of `charts.vocabulary`. Field units, as in the names. A quantity
without a usable signal reads `FAR`, so that no band can hold.
"""

from __future__ import annotations

from trainer.flight import CourseReading, FlightModel

FAR = 99.0
"""Stands for a deviation that can't be measured; larger than any band."""

CAPTURE_BAND = 0.15
"""A course key pressed nearer to the course than this fraction of full scale acts at once. A
choice of this trainer, well inside the half scale within which a capture has to stay."""

QUANTITIES = (
    "height_ft",
    "bank_abs_deg",
    "pitch_abs_deg",
    "airspeed_kt",
    "vertical_speed_fpm",
    "course_deviation_abs",
    "course_intercept_margin",
    "glidepath_deviation",
    "glidepath_deviation_abs",
    "altitude_capture_margin_ft",
    "altitude_error_abs_ft",
    "altitude_rate_away_fpm",
    "captured_altitude_error_abs_ft",
    "powered_s",
    "course_valid",
    "glidepath_valid",
    "attitude_valid",
    "servo_ok",
    "electrical_ok",
    "on_back_course_side",
    "source_is_approach",
    "source_has_glidepath",
)
"""The names, in the order of what `measured` returns."""


def measure(name: str, flight: FlightModel, powered_s: float) -> float:
    """Return one quantity of a flight, in the unit of its name.

    Args:
        name: One of `QUANTITIES`.
        flight: The flight to read.
        powered_s: Time since electrical power came on [s]; negative without power.
    """
    return measured(flight, powered_s)[QUANTITIES.index(name)]


def measured(flight: FlightModel, powered_s: float) -> tuple[float, ...]:
    """Return all quantities of a flight.

    One function, since it runs at every step of every flight: what several quantities follow from
    is read once.

    Args:
        flight: The flight to read.
        powered_s: Time since electrical power came on [s]; negative without power.
    """
    nav = flight.navigation()
    rate_fpm, error_ft = flight.vertical_speed_fpm, flight.altitude_error_ft
    # Until a capture has begun the captured altitude is an old one: the next capture will be of
    # the selected altitude.
    is_capturing = flight.modes.vertical == "altitude_capture"
    return (
        flight.height_ft,
        abs(flight.bank_deg),
        abs(flight.pitch_deg),
        flight.airspeed_kt,
        rate_fpm,
        abs(nav.deviation) if nav.valid else FAR,
        _course_intercept_margin(flight, nav) if nav.valid else FAR,
        nav.glidepath_deviation if nav.glidepath_valid else FAR,
        abs(nav.glidepath_deviation) if nav.glidepath_valid else FAR,
        flight.altitude_capture_margin_ft,
        abs(error_ft),
        -rate_fpm if error_ft > 0.0 else rate_fpm,
        abs(flight.target_altitude_error_ft if is_capturing else error_ft),
        powered_s,
        nav.valid,
        nav.glidepath_valid,
        flight.attitude_valid,
        flight.servo_ok,
        flight.electrical_ok,
        nav.back_course_side,
        flight.source_kind == "approach",
        flight.source_has_glidepath,
    )


def _course_intercept_margin(flight: FlightModel, nav: CourseReading) -> float:
    """Return the margin; inside the capture band the time has come whatever the closure."""
    margin = flight.course_intercept_margin
    if flight.is_against_course:
        return margin
    return min(margin, abs(nav.deviation) - CAPTURE_BAND)
