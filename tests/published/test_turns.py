"""Turn rate, radius and load factor of the flying model against handbook figures."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from trainer.flight import (
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    PilotControls,
    load_aircraft,
)
from trainer.flight.air import AirModel
from trainer.flight.aircraft import AircraftConstants
from trainer.flight.airspeed import calibrated_from_true_mps
from trainer.flight.atmosphere import pressure_pa, standard_temperature_k
from trainer.flight.point_mass import advance
from trainer.flight.trim import trimmed_state
from trainer.units import ft_to_m, kt_to_mps, m_to_ft, mps_to_kt

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft"
STEP_S = 0.05
ALTITUDE_FT = 2000.0


def calibrated_kt(true_kt: float) -> float:
    altitude_m = ft_to_m(ALTITUDE_FT)
    return mps_to_kt(
        calibrated_from_true_mps(
            kt_to_mps(true_kt), pressure_pa(altitude_m), standard_temperature_k(altitude_m)
        )
    )


def steady_turn(bank_deg: float, true_kt: float) -> FlightModel:
    """Return a flight in a level turn, held there by the guidance, with the power it needs."""
    flight = FlightModel(
        load_aircraft(AIRCRAFT / "touring_single.yaml"),
        InitialCondition(
            altitude_ft=ALTITUDE_FT, airspeed_kt=calibrated_kt(true_kt), bank_deg=bank_deg
        ),
        Environment(),
        (),
        GuidanceLimits(bank_limit_deg=60.0),
    )
    flight.modes.servos = True
    flight.modes.lateral = "roll_hold"
    flight.modes.vertical = "altitude_hold"
    flight.references.bank_deg = bank_deg
    for _ in range(200):
        flight.step(STEP_S)
    return flight


# bank, TAS, deg/s, radius ft. [TRN-02] and [TRN-07] to [TRN-08]; 240 kt is in the formula test.
FLOWN = [(30.0, 120.0, 5.2549, 2208.3), (45.0, 120.0, 9.102, 1275.0), (15.0, 100.0, 2.927, 3304.0)]


@pytest.mark.parametrize(("bank_deg", "true_kt", "rate_dps", "radius_ft"), FLOWN)
def test_flown_turn(bank_deg: float, true_kt: float, rate_dps: float, radius_ft: float) -> None:
    """The model, not a formula of ours, meets rate and radius, scaled to the speed it has."""
    flight = steady_turn(bank_deg, true_kt)
    before = flight.sample()
    heading_deg = 0.0
    north, east = [], []
    last_deg = before.heading_deg
    steps = round(360.0 / rate_dps / STEP_S)
    for _ in range(steps):
        flight.step(STEP_S)
        now = flight.sample()
        heading_deg += (now.heading_deg - last_deg) % 360.0
        last_deg = now.heading_deg
        north.append(now.north_nm)
        east.append(now.east_nm)
    speed_kt = flight.sample().true_airspeed_kt
    assert speed_kt == pytest.approx(true_kt, rel=0.01)
    measured_dps = heading_deg / (steps * STEP_S)
    assert measured_dps * speed_kt / true_kt == pytest.approx(rate_dps, rel=0.005)
    radius_nm = 0.25 * (max(north) - min(north) + max(east) - min(east))
    found_ft = radius_nm * 1852.0 / 0.3048 * (true_kt / speed_kt) ** 2
    assert found_ft == pytest.approx(radius_ft, rel=0.01)


def test_handbook_rates_and_times() -> None:
    """[TRN-01] to [TRN-03] 1 091 tan(bank)/TAS; twice the speed turns half as fast."""
    flight = steady_turn(30.0, 120.0)
    rate_dps = 1091.0 * math.tan(math.radians(30.0)) / 120.0
    assert rate_dps == pytest.approx(5.25, abs=0.02)
    assert 360.0 / rate_dps == pytest.approx(68.6, abs=0.3)
    assert 1091.0 * math.tan(math.radians(30.0)) / 240.0 == pytest.approx(2.63, abs=0.02)
    sample = flight.sample()
    before_deg = sample.heading_deg
    for _ in range(20):
        flight.step(STEP_S)
    turned_deg = (flight.heading_deg - before_deg) % 360.0
    assert turned_deg * sample.true_airspeed_kt / 120.0 == pytest.approx(5.25, abs=0.03)


@pytest.mark.parametrize(
    ("true_kt", "bank_deg", "rate_dps", "radius_ft"),
    [
        pytest.param(120.0, 30.0, 5.25, 2215.0, id="TRN-02-05"),
        pytest.param(240.0, 30.0, 2.63, 8860.0, id="TRN-03-06"),
        pytest.param(120.0, 45.0, 9.102, 1275.0, id="TRN-07"),
        pytest.param(100.0, 15.0, 2.927, 3304.0, id="TRN-08"),
    ],
)
def test_equations_of_a_level_turn(
    true_kt: float, bank_deg: float, rate_dps: float, radius_ft: float
) -> None:
    """[TRN-02] to [TRN-08] one step of the equations, trimmed level at sea level; within 0.5 %."""
    k = AircraftConstants(load_aircraft(AIRCRAFT / "touring_single.yaml"))
    start = InitialCondition(altitude_ft=0.0, airspeed_kt=true_kt, bank_deg=bank_deg)
    s = trimmed_state(start, k, AirModel(Environment(ground_elevation_ft=-500.0)), PilotControls())
    advance(s, k, STEP_S, p_cmd=0.0, q_cmd=0.0, lever=s.power)
    assert math.degrees(s.last_psi) == pytest.approx(rate_dps, rel=0.005)
    assert m_to_ft(kt_to_mps(true_kt) / s.last_psi) == pytest.approx(radius_ft, rel=0.005)
    assert abs(s.last_gamma) < 1e-6
    assert radius_ft == pytest.approx(
        true_kt**2 / (11.26 * math.tan(math.radians(bank_deg))), rel=0.005
    )


@pytest.mark.parametrize(
    ("true_kt", "bank_deg", "radius_ft"),
    [(90.0, 13.89, 2901.0), (100.0, 15.36, 3223.0), (120.0, 18.24, 3868.0)],
)
def test_standard_rate(true_kt: float, bank_deg: float, radius_ft: float) -> None:
    """[TRN-09], [TRN-11], [TRN-13]: the exact bank turns at 3 deg/s; the 15 % rule [TRN-10]."""
    flight = steady_turn(bank_deg, true_kt)
    before = flight.sample()
    for _ in range(200):
        flight.step(STEP_S)
    turned_dps = ((flight.heading_deg - before.heading_deg) % 360.0) / 10.0
    speed_kt = 0.5 * (before.true_airspeed_kt + flight.sample().true_airspeed_kt)
    assert turned_dps * speed_kt / true_kt == pytest.approx(3.0, abs=0.01)
    assert kt_to_mps(true_kt) / math.radians(3.0) / 0.3048 == pytest.approx(radius_ft, rel=0.005)
    assert 0.15 * true_kt == pytest.approx(bank_deg, abs=1.0)


@pytest.mark.parametrize(
    ("bank_deg", "load_g", "stall_ratio"),
    [
        (15.0, 1.035, 1.018),
        (20.0, 1.064, 1.032),
        (30.0, 1.155, 1.075),
        (45.0, 1.414, 1.189),
        (60.0, 2.000, 1.414),
    ],
)
def test_load_factor(bank_deg: float, load_g: float, stall_ratio: float) -> None:
    """[PRF-03] to [PRF-05], flown level; the printed figures within their rounding."""
    flight = steady_turn(bank_deg, 140.0)
    assert flight.bank_deg == pytest.approx(bank_deg, abs=0.05)
    assert flight.load_factor_g == pytest.approx(load_g, rel=2e-3)
    assert math.sqrt(flight.load_factor_g) == pytest.approx(stall_ratio, rel=2e-3)
