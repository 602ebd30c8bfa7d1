"""The flight's numbers at one instant, in SI, in one object that is cheap to copy.

Owns no behaviour but copying. Each group is written by one module: motion by `point_mass`, air by
`air`, gusts by `turbulence`, commands by the guidance, pilot memory by `pilot`.
"""

from __future__ import annotations

from typing import TypeVar

T = TypeVar("T")


def clone(original: T, names: tuple[str, ...]) -> T:
    """Return a copy of an object with slots, without calling its constructor."""
    twin = object.__new__(type(original))
    for name in names:
        setattr(twin, name, getattr(original, name))
    return twin


class FlightState:
    """Motion, air, gusts, commands and memories of one flight."""

    # motion: north and east of the scene's origin, true and pressure altitude, true airspeed,
    # flight-path angle, heading, bank and its rate, pitch and its rate, power as a fraction
    north_m: float
    east_m: float
    height_m: float
    pressure_alt_m: float
    speed_mps: float
    gamma_rad: float
    psi_rad: float
    phi_rad: float
    p_radps: float
    theta_rad: float
    q_radps: float
    power: float
    # rates of the previous step, for the two-step integration
    last_dt_s: float
    last_north: float
    last_east: float
    last_height: float
    last_pressure_alt: float
    last_speed: float
    last_gamma: float
    last_psi: float
    last_phi: float
    last_p: float
    last_theta: float
    last_q: float
    last_power: float
    # air
    temperature_k: float
    standard_k: float
    pressure_pa: float
    sigma: float
    qbar_pa: float
    air_mps: float
    cas_mps: float
    wind_north_mps: float
    wind_east_mps: float
    shear_north_per_s: float
    shear_east_per_s: float
    ground_m: float
    # gusts: along the flight path, up, and a rolling one
    gust_along_mps: float
    gust_up_mps: float
    gust_roll_radps: float
    gust_count: int
    # results of the last step
    climb_mps: float
    lift_n: float
    drag_n: float
    thrust_n: float
    load_g: float
    stall_rad: float
    on_ground: bool
    # commands
    phi_cmd_rad: float
    theta_cmd_rad: float
    climb_ref_mps: float
    climb_ref_rate_mps2: float
    step_s: float
    # pilot memory
    pilot_phi_rad: float
    pilot_theta_rad: float
    pilot_slow_phi_rad: float
    pilot_slow_theta_rad: float
    pilot_flying: bool
    pilot_wait_s: float
    fault_age_s: float
    capture_rate_mps: float
    last_lateral: str
    last_vertical: str
    last_servos: bool

    __slots__ = tuple(__annotations__)

    def copy(self) -> FlightState:
        """Return an independent copy."""
        return clone(self, STATE_NAMES)


STATE_NAMES: tuple[str, ...] = FlightState.__slots__


def new_state() -> FlightState:
    """Return a state with everything zero, false or empty, to be filled by `trim`."""
    state = FlightState()
    kinds = {"float": 0.0, "int": 0, "bool": False, "str": "none"}
    for name, kind in FlightState.__annotations__.items():
        setattr(state, name, kinds[str(kind)])
    return state
