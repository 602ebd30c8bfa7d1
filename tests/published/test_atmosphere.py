"""The standard atmosphere against printed tables and two registry libraries."""

from __future__ import annotations

import math

import pytest
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976

from trainer.flight import atmosphere as std
from trainer.units import PA_PER_INHG, ft_to_m, m_to_ft, mps_to_kt

PSI_PA = 6894.757  # [SI-BROCHURE] pound-force per square inch, from memory

# [ATM-02] to [ATM-06]: ft, K, Pa, inHg, kg/m3, m/s, kt. Computed from the standard's formulas.
COMPUTED_ROWS = [
    (0, 288.150, 101325.0, 29.921, 1.22500, 340.29, 661.48),
    (5000, 278.244, 84307.3, 24.896, 1.05555, 334.39, 650.01),
    (10000, 268.338, 69681.6, 20.577, 0.90464, 328.39, 638.33),
    (15000, 258.432, 57181.9, 16.886, 0.77082, 322.27, 626.44),
    (20000, 248.526, 46563.2, 13.750, 0.65269, 316.03, 614.32),
]


def air_at(altitude_ft: float) -> tuple[float, float, float]:
    altitude_m = ft_to_m(altitude_ft)
    temperature_k = std.standard_temperature_k(altitude_m)
    pressure_pa = std.pressure_pa(altitude_m)
    return temperature_k, pressure_pa, std.density_kgpm3(pressure_pa, temperature_k)


def test_sea_level_constants_are_the_standards() -> None:
    """[ATM-00] restates the standard."""
    assert std.SEA_LEVEL_TEMPERATURE_K == 288.15
    assert std.SEA_LEVEL_PRESSURE_PA == 101325.0
    assert pytest.approx(29.92126, abs=2e-5) == 101325.0 / PA_PER_INHG
    assert pytest.approx(1.225, abs=2e-6) == std.SEA_LEVEL_DENSITY_KGPM3
    assert std.LAPSE_K_PER_M * ft_to_m(1.0) == pytest.approx(0.0019812, abs=1e-7)


def test_tropopause() -> None:
    """[ATM-01] the end-to-end check of the integration, within 0.01 %."""
    temperature_k, pressure_pa, density = air_at(m_to_ft(11000.0))
    assert temperature_k == pytest.approx(216.65, rel=1e-4)
    assert pressure_pa == pytest.approx(22632.1, rel=1e-4)
    assert density == pytest.approx(0.363918, rel=1e-4)
    assert m_to_ft(std.TROPOPAUSE_M) == pytest.approx(36089.0, abs=0.5)


@pytest.mark.parametrize(("ft", "k", "pa", "inhg", "rho", "sound", "sound_kt"), COMPUTED_ROWS)
def test_levels(
    *, ft: float, k: float, pa: float, inhg: float, rho: float, sound: float, sound_kt: float
) -> None:
    """[ATM-02] to [ATM-06], within 0.05 %."""
    temperature_k, pressure_pa, density = air_at(ft)
    sound_mps = std.speed_of_sound_mps(temperature_k)
    assert temperature_k == pytest.approx(k, rel=5e-4)
    assert pressure_pa == pytest.approx(pa, rel=5e-4)
    assert pressure_pa / PA_PER_INHG == pytest.approx(inhg, rel=5e-4)
    assert density == pytest.approx(rho, rel=5e-4)
    assert sound_mps == pytest.approx(sound, rel=5e-4)
    assert mps_to_kt(sound_mps) == pytest.approx(sound_kt, rel=5e-4)


@pytest.mark.parametrize(
    ("geometric_ft", "fahrenheit", "psia"),
    [(5000, 41.2, 12.230), (10000, 23.4, 10.108), (15000, 5.5, 8.296), (20000, -12.3, 6.758)],
)
def test_printed_table(geometric_ft: float, fahrenheit: float, psia: float) -> None:
    """[ATM-07] a printed table in geometric feet: turned to geopotential first."""
    earth_radius_ft = 20855532.0  # the standard's 6 356 766 m
    geopotential_ft = earth_radius_ft * geometric_ft / (earth_radius_ft + geometric_ft)
    temperature_k, pressure_pa, _ = air_at(geopotential_ft)
    assert (temperature_k - 273.15) * 1.8 + 32.0 == pytest.approx(fahrenheit, abs=0.1)
    assert pressure_pa / PSI_PA == pytest.approx(psia, rel=1e-3)


def test_rules_of_thumb_hold_roughly() -> None:
    """[ATM-08] two degrees and one inch for each thousand feet; [ATM-09] its worked example."""
    low_k, low_pa, _ = air_at(0)
    high_k, high_pa, _ = air_at(3000)
    assert (low_k - high_k) / 3.0 == pytest.approx(2.0, abs=0.1)
    assert (low_pa - high_pa) / PA_PER_INHG / 3.0 == pytest.approx(1.0, abs=0.1)
    assert high_pa / PA_PER_INHG == pytest.approx(26.92, abs=0.12)
    assert high_k - 273.15 == pytest.approx(9.0, abs=0.2)


@pytest.mark.parametrize("altitude_ft", range(0, 25001, 2500))
def test_agrees_with_ambiance(altitude_ft: int) -> None:
    """[LIB-AMBIANCE] takes geometric metres."""
    geopotential_m = ft_to_m(float(altitude_ft))
    geometric_m = 6356766.0 * geopotential_m / (6356766.0 - geopotential_m)
    other = Atmosphere(geometric_m)
    temperature_k, pressure_pa, density = air_at(altitude_ft)
    assert temperature_k == pytest.approx(float(other.temperature[0]), rel=1e-6)
    assert pressure_pa == pytest.approx(float(other.pressure[0]), rel=1e-5)
    assert density == pytest.approx(float(other.density[0]), rel=1e-5)
    sound_mps = std.speed_of_sound_mps(temperature_k)
    assert sound_mps == pytest.approx(float(other.speed_of_sound[0]), rel=1e-5)


@pytest.mark.parametrize("altitude_ft", range(0, 25001, 5000))
def test_agrees_with_fluids(altitude_ft: int) -> None:
    """[LIB-FLUIDS] also takes geometric metres; its molar mass differs in the sixth figure."""
    geopotential_m = ft_to_m(float(altitude_ft))
    other = ATMOSPHERE_1976(6356766.0 * geopotential_m / (6356766.0 - geopotential_m))
    temperature_k, pressure_pa, density = air_at(altitude_ft)
    assert temperature_k == pytest.approx(other.T, rel=1e-6)
    assert pressure_pa == pytest.approx(other.P, rel=1e-5)
    assert density == pytest.approx(other.rho, rel=5e-5)


def test_pressure_altitude_is_the_inverse() -> None:
    for altitude_m in (-300.0, 0.0, 1234.5, 9000.0):
        back_m = std.pressure_altitude_m(std.pressure_pa(altitude_m))
        assert math.isclose(back_m, altitude_m, abs_tol=1e-6)
