"""Performance of the invented aircraft against plausibility bands and closed forms."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from trainer.flight import (
    AircraftSpec,
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    load_aircraft,
)
from trainer.flight.aircraft import AircraftConstants
from trainer.flight.engine import power_factor, propeller_efficiency, thrust_n
from trainer.units import kt_to_mps, mps_to_kt

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft"
G = 9.80665


@pytest.fixture(scope="module")
def light() -> AircraftSpec:
    return load_aircraft(AIRCRAFT / "light_single.yaml")


def sigma(altitude_ft: float) -> float:
    return float((1.0 - 0.0065 * altitude_ft * 0.3048 / 288.15) ** 4.25588)


def excess_climb_mps(spec: AircraftSpec, true_mps: float, altitude_ft: float) -> float:
    """[PRF-01] excess power over weight, written out from the file's numbers."""
    density = 1.225 * sigma(altitude_ft)
    weight = spec.mass_kg * G
    dynamic = 0.5 * density * true_mps**2 * spec.wing_area_m2
    induced = 1.0 / (math.pi * spec.aspect_ratio * spec.oswald_efficiency)
    drag = dynamic * (spec.zero_lift_drag_coefficient + induced * (weight / dynamic) ** 2)
    thrust = thrust_n(AircraftConstants(spec), 1.0, sigma(altitude_ft), true_mps)
    return (thrust - drag) * true_mps / weight


def best_climb(spec: AircraftSpec, altitude_ft: float) -> tuple[float, float]:
    """Return best rate of climb [ft/min] and its equivalent airspeed [kt]."""
    rate, speed = max(
        (excess_climb_mps(spec, v / 5.0, altitude_ft), v / 5.0) for v in range(135, 450)
    )
    return rate / 0.00508, mps_to_kt(speed) * math.sqrt(sigma(altitude_ft))


def test_climb_bands(light: AircraftSpec) -> None:
    """[PRF-06] at sea level, suggested 600 to 1 100; [PRF-07] at 5 000 ft."""
    assert 600.0 <= best_climb(light, 0.0)[0] <= 1100.0
    assert 393.0 <= best_climb(light, 5000.0)[0] <= 1007.0


def test_ceilings(light: AircraftSpec) -> None:
    """[PRF-08] service ceiling 11 000 to 18 000 ft; [PRF-02] 100 ft/min there, 0 higher up."""
    heights = range(5000, 30000, 100)
    service = max(h for h in heights if best_climb(light, h)[0] >= 100.0)
    absolute = max(h for h in heights if best_climb(light, h)[0] >= 0.0)
    assert 11000 <= service <= 18000
    assert service < absolute


def test_level_speed_band(light: AircraftSpec) -> None:
    """[PRF-09] 111 to 136 kt."""
    fastest = max(v for v in range(80, 160) if excess_climb_mps(light, kt_to_mps(v), 0.0) > 0.0)
    assert 111 <= fastest <= 136


def test_best_glide_band(light: AircraftSpec) -> None:
    """[PRF-10] 9.6 to 13.0."""
    induced = 1.0 / (math.pi * light.aspect_ratio * light.oswald_efficiency)
    ratio = 1.0 / (2.0 * math.sqrt(light.zero_lift_drag_coefficient * induced))
    assert 9.6 <= ratio <= 13.0


def test_stall_band(light: AircraftSpec) -> None:
    """[PRF-11] 51 to 57 kt clean at a lift coefficient of 1.5."""
    stall = math.sqrt(
        2.0 * light.mass_kg * G / (1.225 * light.wing_area_m2 * light.maximum_lift_coefficient)
    )
    assert 51.0 <= mps_to_kt(stall) <= 57.0


def test_best_climb_speed_is_well_above_the_stall(light: AircraftSpec) -> None:
    """[PRF-12] constant efficiency gives 52 to 68 kt; 70 to 80 kt is usual (from memory)."""
    assert 70.0 <= best_climb(light, 0.0)[1] <= 80.0
    k = AircraftConstants(light)
    speeds = [kt_to_mps(v) for v in (50, 70, 90, 110, 125)]
    efficiencies = [propeller_efficiency(k, v) for v in speeds]
    assert efficiencies == sorted(efficiencies)
    assert efficiencies[-1] == pytest.approx(light.propeller_peak_efficiency, rel=1e-9)


@pytest.mark.parametrize(("altitude_ft", "factor"), [(0.0, 1.0), (5000.0, 0.843), (10000.0, 0.704)])
def test_power_lapse(light: AircraftSpec, altitude_ft: float, factor: float) -> None:
    """[PRF-13] textbook formula, from memory; within 1 %."""
    found = power_factor(AircraftConstants(light), sigma(altitude_ft))
    assert found == pytest.approx(factor, rel=0.01)


@pytest.mark.parametrize("name", ["light_single", "touring_single"])
def test_flown_climb_is_excess_power_over_weight(name: str) -> None:
    """[PRF-01] a held climb; the model's own climb against the closed form, corrected for the
    energy that a climb at constant calibrated airspeed puts into speed."""
    spec = load_aircraft(AIRCRAFT / f"{name}.yaml")
    speed_kt = 80.0 if name == "light_single" else 105.0
    flight = FlightModel(
        spec,
        InitialCondition(altitude_ft=1000.0, airspeed_kt=speed_kt, power_percent=100.0),
        Environment(),
        (),
        GuidanceLimits(),
    )
    flight.modes.servos = True
    flight.modes.lateral, flight.modes.vertical = "roll_hold", "airspeed_hold"
    flight.references.airspeed_kt = speed_kt
    for _ in range(1600):
        flight.step(0.05)
    before = flight.sample()
    for _ in range(200):
        flight.step(0.05)
    after = flight.sample()
    middle_ft = 0.5 * (before.true_altitude_ft + after.true_altitude_ft)
    true_mps = kt_to_mps(0.5 * (before.true_airspeed_kt + after.true_airspeed_kt))
    speeding = kt_to_mps(after.true_airspeed_kt - before.true_airspeed_kt) / 10.0
    expected = excess_climb_mps(spec, true_mps, middle_ft) - true_mps * speeding / G
    climbed = (after.true_altitude_ft - before.true_altitude_ft) * 0.3048 / 10.0
    assert climbed == pytest.approx(expected, rel=0.005)


def test_the_touring_single_is_heavier_and_faster(light: AircraftSpec) -> None:
    touring = load_aircraft(AIRCRAFT / "touring_single.yaml")
    assert touring.mass_kg > light.mass_kg
    speeds = [
        max(v for v in range(80, 220) if excess_climb_mps(spec, kt_to_mps(v), 0.0) > 0.0)
        for spec in (light, touring)
    ]
    assert speeds[1] > speeds[0] + 30
