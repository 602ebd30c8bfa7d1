"""Any start, any order of modes and references: finite numbers inside the stops, or a refusal."""

from __future__ import annotations

import math
from dataclasses import fields

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.flight import Environment, FlightSample, Wind
from trainer.flight.guidance_lateral import LATERAL_LAWS
from trainer.flight.guidance_vertical import VERTICAL_LAWS
from trainer.flight.pilot import RUNAWAY_RATES
from trainer.flight.trim import InitialConditionError

STARTS = st.fixed_dictionaries(
    {
        "altitude_ft": st.floats(600.0, 15000.0),
        "airspeed_kt": st.floats(35.0, 160.0),
        "vertical_speed_fpm": st.floats(-1500.0, 1500.0),
        "bank_deg": st.floats(-70.0, 70.0),
        "pitch_deg": st.one_of(st.none(), st.floats(-30.0, 30.0)),
        "heading_deg": st.floats(0.0, 360.0),
        "north_nm": st.floats(-30.0, 40.0),
        "east_nm": st.floats(-10.0, 10.0),
        "power_percent": st.one_of(st.none(), st.floats(0.0, 100.0)),
    }
)
AIRS = st.builds(
    Environment,
    wind=st.builds(Wind, st.floats(0.0, 360.0), st.floats(0.0, 50.0)),
    altimeter_setting_hpa=st.floats(950.0, 1050.0),
    isa_deviation_k=st.floats(-30.0, 30.0),
    turbulence=st.sampled_from([0.0, 3.0, 8.0]),
    ground_elevation_ft=st.floats(0.0, 500.0),
)
ACTS = st.lists(
    st.fixed_dictionaries(
        {
            "lateral": st.sampled_from(["none", *LATERAL_LAWS]),
            "vertical": st.sampled_from(["none", *VERTICAL_LAWS]),
            "servos": st.booleans(),
            "protection": st.sampled_from(["none", "underspeed", "overspeed"]),
            "runaway": st.sampled_from(["none", *RUNAWAY_RATES]),
            "source": st.sampled_from(["", "beacon", "satellite", "approach"]),
            "stick": st.floats(-1.0, 1.0),
        }
    ),
    min_size=1,
    max_size=6,
)


def apply(flight, act):
    """Put one act's modes, faults, source and stick into force."""
    flight.modes.lateral, flight.modes.vertical = act["lateral"], act["vertical"]
    flight.modes.servos, flight.modes.protection = act["servos"], act["protection"]
    flight.faults.servo_runaway = act["runaway"]
    flight.references.source_id = act["source"]
    stick = act["stick"]
    flight.controls.pilot = "hands" if stick > 0.5 else "attentive"
    flight.controls.stick_bank = flight.controls.stick_pitch = stick
    flight.references.selected_altitude_ft += 900.0 * stick
    flight.references.vertical_speed_fpm = 2000.0 * stick
    flight.sync("captured_altitude")


def check(sample: FlightSample) -> None:
    for entry in fields(sample):
        value = getattr(sample, entry.name)
        if isinstance(value, float):
            assert math.isfinite(value), (entry.name, value)
    assert abs(sample.bank_deg) <= 80.001
    assert abs(sample.pitch_deg) <= 45.001
    assert 0.0 <= sample.heading_deg < 360.0
    assert 0.0 <= sample.track_deg < 360.0
    assert sample.height_ft > -1.0
    assert abs(sample.load_factor_g) < 12.0


@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(start=STARTS, air=AIRS, acts=ACTS)
def test_always_finite(make_flight, start, air, acts):
    flight = make_flight(environment=air, **start)
    for act in acts:
        apply(flight, act)
        for _ in range(100):
            flight.step(0.05)
            assert math.isfinite(flight.course_intercept_margin + flight.airspeed_kt)
        check(flight.sample())


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("altitude_ft", 60000.0),
        ("airspeed_kt", 0.0),
        ("bank_deg", 120.0),
        ("pitch_deg", -80.0),
        ("power_percent", 130.0),
        ("vertical_speed_fpm", float("nan")),
    ],
)
def test_a_start_that_cannot_be_flown_is_refused(make_flight, name, value):
    with pytest.raises(InitialConditionError, match=f"{name} .*accepted: "):
        make_flight(**{name: value})


def test_exceeded_limits_are_named(make_flight):
    flight = make_flight(airspeed_kt=170.0, altitude_ft=8000.0)
    assert flight.exceeded == ("never_exceed",)
    flight.controls.flaps = 1.0
    assert flight.sample().exceeded == ("never_exceed", "flap_limit")
    assert make_flight().exceeded == ()
