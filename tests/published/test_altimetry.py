"""Altimeter setting and magnetic variation against published values."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.flight import (
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    load_aircraft,
)
from trainer.flight.atmosphere import altimeter_offset_m, true_altitude_m
from trainer.flight.magnetic import MagneticModelError, magnetic_from_true_deg, variation_deg
from trainer.units import PA_PER_HPA, PA_PER_INHG, ft_to_m, m_to_ft

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft" / "light_single.yaml"


def pressure_altitude_ft(indicated_ft: float, setting_inhg: float) -> float:
    return indicated_ft + m_to_ft(altimeter_offset_m(setting_inhg * PA_PER_INHG))


@pytest.mark.parametrize(
    ("setting_inhg", "correction_ft"),
    [(28.92, 938.8), (29.42, 466.8), (29.92, 1.2), (30.42, -458.2), (30.92, -911.4)],
)
def test_exact_correction(setting_inhg: float, correction_ft: float) -> None:
    """[ALT-04]."""
    assert pressure_altitude_ft(0.0, setting_inhg) == pytest.approx(correction_ft, abs=0.5)


def test_rule_and_its_worked_example() -> None:
    """[ALT-01] 1 000 ft an inch within 10 % of the correction; [ALT-02] its example in 120 ft."""
    assert pressure_altitude_ft(10000.0, 31.12) == pytest.approx(8800.0, abs=120.0)
    for setting_inhg in (28.92, 29.42, 30.42, 30.92):
        rule_ft = (29.92 - setting_inhg) * 1000.0
        assert pressure_altitude_ft(0.0, setting_inhg) == pytest.approx(rule_ft, rel=0.1)


def test_slope_at_sea_level() -> None:
    """[ALT-03] 925 ft an inch, 27.3 ft a hectopascal."""
    per_inch = pressure_altitude_ft(0.0, 29.42) - pressure_altitude_ft(0.0, 30.42)
    assert per_inch == pytest.approx(925.0, abs=1.0)
    per_hpa = m_to_ft(altimeter_offset_m(1012.75 * PA_PER_HPA)) - m_to_ft(
        altimeter_offset_m(1013.75 * PA_PER_HPA)
    )
    assert per_hpa == pytest.approx(27.3, abs=0.1)


@pytest.mark.parametrize("setting_hpa", [985.0, 1013.25, 1040.0])
def test_model_shows_indicated_and_pressure_altitude(setting_hpa: float) -> None:
    flight = FlightModel(
        load_aircraft(AIRCRAFT),
        InitialCondition(altitude_ft=4000.0),
        Environment(altimeter_setting_hpa=setting_hpa),
        (),
        GuidanceLimits(),
    )
    sample = flight.sample()
    offset_ft = m_to_ft(altimeter_offset_m(setting_hpa * PA_PER_HPA))
    assert sample.altitude_ft == pytest.approx(4000.0, abs=1e-6)
    assert sample.pressure_altitude_ft == pytest.approx(4000.0 + offset_ft, abs=1e-6)


@pytest.mark.parametrize("deviation_k", [-25.0, -10.0, 15.0])
def test_cold_air_is_lower_than_indicated(deviation_k: float) -> None:
    """About 4 % of height for each 10 degrees (common practice), nothing at the field."""
    field_m = ft_to_m(500.0)
    assert true_altitude_m(field_m, 101325.0, deviation_k, field_m) == pytest.approx(field_m)
    true_m = true_altitude_m(field_m + 1000.0, 101325.0, deviation_k, field_m)
    assert (true_m - field_m - 1000.0) / 1000.0 == pytest.approx(
        0.04 * deviation_k / 10.0, abs=0.006 * abs(deviation_k) / 10.0
    )


# latitude, longitude, year, km, variation
MAGNETIC = [
    pytest.param(80.0, 0.0, 2020.0, 0.0, -1.28, id="MAG-01a"),
    pytest.param(0.0, 120.0, 2020.0, 0.0, 0.16, id="MAG-01b"),
    pytest.param(-80.0, 240.0, 2020.0, 0.0, 69.36, id="MAG-01c"),
    pytest.param(14.0, 143.0, 2020.0, 66.0, 0.12, id="MAG-02a"),
    pytest.param(0.0, 21.0, 2020.0, 18.0, 1.05, id="MAG-02b"),
    pytest.param(-36.0, -137.0, 2020.5, 6.0, 20.16, id="MAG-02c"),
    pytest.param(26.0, 81.0, 2020.5, 63.0, 0.43, id="MAG-02d"),
    pytest.param(80.0, 0.0, 2022.5, 0.0, 0.01, id="MAG-03a"),
    pytest.param(0.0, 120.0, 2022.5, 0.0, -0.06, id="MAG-03b"),
    pytest.param(-80.0, 240.0, 2022.5, 0.0, 69.13, id="MAG-03c"),
    pytest.param(80.0, 0.0, 2025.0, 0.0, 1.28, id="MAG-04a"),
    pytest.param(0.0, 120.0, 2025.0, 0.0, -0.16, id="MAG-04b"),
    pytest.param(-80.0, 240.0, 2025.0, 0.0, 68.78, id="MAG-04c"),
    pytest.param(80.0, 0.0, 2027.5, 0.0, 2.59, id="MAG-05a"),
    pytest.param(0.0, 120.0, 2027.5, 0.0, -0.24, id="MAG-05b"),
]


@pytest.mark.parametrize(("latitude", "longitude", "year", "km", "variation"), MAGNETIC)
def test_variation(
    latitude: float, longitude: float, year: float, km: float, variation: float
) -> None:
    """[MAG-01] to [MAG-05]; within their rounding."""
    altitude_ft = m_to_ft(km * 1000.0)
    found = variation_deg(latitude, longitude, year, altitude_ft)
    assert found == pytest.approx(variation, abs=0.0101)


def test_east_is_least() -> None:
    """[MAG-06] magnetic is true less east variation."""
    assert magnetic_from_true_deg(90.0, 5.0) == 85.0
    assert magnetic_from_true_deg(2.0, 5.0) == 357.0


@pytest.mark.parametrize(("latitude", "year"), [(95.0, 2025.0), (50.0, 2031.0), (50.0, 2009.0)])
def test_outside_the_models(latitude: float, year: float) -> None:
    with pytest.raises(MagneticModelError, match="accepted"):
        variation_deg(latitude, 8.0, year)
