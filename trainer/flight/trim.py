"""Sets a flight up: the pitch, flight path and power that keep what the scene asks for."""

from __future__ import annotations

import math

from trainer.errors import TrainerError
from trainer.flight.air import AirModel, refresh_air, refresh_wind
from trainer.flight.aircraft import AircraftConstants
from trainer.flight.airspeed import true_from_calibrated_mps
from trainer.flight.engine import thrust_n
from trainer.flight.point_mass import forces
from trainer.flight.state import FlightState, new_state
from trainer.flight.types import InitialCondition, PilotControls
from trainer.units import fpm_to_mps, ft_to_m, kt_to_mps, nm_to_m

RANGES: dict[str, tuple[float, float]] = {
    "altitude_ft": (-2000.0, 30000.0),
    "airspeed_kt": (30.0, 300.0),
    "vertical_speed_fpm": (-4000.0, 4000.0),
    "bank_deg": (-75.0, 75.0),
    "pitch_deg": (-40.0, 40.0),
    "power_percent": (0.0, 100.0),
}
"""What an initial condition may hold."""


class InitialConditionError(TrainerError):
    """A start that can't be flown."""


def check_initial(initial: InitialCondition) -> None:
    """Refuse a start outside `RANGES`.

    Raises:
        InitialConditionError: With what was found and what is accepted.
    """
    for name, (low, high) in RANGES.items():
        value = getattr(initial, name)
        parked = initial.on_ground and name == "airspeed_kt"
        if value is not None and not parked and not low <= value <= high:
            raise InitialConditionError(f"found {name} {value}; accepted: {low:g} to {high:g}")


def trimmed_state(
    initial: InitialCondition, k: AircraftConstants, air: AirModel, controls: PilotControls
) -> FlightState:
    """Return the state of a flight at its start.

    With a pitch given, the flight path is the one whose lift carries the weight at that pitch and
    bank, and `vertical_speed_fpm` is not used.

    Raises:
        InitialConditionError: A value that no such aircraft can fly.
    """
    check_initial(initial)
    s = new_state()
    s.north_m, s.east_m = nm_to_m(initial.north_nm), nm_to_m(initial.east_nm)
    s.psi_rad = math.radians(initial.heading_deg) % math.tau
    s.pressure_alt_m = ft_to_m(initial.altitude_ft) + air.altimeter_offset_m
    s.height_m = air.true_from_pressure_m(s.pressure_alt_m)
    s.speed_mps = 30.0
    refresh_air(s, air)
    refresh_wind(s, air)
    if initial.on_ground:
        _park(s, air)
    else:
        s.speed_mps = true_from_calibrated_mps(
            kt_to_mps(initial.airspeed_kt), s.pressure_pa, s.temperature_k
        )
        refresh_air(s, air)
        _set_path(s, initial, k, controls.flaps)
    gear = 1.0 if controls.gear_down else 0.0
    forces(s, k, controls.flaps, gear)
    s.power = _power(s, k, initial)
    forces(s, k, controls.flaps, gear)
    level_mps = s.speed_mps * math.cos(s.gamma_rad)
    s.last_north = level_mps * math.cos(s.psi_rad) + s.wind_north_mps
    s.last_east = level_mps * math.sin(s.psi_rad) + s.wind_east_mps
    s.phi_cmd_rad, s.theta_cmd_rad = s.phi_rad, s.theta_rad
    return s


def _set_path(
    s: FlightState, initial: InitialCondition, k: AircraftConstants, flaps: float
) -> None:
    """Set bank, flight path and pitch so that lift carries the weight."""
    s.phi_rad = math.radians(initial.bank_deg)
    cos_phi = max(math.cos(s.phi_rad), 0.25)
    if initial.pitch_deg is None:
        climb_mps = fpm_to_mps(initial.vertical_speed_fpm) * s.temperature_k / s.standard_k
        s.gamma_rad = math.asin(max(-0.6, min(0.6, climb_mps / s.speed_mps)))
    for _ in range(4):
        cl = k.weight_n * math.cos(s.gamma_rad) / (cos_phi * s.qbar_pa * k.wing_m2)
        alpha_rad = (min(cl, k.cl_max) - 0.5 * k.cl_flap * flaps) / k.lift_slope
        above_rad = (alpha_rad - k.incidence_rad) * cos_phi
        if initial.pitch_deg is None:
            s.theta_rad = s.gamma_rad + above_rad
        else:
            s.theta_rad = math.radians(initial.pitch_deg)
            s.gamma_rad = s.theta_rad - above_rad


def _power(s: FlightState, k: AircraftConstants, initial: InitialCondition) -> float:
    """Return the power fraction given, or the one that keeps the speed."""
    if initial.power_percent is not None:
        return max(0.0, min(1.0, initial.power_percent / 100.0))
    if initial.on_ground:
        return 0.0
    full_n = thrust_n(k, 1.0, s.sigma, s.speed_mps)
    needed_n = s.drag_n + k.weight_n * math.sin(s.gamma_rad)
    return max(0.0, min(1.0, needed_n / full_n)) if full_n > 0.0 else 1.0


def _park(s: FlightState, air: AirModel) -> None:
    """Put the aircraft on the ground at rest."""
    s.on_ground = True
    s.height_m = s.ground_m
    s.pressure_alt_m = s.ground_m + air.altimeter_offset_m
    s.speed_mps = s.gamma_rad = s.phi_rad = s.theta_rad = 0.0
    refresh_air(s, air)
