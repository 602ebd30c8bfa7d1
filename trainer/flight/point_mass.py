"""Equations of motion of a point mass with bank and pitch as states, and how they are stepped.

Lift is a function of the angle between pitch attitude and flight path; the turn is coordinated, so
pitch = flight path + (angle of attack - incidence) * cos(bank). Bank and pitch follow a commanded
rate with a first-order lag. Two-step Adams-Bashforth: second order for one evaluation per step;
the first step, and the first after a change of step, falls back smoothly by the ratio of steps.

Source: standard point-mass equations over a flat earth; the closed forms they must meet are
[TRN-01], [PRF-01], [PRF-03].
"""

from __future__ import annotations

import math

from trainer.flight.aircraft import AircraftConstants
from trainer.flight.state import FlightState
from trainer.units import G0_MPS2

MINIMUM_SPEED_MPS = 12.0
BANK_STOP_RAD = math.radians(80.0)
PITCH_STOP_RAD = math.radians(45.0)
STALL_LIFT_SLOPE_PER_RAD = 2.5
STALL_LIFT_FLOOR = 0.65
STALL_DRAG_PER_RAD = 1.6
NEGATIVE_LIFT_SHARE = 0.7
STALL_NOSE_DROP_PER_S = 1.5
"""Pitch rate down for each radian beyond the stall: no servo holds a stalled nose up."""


def lift_and_drag(
    k: AircraftConstants, alpha_rad: float, flaps: float, gear: float
) -> tuple[float, float]:
    """Return lift and drag coefficients, with a mushing stall.

    Args:
        k: Constants of the aircraft.
        alpha_rad: Angle of attack from the zero-lift line of the clean wing [rad].
        flaps: 0 to 1.
        gear: 1.0 if a retractable gear is down, else 0.0.
    """
    cl_max = k.cl_max + k.cl_flap * flaps
    cl = k.lift_slope * alpha_rad + 0.5 * k.cl_flap * flaps
    extra = 0.0
    if cl > cl_max:
        beyond_rad = (cl - cl_max) / k.lift_slope
        cl = cl_max - STALL_LIFT_SLOPE_PER_RAD * beyond_rad
        floor = STALL_LIFT_FLOOR * cl_max
        cl = max(cl, floor)
        extra = STALL_DRAG_PER_RAD * beyond_rad
    elif cl < -NEGATIVE_LIFT_SHARE * k.cl_max:
        cl = -NEGATIVE_LIFT_SHARE * k.cl_max
    return cl, k.cd_zero + k.cd_flap * flaps + k.cd_gear * gear + k.induced * cl * cl + extra


def forces(s: FlightState, k: AircraftConstants, flaps: float, gear: float) -> None:
    """Set lift, drag, thrust, load factor, rate of climb and what is beyond the stall."""
    s.climb_mps = s.speed_mps * math.sin(s.gamma_rad)
    cos_phi = math.cos(s.phi_rad)
    cos_phi = max(cos_phi, 0.25)
    alpha = (s.theta_rad - s.gamma_rad) / cos_phi + k.incidence_rad
    if s.gust_up_mps != 0.0:
        alpha += s.gust_up_mps / s.speed_mps
    cl, cd = lift_and_drag(k, alpha, flaps, gear)
    force = s.qbar_pa * k.wing_m2
    s.lift_n = lift = force * cl
    s.drag_n = force * cd
    s.load_g = lift / k.weight_n
    beyond = alpha - (k.cl_max + 0.5 * k.cl_flap * flaps) / k.lift_slope
    s.stall_rad = beyond if beyond > 0.0 else 0.0
    factor = k.lapse_slope * s.sigma - (k.lapse_slope - 1.0)
    slope = 2.0 - s.speed_mps / k.prop_peak_mps
    if slope < 0.0 or factor < 0.0:
        slope = 0.0
    s.thrust_n = s.power * factor * k.power_max_w * k.prop_thrust_factor * slope


