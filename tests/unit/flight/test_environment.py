"""Air, wind with altitude, turbulence, ground, and what the sample says about them."""

from __future__ import annotations

import itertools
import math
import statistics

import pytest

from trainer.flight import Environment, FlightModel, Hill, Wind, WindLayer
from trainer.flight.turbulence import noise
from trainer.units import wrap_180_deg

LAYERS = (WindLayer(2000.0, Wind(270.0, 10.0)), WindLayer(6000.0, Wind(270.0, 30.0)))


@pytest.mark.parametrize(
    ("altitude_ft", "wind_kt"),
    [(500.0, 10.0), (2000.0, 10.0), (4000.0, 20.0), (5000.0, 25.0), (9000.0, 30.0)],
)
def test_wind_between_layers(make_flight, altitude_ft, wind_kt):
    flight = make_flight(environment=Environment(wind_layers=LAYERS), altitude_ft=altitude_ft)
    sample = flight.sample()
    assert sample.wind_speed_kt == pytest.approx(wind_kt, abs=1e-6)
    assert sample.wind_from_deg == pytest.approx(270.0, abs=1e-6)


def test_drift_shows_as_heading_against_track(make_flight, fly):
    flight = make_flight(
        "heading_select", "altitude_hold", environment=Environment(wind=Wind(270.0, 20.0))
    )
    fly(flight, 5.0)
    sample = flight.sample()
    expected = math.degrees(math.atan2(20.0, sample.true_airspeed_kt))
    assert wrap_180_deg(sample.track_deg - sample.heading_deg) == pytest.approx(expected, abs=0.05)


def test_noise_is_white_and_of_unit_variance():
    values = [noise(7, count) for count in range(20000)]
    for axis in range(3):
        row = [value[axis] for value in values]
        assert statistics.fmean(row) == pytest.approx(0.0, abs=0.03)
        assert statistics.pvariance(row) == pytest.approx(1.0, abs=0.03)
        lagged = statistics.fmean(a * b for a, b in itertools.pairwise(row))
        assert lagged == pytest.approx(0.0, abs=0.03)
    first, second = ([value[axis] for value in values] for axis in (0, 1))
    crossed = statistics.fmean(a * b for a, b in zip(first, second, strict=True))
    assert crossed == pytest.approx(0.0, abs=0.03)


def test_turbulence_has_the_strength_asked_for(make_flight, fly):
    flight = make_flight(
        "heading_select",
        "altitude_hold",
        environment=Environment(turbulence=3.0, turbulence_seed=4),
    )
    seen = fly(flight, 900.0, kt=lambda f: f.airspeed_kt)
    slow = statistics.fmean(seen["kt"])
    assert 1.5 < statistics.pstdev(seen["kt"]) < 5.0
    assert abs(slow - 110.0) < 3.0


def test_turbulence_is_repeatable_and_has_a_seed(make_flight, fly):
    ends = []
    for seed in (1, 1, 2):
        flight = make_flight(
            "heading_select",
            "altitude_hold",
            environment=Environment(turbulence=3.0, turbulence_seed=seed),
        )
        fly(flight, 20.0)
        ends.append(flight.sample())
    assert ends[0] == ends[1]
    assert ends[0] != ends[2]


def test_still_air_has_no_gusts_left(make_flight, fly):
    flight = make_flight("heading_select", "altitude_hold", environment=Environment(turbulence=5.0))
    fly(flight, 10.0)
    flight.set_environment(Environment())
    seen = fly(flight, 60.0, ft=lambda f: f.altitude_ft)
    assert seen["ft"][-1] == pytest.approx(3000.0, abs=1.0)


def test_hills_change_the_height_only(make_flight):
    hill = Hill(north_nm=0.0, east_nm=0.0, radius_nm=2.0, height_ft=800.0)
    land = Environment(ground_elevation_ft=400.0, hills=(hill,))
    heights = [make_flight(environment=land, north_nm=north).height_ft for north in (0, 1, 2, 5)]
    assert heights == pytest.approx([1800.0, 2200.0, 2600.0, 2600.0], abs=0.01)


def test_cold_air_lowers_the_height_at_the_same_indication(make_flight):
    standard = make_flight(environment=Environment(ground_elevation_ft=500.0))
    cold = make_flight(environment=Environment(ground_elevation_ft=500.0, isa_deviation_k=-30.0))
    assert cold.altitude_ft == pytest.approx(standard.altitude_ft)
    assert cold.height_ft < standard.height_ft - 200.0


def test_climb_in_cold_air_keeps_the_altimeter_and_the_height_consistent(make_flight, fly):
    """The stepped true altitude agrees with the closed form all the way."""
    flight = make_flight(
        "roll_hold",
        "vertical_speed",
        airspeed_kt=90.0,
        power_percent=90.0,
        environment=Environment(isa_deviation_k=-25.0, altimeter_setting_hpa=990.0),
    )
    flight.references.vertical_speed_fpm = 400.0
    fly(flight, 240.0)
    sample = flight.sample()
    closed_m = flight._air.true_from_pressure_m(sample.pressure_altitude_ft * 0.3048)
    assert sample.true_altitude_ft * 0.3048 == pytest.approx(closed_m, abs=0.05)
    assert sample.vertical_speed_fpm == pytest.approx(400.0, abs=20.0)


def test_turning_the_altimeter_moves_the_indication_not_the_flight(make_flight):
    flight = make_flight()
    before = flight.sample()
    flight.set_environment(Environment(altimeter_setting_hpa=1023.25))
    after = flight.sample()
    assert after.altitude_ft - before.altitude_ft == pytest.approx(273.0, abs=3.0)
    assert after.true_altitude_ft == before.true_altitude_ft


def test_parked_then_off_then_climbing(make_flight, fly):
    field = Environment(ground_elevation_ft=500.0)
    flight = make_flight(servos=False, environment=field, on_ground=True, altitude_ft=500.0)
    fly(flight, 5.0)
    assert flight.on_ground
    assert flight.airspeed_kt == 0.0
    assert flight.altitude_ft == pytest.approx(500.0, abs=0.01)
    assert flight.load_factor_g == 1.0
    flight.controls.power_percent = 100.0
    while flight.on_ground:
        flight.step(0.05)
        assert flight.t_s < 60.0
    assert 55.0 < flight.airspeed_kt < 75.0
    fly(flight, 20.0)
    assert flight.vertical_speed_fpm > 500.0
    assert flight.height_ft > 100.0


def test_flying_into_the_ground_ends_on_it(make_flight, fly):
    flight = make_flight("roll_hold", "vertical_speed", altitude_ft=300.0, power_percent=20.0)
    flight.references.vertical_speed_fpm = -800.0
    fly(flight, 60.0)
    assert flight.on_ground
    assert flight.height_ft == pytest.approx(0.0, abs=0.01)
    fly(flight, 60.0)
    assert flight.airspeed_kt == pytest.approx(0.0, abs=0.1)


def test_flaps_and_gear_add_drag(make_flight, fly):
    speeds = {}
    for flaps, gear in ((0.0, False), (1.0, False), (0.0, True)):
        flight: FlightModel = make_flight("roll_hold", "altitude_hold", name="touring_single")
        flight.controls.flaps, flight.controls.gear_down = flaps, gear
        fly(flight, 60.0)
        speeds[flaps, gear] = flight.airspeed_kt
    assert speeds[1.0, False] < speeds[0.0, False] - 5.0
    assert speeds[0.0, True] < speeds[0.0, False] - 5.0
