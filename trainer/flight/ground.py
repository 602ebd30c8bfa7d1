"""The little that is modelled on the ground: parked, rolling, lifting off, touching down.

No steering and no crosswind: the runway is straight ahead.
"""

from __future__ import annotations

import math

from trainer.flight.aircraft import AircraftConstants
from trainer.flight.atmosphere import SEA_LEVEL_DENSITY_KGPM3
from trainer.flight.state import FlightState
from trainer.flight.turbulence import still_gusts

ROLLING_FRICTION = 0.03
BRAKING_FRICTION = 0.25
IDLE_POWER = 0.3
TAKE_OFF_POWER = 0.6
ROTATION_STALL_RATIO = 1.15
ROTATION_RADPS = math.radians(3.0)
LIFT_OFF_PITCH_RAD = math.radians(7.0)


def stall_speed_mps(k: AircraftConstants, density_kgpm3: float, flaps: float = 0.0) -> float:
    """Return the true stall speed [m/s] at one g."""
    cl_max = k.cl_max + k.cl_flap * flaps
    return math.sqrt(2.0 * k.weight_n / (density_kgpm3 * k.wing_m2 * cl_max))


def advance_on_ground(s: FlightState, k: AircraftConstants, dt_s: float, lever: float) -> None:
    """Step the ground roll by dt_s [s]; leaves the ground when fast enough under power."""
    s.power += dt_s * (lever - s.power) / k.power_response_s
    friction = BRAKING_FRICTION if s.power < IDLE_POWER else ROLLING_FRICTION
    down_n = max(k.weight_n - s.lift_n, 0.0)
    force_n = s.thrust_n - s.drag_n - friction * down_n
    s.speed_mps = max(s.speed_mps + dt_s * force_n / k.mass_kg, 0.0)
    north_mps = s.speed_mps * math.cos(s.psi_rad)
    east_mps = s.speed_mps * math.sin(s.psi_rad)
    s.north_m += dt_s * north_mps
    s.east_m += dt_s * east_mps
    s.last_north, s.last_east = north_mps, east_mps
    density = s.sigma * SEA_LEVEL_DENSITY_KGPM3
    fast = s.speed_mps > ROTATION_STALL_RATIO * stall_speed_mps(k, density)
    if fast and s.power > TAKE_OFF_POWER:
        s.theta_rad = min(s.theta_rad + ROTATION_RADPS * dt_s, LIFT_OFF_PITCH_RAD)
    if s.lift_n >= k.weight_n and s.theta_rad > 0.0:
        s.on_ground = False
        s.last_dt_s = 0.0
        s.pilot_theta_rad = s.pilot_slow_theta_rad = LIFT_OFF_PITCH_RAD
        s.pilot_phi_rad = s.pilot_slow_phi_rad = 0.0
        s.pilot_flying = True


def touch_down(s: FlightState) -> None:
    """Put the aircraft on the ground with the speed that it has."""
    s.on_ground = True
    s.pressure_alt_m += s.ground_m - s.height_m
    s.height_m = s.ground_m
    s.speed_mps *= math.cos(s.gamma_rad)
    still_gusts(s)
    s.gamma_rad = s.phi_rad = s.p_radps = s.q_radps = s.theta_rad = s.climb_mps = 0.0