def advance(
    s: FlightState, k: AircraftConstants, dt_s: float, *, p_cmd: float, q_cmd: float, lever: float
) -> None:
    """Step the motion by dt_s [s] under commanded roll and pitch rates [rad/s] and a lever.

    `forces` must have been called for the present state.
    """
    ratio = dt_s / s.last_dt_s if s.last_dt_s > 0.0 else 0.0
    old = dt_s * 0.5 * ratio
    now = dt_s + old
    s.last_dt_s = dt_s
    _advance_path(s, k, now, old)
    _advance_attitude(s, k, now, old, p_cmd=p_cmd, q_cmd=q_cmd, lever=lever)


def _advance_path(s: FlightState, k: AircraftConstants, now: float, old: float) -> None:
    """Step place, altitude, speed, flight-path angle and heading with the weights given."""
    v = s.speed_mps
    cos_gamma = math.cos(s.gamma_rad)
    sin_psi = math.sin(s.psi_rad)
    cos_psi = math.cos(s.psi_rad)
    climb = s.climb_mps
    level = v * cos_gamma
    accel = s.lift_n / k.mass_kg
    speed_rate = (s.thrust_n - s.drag_n) / k.mass_kg - G0_MPS2 * climb / v
    shear = s.shear_north_per_s * cos_psi + s.shear_east_per_s * sin_psi
    if shear != 0.0:
        speed_rate -= shear * climb * cos_gamma
    gamma_rate = (accel * math.cos(s.phi_rad) - G0_MPS2 * cos_gamma) / v
    psi_rate = accel * math.sin(s.phi_rad) / level
    north = level * cos_psi + s.wind_north_mps
    east = level * sin_psi + s.wind_east_mps
    pressure_climb = climb * s.standard_k / s.temperature_k
    s.north_m += now * north - old * s.last_north
    s.east_m += now * east - old * s.last_east
    s.height_m += now * climb - old * s.last_height
    s.pressure_alt_m += now * pressure_climb - old * s.last_pressure_alt
    s.speed_mps = v + now * speed_rate - old * s.last_speed
    s.gamma_rad += now * gamma_rate - old * s.last_gamma
    s.psi_rad = (s.psi_rad + now * psi_rate - old * s.last_psi) % math.tau
    s.last_north, s.last_east = north, east
    s.last_height, s.last_pressure_alt = climb, pressure_climb
    s.last_speed, s.last_gamma, s.last_psi = speed_rate, gamma_rate, psi_rate
    s.speed_mps = max(s.speed_mps, MINIMUM_SPEED_MPS)


def _advance_attitude(
    s: FlightState,
    k: AircraftConstants,
    now: float,
    old: float,
    *,
    p_cmd: float,
    q_cmd: float,
    lever: float,
) -> None:
    """Step bank, pitch, their rates and the power; bank and pitch end at stops."""
    p = s.p_radps
    q = s.q_radps
    p_rate = (p_cmd - p) / k.roll_lag_s
    q_rate = (q_cmd - q - STALL_NOSE_DROP_PER_S * s.stall_rad) / k.pitch_lag_s
    power_rate = (lever - s.power) / k.power_response_s
    roll = p + s.gust_roll_radps
    phi = s.phi_rad + now * roll - old * s.last_phi
    theta = s.theta_rad + now * q - old * s.last_theta
    s.p_radps = p + now * p_rate - old * s.last_p
    s.q_radps = q + now * q_rate - old * s.last_q
    s.power += now * power_rate - old * s.last_power
    s.last_phi, s.last_theta, s.last_p, s.last_q = roll, q, p_rate, q_rate
    s.last_power = power_rate
    if phi > BANK_STOP_RAD:
        phi = BANK_STOP_RAD
    elif phi < -BANK_STOP_RAD:
        phi = -BANK_STOP_RAD
    if theta > PITCH_STOP_RAD:
        theta = PITCH_STOP_RAD
    elif theta < -PITCH_STOP_RAD:
        theta = -PITCH_STOP_RAD
    s.phi_rad = phi
    s.theta_rad = theta
