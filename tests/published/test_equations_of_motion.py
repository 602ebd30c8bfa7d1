"""The stepped equations of motion against a tight general-purpose integrator, and energy.

The right-hand side below is written out again from the textbook equations and the aircraft file,
without the code under test, and solved by `scipy.integrate` ([LIB-SCIPY]).
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from trainer.flight import (
    AircraftSpec,
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    PilotControls,
    Wind,
    WindLayer,
    load_aircraft,
)
from trainer.flight.air import AirModel, refresh_air
from trainer.flight.aircraft import AircraftConstants
from trainer.flight.point_mass import advance, forces
from trainer.flight.state import FlightState
from trainer.flight.trim import trimmed_state

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft"
NAMES = (
    "north_m",
    "east_m",
    "height_m",
    "speed_mps",
    "gamma_rad",
    "psi_rad",
    "phi_rad",
    "p_radps",
    "theta_rad",
    "q_radps",
    "power",
)
G = 9.80665


def right_hand_side(
    _t: float, y: Any, spec: AircraftSpec, wind: tuple[float, float]
) -> list[float]:
    """Textbook point-mass equations over a flat earth, from the file's own numbers."""
    _, _, height, speed, gamma, psi, phi, p, theta, q, power = y
    kelvin = 288.15 - 0.0065 * height
    pascal = 101325.0 * (kelvin / 288.15) ** (G / (0.0065 * 287.05287))
    density = pascal / (287.05287 * kelvin)
    dynamic = 0.5 * density * speed**2 * spec.wing_area_m2
    alpha = (theta - gamma) / math.cos(phi) + math.radians(spec.body_incidence_deg)
    lift_c = spec.lift_slope_per_rad * alpha
    drag_c = spec.zero_lift_drag_coefficient + lift_c**2 / (
        math.pi * spec.aspect_ratio * spec.oswald_efficiency
    )
    best = spec.propeller_peak_speed_kt * 1852.0 / 3600.0
    lapse = spec.power_lapse_slope * density / 1.2249990 - (spec.power_lapse_slope - 1.0)
    efficiency = spec.propeller_peak_efficiency * (speed / best) * (2.0 - speed / best)
    thrust = power * lapse * spec.maximum_power_kw * 1000.0 * efficiency / speed
    lift, drag = dynamic * lift_c, dynamic * drag_c
    mass = spec.mass_kg
    return [
        speed * math.cos(gamma) * math.cos(psi) + wind[0],
        speed * math.cos(gamma) * math.sin(psi) + wind[1],
        speed * math.sin(gamma),
        (thrust - drag) / mass - G * math.sin(gamma),
        (lift * math.cos(phi) / mass - G * math.cos(gamma)) / speed,
        lift * math.sin(phi) / (mass * speed * math.cos(gamma)),
        p,
        (P_CMD - p) / spec.roll_lag_s,
        q,
        (Q_CMD - q) / spec.pitch_lag_s,
        (LEVER - power) / spec.power_response_s,
    ]


def start(spec: AircraftSpec) -> tuple[FlightState, AircraftConstants, AirModel]:
    k = AircraftConstants(spec)
    air = AirModel(Environment(wind=Wind(240.0, 18.0)))
    initial = InitialCondition(altitude_ft=5000.0, airspeed_kt=105.0, heading_deg=40.0)
    return trimmed_state(initial, k, air, PilotControls()), k, air


def stepped(spec: AircraftSpec, dt_s: float, until_s: float) -> list[float]:
    """Return the end of a rolling, climbing flight: rates for a time, then none."""
    s, k, air = start(spec)
    for _ in range(round(until_s / dt_s)):
        advance(s, k, dt_s, p_cmd=P_CMD, q_cmd=Q_CMD, lever=LEVER)
        refresh_air(s, air)
        forces(s, k, 0.0, 0.0)
    return [getattr(s, name) for name in NAMES]


P_CMD, Q_CMD, LEVER = math.radians(1.5), math.radians(0.25), 0.95
UNTIL_S = 16.0


def solved(spec: AircraftSpec) -> np.ndarray[Any, Any]:
    s, _, air = start(spec)
    y0 = [getattr(s, name) for name in NAMES]
    wind = (air.wind_north_mps, air.wind_east_mps)
    answer = solve_ivp(
        right_hand_side,
        (0.0, UNTIL_S),
        y0,
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
        args=(spec, wind),
    )
    assert answer.success
    end: np.ndarray[Any, Any] = answer.y[:, -1]
    return end


@pytest.mark.parametrize("name", ["light_single", "touring_single"])
def test_second_order_convergence(name: str) -> None:
    """Half the step, a quarter of the error, towards the same end as the tight integrator."""
    spec = load_aircraft(AIRCRAFT / f"{name}.yaml")
    exact = solved(spec)
    scale = np.array([1.0, 1.0, 1.0, 1.0, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01])
    errors = []
    for dt_s in (0.1, 0.05, 0.025, 0.0125):
        end = np.array(stepped(spec, dt_s, UNTIL_S))
        errors.append(float(np.max(np.abs(end - exact) / scale)))
    orders = [math.log2(a / b) for a, b in itertools.pairwise(errors)]
    assert all(1.8 < order < 2.3 for order in orders), (errors, orders)


