"""Vertical guidance: each law gives the pitch [rad] that its mode asks for.

Path modes (vertical speed, altitude, glidepath) ask for a rate of climb; a reference follows it at
a bounded acceleration, and the pitch is the one that flies the reference at the present airspeed.
Airspeed hold asks for the climb that the excess of thrust over drag can pay for at the speed rate
it wants, so never for more. Pitch modes give their pitch. All are inside the pitch limits;
`speed_protected_rad` overrides them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from trainer.flight.aircraft import AircraftConstants
from trainer.flight.guidance_input import GuidanceInput
from trainer.flight.limits import Limits, bounded
from trainer.flight.state import FlightState
from trainer.units import G0_MPS2, M_PER_FT, MPS_PER_FPM, MPS_PER_KT, RAD_PER_DEG

CLIMB_GAIN_PER_S = 1.0
PATH_GAIN = 2.0
"""Pitch for each unit of difference between the path wanted and flown."""
ALTITUDE_GAIN_PER_S = 0.25
TEN_PERCENT_GAIN_PER_S = 1.0 / 6.0
"""Ten percent of the vertical speed in ft/min, in ft, is six seconds of it."""
CONSTANT_ACCELERATION_GAIN_PER_S = 0.35
GLIDEPATH_GAIN_PER_S = 0.15
SPEED_GAIN_PER_S = 0.18
SPEED_RATE_LIMIT_MPS2 = 0.6
NORMAL_ACCELERATION_MPS2 = 0.1 * G0_MPS2
CAPTURE_ACCELERATION_MPS2 = 0.15 * G0_MPS2
HOLD_CLIMB_MPS = 500.0 * MPS_PER_FPM
PATH_LEFT_MPS = 1.0
SLOWEST_CAPTURE_MPS = 100.0 * MPS_PER_FPM

VerticalLaw = Callable[[GuidanceInput], float]


def shaped_climb(s: FlightState, climb_mps: float, limit_mps2: float) -> float:
    """Return and keep the reference rate of climb [m/s], moved one step towards climb_mps.

    Example:
        >>> from trainer.flight.state import new_state
        >>> s = new_state()
        >>> s.step_s, s.climb_ref_mps = 0.05, 0.0
        >>> round(shaped_climb(s, 5.0, 1.0), 3)  # one step at 1 m/s2
        0.05
    """
    reference_mps = s.climb_ref_mps
    rate = bounded(CLIMB_GAIN_PER_S * (climb_mps - reference_mps), limit_mps2)
    s.climb_ref_rate_mps2 = rate
    s.climb_ref_mps = reference_mps = reference_mps + rate * s.step_s
    return reference_mps


def pitch_on_path_rad(
    s: FlightState, k: AircraftConstants, climb_mps: float, rate_mps2: float
) -> float:
    """Return the pitch [rad] that flies a rate of climb [m/s] changing at rate_mps2 [m/s2].

    The pitch for that path in smooth air, and more of it for what the path differs from it.

    Example:
        >>> from trainer.flight.aircraft import load_aircraft
        >>> from trainer.flight.state import new_state
        >>> from trainer.resources import resource_folder
        >>> path = resource_folder("statecharts") / "aircraft" / "light_single.yaml"
        >>> k, s = AircraftConstants(load_aircraft(path)), new_state()
        >>> s.speed_mps, s.qbar_pa = 50.0, 1531.0
        >>> round(math.degrees(pitch_on_path_rad(s, k, 2.54, 0.0)), 1)  # at 97 kt, 500 ft/min
        10.5
    """
    sine = bounded(climb_mps / s.speed_mps, 0.5)
    lift_n = k.mass_kg * (G0_MPS2 * math.sqrt(1.0 - sine * sine) + rate_mps2)
    angle_rad = lift_n / (s.qbar_pa * k.wing_m2 * k.lift_slope)
    path_rad = math.asin(sine)
    trim_rad = path_rad + angle_rad - k.incidence_rad * math.cos(s.phi_rad)
    return trim_rad + PATH_GAIN * (path_rad - s.gamma_rad)


def pitch_for_climb_rad(
    s: FlightState, k: AircraftConstants, climb_mps: float, limit_mps2: float
) -> float:
    """Return the pitch [rad] that brings the rate of climb to climb_mps [m/s].

    Example:
        >>> from trainer.flight.aircraft import load_aircraft
        >>> from trainer.flight.state import new_state
        >>> from trainer.resources import resource_folder
        >>> path = resource_folder("statecharts") / "aircraft" / "light_single.yaml"
        >>> k, s = AircraftConstants(load_aircraft(path)), new_state()
        >>> s.speed_mps, s.qbar_pa = 50.0, 1531.0
        >>> s.step_s = 0.05
        >>> level_rad = pitch_for_climb_rad(s, k, 0.0, 1.0)
        >>> pitch_for_climb_rad(s, k, 5.0, 1.0) > level_rad
        True
    """
    reference_mps = shaped_climb(s, climb_mps, limit_mps2)
    return pitch_on_path_rad(s, k, reference_mps, s.climb_ref_rate_mps2)


def climb_for_airspeed_mps(s: FlightState, k: AircraftConstants, cas_mps: float) -> float:
    """Return the rate of climb [m/s] that brings calibrated airspeed to cas_mps [m/s].

    What the excess of thrust over drag can pay for at the speed rate wanted.

    Example:
        >>> from trainer.flight.aircraft import load_aircraft
        >>> from trainer.flight.state import new_state
        >>> from trainer.resources import resource_folder
        >>> path = resource_folder("statecharts") / "aircraft" / "light_single.yaml"
        >>> k, s = AircraftConstants(load_aircraft(path)), new_state()
        >>> s.speed_mps, s.qbar_pa = 50.0, 1531.0
        >>> s.cas_mps, s.thrust_n, s.drag_n = 50.0, 1900.0, 1100.0
        >>> round(climb_for_airspeed_mps(s, k, 50.0), 2)  # all of the excess goes into the climb
        3.55
    """
    wanted = bounded(SPEED_GAIN_PER_S * (cas_mps - s.cas_mps), SPEED_RATE_LIMIT_MPS2)
    excess = (s.thrust_n - s.drag_n) / k.mass_kg
    return s.speed_mps * bounded((excess - wanted) / G0_MPS2, 0.3)


def _pitch_hold(g: GuidanceInput) -> float:
    return g.references.pitch_deg * RAD_PER_DEG


def _vertical_speed(g: GuidanceInput) -> float:
    s = g.state
    shown_mps = bounded(g.references.vertical_speed_fpm * MPS_PER_FPM, g.limits.climb_mps)
    climb_mps = shown_mps * s.temperature_k / s.standard_k
    return pitch_for_climb_rad(s, g.aircraft, climb_mps, NORMAL_ACCELERATION_MPS2)


def _airspeed_hold(g: GuidanceInput) -> float:
    s = g.state
    climb_mps = climb_for_airspeed_mps(s, g.aircraft, g.references.airspeed_kt * MPS_PER_KT)
    return pitch_for_climb_rad(s, g.aircraft, climb_mps, NORMAL_ACCELERATION_MPS2)


def _to_go_m(g: GuidanceInput, altitude_ft: float) -> float:
    """Return how far below an indicated altitude [ft] the flight is [m]."""
    return altitude_ft * M_PER_FT + g.altimeter_offset_m - g.state.pressure_alt_m


def _altitude_hold(g: GuidanceInput) -> float:
    error_m = _to_go_m(g, g.references.held_altitude_ft)
    climb_mps = bounded(ALTITUDE_GAIN_PER_S * error_m, HOLD_CLIMB_MPS)
    return pitch_for_climb_rad(g.state, g.aircraft, climb_mps, NORMAL_ACCELERATION_MPS2)


def capture_climb_mps(error_m: float, limits: Limits) -> float:
    """Return the rate of climb [m/s] that altitude capture wants at an error [m] to go.

    Example:
        >>> from trainer.flight.types import GuidanceLimits
        >>> round(capture_climb_mps(15.24, Limits(GuidanceLimits())), 2)  # 50 ft to go: 500 ft/min
        2.54
    """
    if limits.ten_percent:
        return TEN_PERCENT_GAIN_PER_S * error_m
    accel = limits.capture_accel_mps2
    gain = CONSTANT_ACCELERATION_GAIN_PER_S
    straight_m = accel / (gain * gain)
    away_m = abs(error_m)
    if away_m <= straight_m:
        return gain * error_m
    return math.copysign(math.sqrt(2.0 * accel * (away_m - 0.5 * straight_m)), error_m)


def _altitude_capture(g: GuidanceInput) -> float:
    error_m = _to_go_m(g, g.references.captured_altitude_ft)
    # A slow climb must not speed up because its lead is the least one.
    climb_mps = bounded(capture_climb_mps(error_m, g.limits), g.state.capture_rate_mps)
    return pitch_for_climb_rad(g.state, g.aircraft, climb_mps, CAPTURE_ACCELERATION_MPS2)


def _glidepath(g: GuidanceInput) -> float:
    nav = g.nav
    if not nav.glidepath_valid:
        return g.state.theta_cmd_rad
    path_mps = -nav.closing_mps * nav.glidepath_slope
    climb_mps = path_mps - bounded(GLIDEPATH_GAIN_PER_S * nav.glidepath_error_m, HOLD_CLIMB_MPS)
    return pitch_for_climb_rad(g.state, g.aircraft, climb_mps, NORMAL_ACCELERATION_MPS2)


def _go_around(g: GuidanceInput) -> float:
    return g.limits.go_around_rad


def _level(g: GuidanceInput) -> float:
    if g.references.level_vertical == "zero_vertical_speed":
        return pitch_for_climb_rad(g.state, g.aircraft, 0.0, 4.0 * NORMAL_ACCELERATION_MPS2)
    return 0.0


VERTICAL_LAWS: dict[str, VerticalLaw] = {
    "pitch_hold": _pitch_hold,
    "vertical_speed": _vertical_speed,
    "airspeed_hold": _airspeed_hold,
    "altitude_capture": _altitude_capture,
    "altitude_hold": _altitude_hold,
    "glidepath": _glidepath,
    "go_around": _go_around,
    "level": _level,
}


PATH_MODES = frozenset(VERTICAL_LAWS) - {"pitch_hold", "go_around"}


def begin_path(s: FlightState, goes_on: bool) -> None:
    """Start the reference path from the present one, so that engaging brings no jolt.

    From one path mode to the next the reference goes on, unless the flight has left it.

    Example:
        >>> from trainer.flight.state import new_state
        >>> s = new_state()
        >>> s.climb_mps, s.climb_ref_mps = 2.0, 0.0
        >>> begin_path(s, goes_on=False)
        >>> s.climb_ref_mps
        2.0
    """
    if goes_on and abs(s.climb_ref_mps - s.climb_mps) < PATH_LEFT_MPS:
        return
    s.climb_ref_mps = s.climb_mps
    s.climb_ref_rate_mps2 = 0.0


def speed_protected_rad(g: GuidanceInput, protection: str, theta_rad: float) -> float:
    """Return the pitch [rad] after speed protection: not slower, or not faster, than its limit.

    The path that keeps the limit speed is flown without shaping: it must act at once.

    Example:
        >>> from trainer.flight.aircraft import load_aircraft
        >>> from trainer.flight.state import new_state
        >>> from trainer.resources import resource_folder
        >>> path = resource_folder("statecharts") / "aircraft" / "light_single.yaml"
        >>> k, s = AircraftConstants(load_aircraft(path)), new_state()
        >>> s.speed_mps, s.qbar_pa = 50.0, 1531.0
        >>> from trainer.flight.navigation import CourseReading
        >>> from trainer.flight.types import GuidanceLimits, References
        >>> s.cas_mps, s.thrust_n, s.drag_n = 33.0, 1900.0, 1100.0  # 64 kt, the limit is 70
        >>> g = GuidanceInput(s, References(), Limits(GuidanceLimits()), k, CourseReading())
        >>> speed_protected_rad(g, "underspeed", 0.2) < 0.2, speed_protected_rad(g, "none", 0.2)
        (True, 0.2)
    """
    s, k = g.state, g.aircraft
    if protection == "underspeed":
        climb_mps = climb_for_airspeed_mps(s, k, g.limits.cas_min_mps)
        return min(theta_rad, pitch_on_path_rad(s, k, climb_mps, 0.0))
    if protection == "overspeed":
        climb_mps = climb_for_airspeed_mps(s, k, g.limits.cas_max_mps)
        return max(theta_rad, pitch_on_path_rad(s, k, climb_mps, 0.0))
    return theta_rad


def capture_lead_m(climb_mps: float, limits: Limits) -> float:
    """Return how far before the altitude levelling begins [m], never less than 20 ft.

    Source: [LED-01] ten percent of the vertical speed; [LED-04] the other law's kinematics.

    Example:
        >>> from trainer.flight.types import GuidanceLimits
        >>> limits = Limits(GuidanceLimits())
        >>> round(capture_lead_m(2.54, limits) / M_PER_FT)  # 500 ft/min: 50 ft
        50
        >>> round(capture_lead_m(0.1, limits) / M_PER_FT)
        20
    """
    if limits.ten_percent:
        lead_m = abs(climb_mps) / TEN_PERCENT_GAIN_PER_S
    else:
        lead_m = climb_mps * climb_mps / (2.0 * limits.capture_accel_mps2)
    return max(lead_m, 20.0 * M_PER_FT)
