"""What synchronising writes, and the readings the mode logic uses."""

from __future__ import annotations

import pytest

from trainer.errors import TrainerError
from trainer.flight import Environment


@pytest.mark.parametrize(("rate_fpm", "reference"), [(444.0, 400.0), (-460.0, -500.0), (20.0, 0.0)])
def test_vertical_speed_to_the_nearest_hundred(make_flight, rate_fpm, reference):
    flight = make_flight(vertical_speed_fpm=rate_fpm, airspeed_kt=90.0)
    flight.sync("vertical_speed")
    assert flight.references.vertical_speed_fpm == reference


def test_airspeed_and_pitch(make_flight):
    flight = make_flight(airspeed_kt=97.6, vertical_speed_fpm=300.0)
    flight.sync("airspeed")
    flight.sync("pitch")
    assert flight.references.airspeed_kt == 98.0
    assert flight.references.pitch_deg * 2.0 == round(flight.references.pitch_deg * 2.0)
    assert flight.references.pitch_deg == pytest.approx(flight.pitch_deg, abs=0.25)


@pytest.mark.parametrize(("pitch_deg", "reference"), [(25.0, 15.0), (-25.0, -10.0)])
def test_pitch_is_kept_inside_its_limits(make_flight, pitch_deg, reference):
    flight = make_flight(pitch_deg=pitch_deg)
    flight.sync("pitch")
    assert flight.references.pitch_deg == reference


@pytest.mark.parametrize(("bank_deg", "reference"), [(5.9, 0.0), (-6.1, -6.1), (40.0, 22.0)])
def test_bank(make_flight, bank_deg, reference):
    flight = make_flight(bank_deg=bank_deg)
    flight.sync("bank")
    assert flight.references.bank_deg == pytest.approx(reference, abs=1e-9)


def test_altitudes_and_heading(make_flight):
    flight = make_flight(altitude_ft=3210.0, heading_deg=77.0)
    references = flight.references
    references.selected_altitude_ft = 4500.0
    flight.sync("captured_altitude")
    assert references.captured_altitude_ft == 4500.0
    assert flight.target_altitude_error_ft == pytest.approx(1290.0)
    assert flight.altitude_error_ft == pytest.approx(1290.0)
    flight.sync("held_altitude")
    assert references.held_altitude_ft == pytest.approx(3210.0)
    flight.sync("held_altitude_from_captured")
    assert references.held_altitude_ft == 4500.0
    flight.sync("go_around_heading")
    assert references.go_around_heading_deg == pytest.approx(77.0)
    references.bank_deg = references.pitch_deg = 9.0
    flight.sync("level")
    assert (references.bank_deg, references.pitch_deg) == (0.0, 0.0)


def test_unknown_reference_is_refused(make_flight):
    with pytest.raises(TrainerError, match=r"'speed'; accepted: vertical_speed"):
        make_flight().sync("speed")


@pytest.mark.parametrize("rate_fpm", [0.0, 150.0, -150.0])
def test_capture_margin_has_a_least_lead(make_flight, rate_fpm):
    flight = make_flight(vertical_speed_fpm=rate_fpm)
    flight.references.selected_altitude_ft = 3100.0
    assert flight.altitude_capture_margin_ft == pytest.approx(80.0, abs=0.1)


def test_source_in_use(make_flight):
    flight = make_flight(source="", altitude_ft=2000.0, north_nm=6.0)
    assert flight.source_kind == "none"
    assert not flight.source_has_glidepath
    assert not flight.course_valid
    flight.references.source_id = "approach"
    assert flight.source_kind == "approach"
    assert flight.source_has_glidepath
    assert flight.course_valid
    flight.references.source_id = "beacon"
    assert flight.source_kind == "beacon"
    assert not flight.source_has_glidepath
    assert flight.distance_nm == pytest.approx(19.0)


def test_selected_course_turns_a_beacon_not_an_approach(make_flight):
    beacon = make_flight(source="beacon", north_nm=25.0, east_nm=10.0)
    beacon.references.selected_course_deg = 90.0
    assert beacon.course_deviation == pytest.approx(0.0, abs=1e-6)
    approach = make_flight(source="approach", north_nm=6.0, east_nm=0.1)
    deviation = approach.course_deviation
    approach.references.selected_course_deg = 90.0
    assert approach.course_deviation == deviation


def test_trim_flies_what_was_asked(make_flight, fly):
    """Nothing moves in a trimmed flight, in any of these."""
    for initial in (
        {},
        {"vertical_speed_fpm": -500.0},
        {"airspeed_kt": 85.0, "altitude_ft": 7000.0},
        {"name": "touring_single", "airspeed_kt": 140.0},
    ):
        flight = make_flight(servos=False, environment=Environment(isa_deviation_k=10.0), **initial)
        start = flight.sample()
        fly(flight, 10.0)
        end = flight.sample()
        assert end.airspeed_kt == pytest.approx(start.airspeed_kt, abs=0.5)
        assert end.vertical_speed_fpm == pytest.approx(start.vertical_speed_fpm, abs=10.0)