@pytest.mark.parametrize("name", ["light_single", "touring_single"])
def test_normal_step_is_close_enough(name: str) -> None:
    """At 20 Hz, after a turning climb, a metre at most and a few hundredths of a degree."""
    spec = load_aircraft(AIRCRAFT / f"{name}.yaml")
    exact = solved(spec)
    end = np.array(stepped(spec, 0.05, UNTIL_S))
    assert np.max(np.abs(end[:3] - exact[:3])) < 1.0
    assert np.max(np.abs(end[4:7] - exact[4:7])) < math.radians(0.05)


def energy_j(s: FlightState, k: AircraftConstants) -> float:
    return k.mass_kg * (0.5 * s.speed_mps**2 + G * s.height_m)


@pytest.mark.parametrize("name", ["light_single", "touring_single"])
def test_energy_balance_over_a_long_flight(name: str) -> None:
    """Kinetic plus potential energy changes by the work of thrust and drag, within 0.1 %.

    Twenty minutes of climbs, turns and descents under guidance; the work is summed by trapezia,
    outside the code under test.
    """
    spec = load_aircraft(AIRCRAFT / f"{name}.yaml")
    flight = FlightModel(
        spec,
        InitialCondition(altitude_ft=3000.0),
        Environment(wind=Wind(300.0, 25.0)),
        (),
        GuidanceLimits(),
    )
    flight.modes.servos = True
    flight.modes.lateral, flight.modes.vertical = "heading_select", "vertical_speed"
    s, k = flight._s, flight._k
    first_j, moved_j, work_j = energy_j(s, k), 0.0, 0.0
    power_w = (s.thrust_n - s.drag_n) * s.speed_mps
    for step in range(20 * 1200):
        minute = step // 1200
        flight.references.selected_heading_deg = 70.0 * (minute // 2) % 360.0
        flight.references.vertical_speed_fpm = (500.0, -600.0, 0.0, -300.0, 400.0)[minute % 5]
        flight.controls.power_percent = (90.0, 40.0, 65.0, 55.0, 95.0)[minute % 5]
        before_j = energy_j(s, k)
        flight.step(0.05)
        moved_j += abs(energy_j(s, k) - before_j)
        now_w = (s.thrust_n - s.drag_n) * s.speed_mps
        work_j += 0.5 * (power_w + now_w) * 0.05
        power_w = now_w
    change_j = energy_j(s, k) - first_j
    assert moved_j > 1e6
    assert abs(change_j - work_j) < 0.001 * moved_j


def test_still_glide_against_the_closed_form() -> None:
    """Power off, airspeed held: sine of the glide is drag over weight (textbook)."""
    spec = load_aircraft(AIRCRAFT / "light_single.yaml")
    flight = FlightModel(
        spec,
        InitialCondition(altitude_ft=6000.0, airspeed_kt=80.0, power_percent=0.0),
        Environment(),
        (),
        GuidanceLimits(),
    )
    flight.modes.servos = True
    flight.modes.lateral, flight.modes.vertical = "roll_hold", "airspeed_hold"
    flight.references.airspeed_kt = 80.0
    for _ in range(2400):
        flight.step(0.05)
    sample = flight.sample()
    speed = sample.true_airspeed_kt * 1852.0 / 3600.0
    kelvin = 288.15 - 0.0065 * sample.true_altitude_ft * 0.3048
    density = 1.225 * (kelvin / 288.15) ** 4.25588
    dynamic = 0.5 * density * speed**2 * spec.wing_area_m2
    weight = spec.mass_kg * G
    induced = 1.0 / (math.pi * spec.aspect_ratio * spec.oswald_efficiency)
    sink = sample.vertical_speed_fpm * 0.3048 / 60.0
    lift_c = weight * math.cos(math.asin(sink / speed)) / dynamic
    drag = dynamic * (spec.zero_lift_drag_coefficient + induced * lift_c**2)
    # Keeping calibrated speed in a descent slows true speed: 1/sqrt(density ratio) changes by
    # 2.128 * 0.0065 / T for each metre, so the drag carries a little less than the weight's part.
    slowing_n = spec.mass_kg * speed * -sink * 2.128 * 0.0065 / kelvin
    assert -weight * sink / speed + slowing_n == pytest.approx(drag, rel=0.002)


def test_wind_gradient_changes_airspeed() -> None:
    """Climbing into a growing headwind gains airspeed: the air's acceleration times the climb."""
    layers = (WindLayer(1000.0, Wind(0.0, 0.0)), WindLayer(5000.0, Wind(0.0, 40.0)))
    speeds = []
    for environment in (Environment(), Environment(wind_layers=layers)):
        flight = FlightModel(
            load_aircraft(AIRCRAFT / "touring_single.yaml"),
            InitialCondition(altitude_ft=2000.0, airspeed_kt=110.0, vertical_speed_fpm=1000.0),
            environment,
            (),
            GuidanceLimits(),
        )
        flight.modes.servos = True
        flight.modes.lateral, flight.modes.vertical = "roll_hold", "pitch_hold"
        for _ in range(60):
            flight.step(0.05)
        speeds.append(flight.sample().true_airspeed_kt)
    # 1 000 ft/min for 3 s through 10 kt for each 1 000 ft
    assert speeds[1] - speeds[0] == pytest.approx(0.5, abs=0.1)
