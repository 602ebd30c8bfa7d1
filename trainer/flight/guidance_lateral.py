"""Lateral guidance: each law gives the bank [rad] that its mode asks for.

Heading: bank in proportion to the error, never more degrees of bank than degrees to turn
([LED-06]); the gain falls at low speed so that the roll-out fits the roll-rate limit. Course: a
critically damped law on distance off course and its rate over the ground, so wind leaves no
standing error; the intercept angle far out is bounded. Every result is inside the bank limit.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from trainer.flight.guidance_input import GuidanceInput
from trainer.flight.limits import Limits, bounded
from trainer.flight.navigation import CourseReading
from trainer.flight.state import FlightState
from trainer.units import G0_MPS2, RAD_PER_DEG

HEADING_GAIN = 0.97
"""Degrees of bank for each degree to turn; one at most."""
COURSE_FREQUENCY_PER_S = 0.14
"""Natural frequency of course tracking; ten times slower than the bank loop."""
INTERCEPT_SINE = math.sin(math.radians(45.0))
"""Greatest intercept that course tracking makes by itself, far from the course."""
PLANNED_BANK_SHARE = 0.8
"""Share of the bank limit that a planned intercept uses; the rest is for wind and lag."""

LateralLaw = Callable[[GuidanceInput], float]


def heading_bank_rad(s: FlightState, selected_rad: float, limits: Limits) -> float:
    """Return the bank [rad] that turns to a heading [rad] the short way.

    Example:
        >>> from trainer.flight.state import new_state
        >>> from trainer.flight.types import GuidanceLimits
        >>> s = new_state()
        >>> s.speed_mps, s.psi_rad = 50.0, math.radians(350.0)
        >>> bank_rad = heading_bank_rad(s, math.radians(10.0), Limits(GuidanceLimits()))
        >>> round(math.degrees(bank_rad), 1)  # 20 degrees to turn, to the right
        19.4
    """
    error = (selected_rad - s.psi_rad + math.pi) % math.tau - math.pi
    gain = 0.9 * limits.roll_rate_radps * s.speed_mps / (G0_MPS2 * limits.bank_rad)
    gain = min(gain, HEADING_GAIN)
    return bounded(gain * error, limits.bank_rad)


def course_bank_rad(cross_m: float, angle_rad: float, ground_mps: float, limits: Limits) -> float:
    """Return the bank [rad] that regains and keeps a course.

    Args:
        cross_m: Distance right of the course [m].
        angle_rad: Track minus course, from -pi to pi [rad].
        ground_mps: Ground speed [m/s].
        limits: Guidance limits.

    Example:
        >>> from trainer.flight.types import GuidanceLimits
        >>> limits = Limits(GuidanceLimits())
        >>> round(math.degrees(course_bank_rad(200.0, 0.0, 50.0, limits)), 1)
        -21.8
        >>> course_bank_rad(0.0, 0.0, 50.0, limits) == 0.0
        True
    """
    if angle_rad > 0.5 * math.pi or angle_rad < -0.5 * math.pi:
        sine = angle_rad / (0.5 * math.pi)
    else:
        sine = math.sin(angle_rad)
    rate_mps = ground_mps * sine
    frequency = COURSE_FREQUENCY_PER_S
    reach_m = 2.0 * ground_mps * INTERCEPT_SINE / frequency
    pull = frequency * (frequency * bounded(cross_m, reach_m) + 2.0 * rate_mps)
    return bounded(-math.atan(pull / G0_MPS2), limits.bank_rad)


def _level(_: GuidanceInput) -> float:
    return 0.0


def _roll_hold(g: GuidanceInput) -> float:
    return bounded(g.references.bank_deg * RAD_PER_DEG, g.limits.bank_rad)


def _heading(g: GuidanceInput) -> float:
    return heading_bank_rad(g.state, g.references.selected_heading_deg * RAD_PER_DEG, g.limits)


def _go_around(g: GuidanceInput) -> float:
    return heading_bank_rad(g.state, g.references.go_around_heading_deg * RAD_PER_DEG, g.limits)


def _course(g: GuidanceInput) -> float:
    nav = g.nav
    if not nav.valid:
        return 0.0
    cross_m = 0.0 if nav.station_passage else nav.cross_m
    return course_bank_rad(cross_m, nav.angle_rad, nav.ground_mps, g.limits)


def _back_course(g: GuidanceInput) -> float:
    nav = g.nav
    if not nav.valid:
        return 0.0
    angle_rad = nav.angle_rad + (math.pi if nav.angle_rad < 0.0 else -math.pi)
    return course_bank_rad(-nav.cross_m, angle_rad, nav.ground_mps, g.limits)


LATERAL_LAWS: dict[str, LateralLaw] = {
    "roll_hold": _roll_hold,
    "heading_select": _heading,
    "course_track": _course,
    "approach_course": _course,
    "back_course": _back_course,
    "go_around": _go_around,
    "level": _level,
}
COURSE_MODES = frozenset({"course_track", "approach_course", "back_course"})


def intercept_lead_m(s: FlightState, nav: CourseReading, sign: float, limits: Limits) -> float:
    """Return the distance from the course at which the turn onto it must begin [m].

    The drift of a turn at constant bank in a steady wind is exact: the air's part is the arc from
    the present heading to the one that holds the course, the wind's part is its time. Rolling in
    costs half the roll-in time at the present closure.

    Args:
        s: The flight.
        nav: Present reading; its `angle_rad` and cross rate are used.
        sign: 1.0, or -1.0 when the course is flown against its direction.
        limits: Guidance limits.

    Example:
        >>> from trainer.flight.state import new_state
        >>> from trainer.flight.types import GuidanceLimits
        >>> s, nav = new_state(), CourseReading()
        >>> s.speed_mps, s.psi_rad, nav.cross_rate_mps = 50.0, math.radians(45.0), 35.4
        >>> round(intercept_lead_m(s, nav, 1.0, Limits(GuidanceLimits())))
        315
    """
    bank_rad = PLANNED_BANK_SHARE * limits.bank_rad
    turn_radps = G0_MPS2 * math.tan(bank_rad) / s.speed_mps
    course_rad = nav.course_rad if sign > 0.0 else nav.course_rad + math.pi
    offset_rad = (s.psi_rad - course_rad + math.pi) % math.tau - math.pi
    cross_wind = s.wind_east_mps * math.cos(course_rad) - s.wind_north_mps * math.sin(course_rad)
    sine = -cross_wind / s.speed_mps
    crab_rad = math.asin(bounded(sine, 0.95))
    closing_mps = abs(nav.cross_rate_mps)
    toward = 1.0 if sign * nav.cross_rate_mps > 0.0 else -1.0
    air_m = s.speed_mps / turn_radps * (math.cos(crab_rad) - math.cos(offset_rad))
    drift_m = toward * cross_wind * abs(offset_rad - crab_rad) / turn_radps
    roll_s = 0.5 * bank_rad / limits.roll_rate_radps + 0.5
    settle_m = closing_mps / COURSE_FREQUENCY_PER_S
    return max(air_m + drift_m + closing_mps * roll_s, 0.6 * settle_m)
