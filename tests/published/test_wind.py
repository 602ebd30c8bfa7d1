"""Wind triangle: the heading and ground speed that the course guidance settles on."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from trainer.flight import (
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    NavigationSource,
    Wind,
    load_aircraft,
)
from trainer.units import wrap_180_deg

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft" / "touring_single.yaml"

# course, wind from, wind kt, TAS kt, correction deg, ground speed kt
TRIANGLES = [
    pytest.param(90.0, 45.0, 40.0, 120.0, -13.63, 88.33, id="NAV-23"),
    pytest.param(90.0, 315.0, 40.0, 120.0, -13.63, 144.90, id="NAV-24"),
    pytest.param(0.0, 270.0, 10.0, 90.0, -6.38, 89.44, id="NAV-25"),
    pytest.param(360.0, 90.0, 20.0, 100.0, 11.54, 97.98, id="NAV-26"),
]


def tracking(course_deg: float, wind: Wind, true_kt: float) -> FlightModel:
    """Return a flight settled on a satellite course in a steady wind."""
    source = NavigationSource("s", "satellite_course", "S", course_deg, range_nm=200.0)
    flight = FlightModel(
        load_aircraft(AIRCRAFT),
        InitialCondition(altitude_ft=0.0, heading_deg=course_deg, airspeed_kt=true_kt),
        Environment(wind=wind, ground_elevation_ft=-1000.0),
        (source,),
        GuidanceLimits(),
    )
    flight.references.source_id = "s"
    flight.modes.servos = True
    flight.modes.lateral, flight.modes.vertical = "course_track", "altitude_hold"
    for _ in range(4800):
        flight.step(0.05)
    return flight


@pytest.mark.parametrize(
    ("course", "wind_from", "wind_kt", "true_kt", "correction", "ground"), TRIANGLES
)
def test_triangle(
    *,
    course: float,
    wind_from: float,
    wind_kt: float,
    true_kt: float,
    correction: float,
    ground: float,
) -> None:
    """[NAV-23] is from memory in the handbook, exact here; [NAV-24], [NAV-26] exact; [NAV-25]."""
    flight = tracking(course, Wind(wind_from, wind_kt), true_kt)
    sample = flight.sample()
    assert sample.true_airspeed_kt == pytest.approx(true_kt, abs=0.1)
    assert abs(sample.course_deviation) < 0.005
    assert wrap_180_deg(sample.track_deg - course) == pytest.approx(0.0, abs=0.05)
    assert wrap_180_deg(sample.heading_deg - course) == pytest.approx(correction, abs=0.1)
    assert sample.ground_speed_kt == pytest.approx(ground, abs=0.2)


def test_heading_is_into_the_wind() -> None:
    """[NAV-22] an easterly course and a wind from the north-east: north of east."""
    sample = tracking(90.0, Wind(45.0, 25.0), 110.0).sample()
    assert 60.0 < sample.heading_deg < 90.0


def test_exact_triangle_formula() -> None:
    """The figures above are those of the exact law of sines."""
    for parameters in TRIANGLES:
        course, wind_from, wind_kt, true_kt, correction, ground = parameters.values
        angle = math.radians(wind_from - course)
        found = math.asin(wind_kt * math.sin(angle) / true_kt)
        assert math.degrees(found) == pytest.approx(correction, abs=0.01)
        speed = true_kt * math.cos(found) - wind_kt * math.cos(angle)
        assert speed == pytest.approx(ground, abs=0.01)
