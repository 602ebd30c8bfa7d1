"""Lateral laws: accuracy, bounds, and intercepts from any sensible angle."""

from __future__ import annotations

import math
from itertools import product

import pytest

from trainer.flight import Environment, FlightModel, GuidanceLimits, UnknownModeError, Wind
from trainer.units import wrap_180_deg, wrap_360_deg

STEP_S = 0.05
CALM, RIGHT, LEFT = Wind(), Wind(90.0, 25.0), Wind(270.0, 25.0)


@pytest.mark.parametrize("name", ["light_single", "touring_single"])
@pytest.mark.parametrize("turn_deg", [10.0, -30.0, 90.0, -175.0])
def test_heading_select(make_flight, fly, name, turn_deg):
    """Within one degree, hardly past it, inside the bank and roll-rate limits."""
    flight = make_flight("heading_select", "altitude_hold", name=name, heading_deg=200.0)
    flight.references.selected_heading_deg = wrap_360_deg(200.0 + turn_deg)
    sign = math.copysign(1.0, turn_deg)

    def to_go(f: FlightModel) -> float:
        return sign * wrap_180_deg(f.references.selected_heading_deg - f.heading_deg)

    seen = fly(flight, 120.0, to_go=to_go, bank=lambda f: f.bank_deg)
    assert min(seen["to_go"]) > -0.5
    assert all(abs(error) < 1.0 for error in seen["to_go"][int(90 / STEP_S) :])
    assert max(abs(bank) for bank in seen["bank"]) <= 22.3
    rates = [abs(b - a) / STEP_S for a, b in zip(seen["bank"], seen["bank"][1:], strict=False)]
    assert max(rates) <= 5.05


def test_heading_turns_the_short_way(make_flight, fly):
    for start, selected, sign in ((350.0, 20.0, 1.0), (10.0, 340.0, -1.0)):
        flight = make_flight("heading_select", "altitude_hold", heading_deg=start)
        flight.references.selected_heading_deg = selected
        fly(flight, 3.0)
        assert math.copysign(1.0, flight.bank_deg) == sign


@pytest.mark.parametrize(("bank_deg", "held_deg"), [(4.0, 0.0), (-15.0, -15.0), (28.0, 22.0)])
def test_roll_hold_keeps_the_bank_or_levels(make_flight, fly, bank_deg, held_deg):
    flight = make_flight("roll_hold", "altitude_hold", bank_deg=bank_deg)
    flight.sync("bank")
    fly(flight, 10.0)
    assert flight.bank_deg == pytest.approx(held_deg, abs=0.2)


def intercept(make_flight, kind, angle_deg, wind, *, side=1.0, kt=100.0, name="light_single"):
    """Fly a track towards a northerly course and let the margin begin the turn.

    Returns:
        Deviation when the turn began, greatest deviation beyond the course, and at the end.
    """
    track = math.radians(-side * angle_deg)
    across_kt = wind.speed_kt * math.sin(math.radians(wind.from_deg) - track)
    heading_deg = -side * angle_deg + math.degrees(math.asin(across_kt / (1.05 * kt)))
    flight = make_flight(
        "heading_select",
        "altitude_hold",
        name=name,
        source=kind,
        environment=Environment(wind=wind),
        altitude_ft=2500.0,
        airspeed_kt=kt,
        heading_deg=wrap_360_deg(heading_deg),
        east_nm=-3.0 * math.sin(track),
        north_nm=-3.0 * math.cos(track),
    )
    began, beyond = None, 0.0
    for _ in range(round(400.0 / STEP_S)):
        flight.step(STEP_S)
        if began is None and flight.course_intercept_margin <= 0.0:
            flight.modes.lateral = "course_track"
            began = flight.course_deviation
        if began is not None:
            beyond = max(beyond, -side * flight.course_deviation)
        if kind != "satellite" and flight.distance_nm < 2.0:
            break
    assert began is not None
    return began, beyond, flight.course_deviation


SHORT = [
    (kind, angle, wind)
    for kind in ("beacon", "satellite", "approach")
    for angle, wind in ((20.0, CALM), (45.0, RIGHT), (90.0, CALM), (60.0, LEFT), (90.0, RIGHT))
]
LONG = list(
    product(
        ("beacon", "satellite", "approach"),
        (20.0, 30.0, 45.0, 60.0, 75.0, 90.0),
        (CALM, RIGHT, Wind(0.0, 30.0), Wind(180.0, 30.0), Wind(225.0, 20.0)),
    )
)


@pytest.mark.parametrize(("kind", "angle_deg", "wind"), SHORT)
def test_intercept(make_flight, kind, angle_deg, wind):
    """No more than a tenth of full scale past the course, then on it."""
    _, beyond, end = intercept(make_flight, kind, angle_deg, wind)
    assert beyond < 0.1
    assert abs(end) < 0.05


@pytest.mark.long
@pytest.mark.parametrize(
    "name_kt", [("light_single", 75.0), ("light_single", 120.0), ("touring_single", 150.0)]
)
@pytest.mark.parametrize("side", [-1.0, 1.0])
@pytest.mark.parametrize(("kind", "angle_deg", "wind"), LONG)
def test_intercept_everywhere(*, make_flight, kind, angle_deg, wind, side, name_kt):
    name, kt = name_kt
    _, beyond, end = intercept(make_flight, kind, angle_deg, wind, side=side, kt=kt, name=name)
    assert beyond < 0.5
    assert abs(end) < 0.05


@pytest.mark.parametrize("wind", [CALM, RIGHT])
def test_course_in_steady_wind_has_no_standing_error(make_flight, fly, wind):
    """Drift shows as heading against track, not as deviation."""
    flight = make_flight(
        "course_track",
        "altitude_hold",
        source="satellite",
        environment=Environment(wind=wind),
        east_nm=0.2,
    )
    fly(flight, 180.0)
    sample = flight.sample()
    assert abs(sample.course_deviation) < 0.005
    assert abs(wrap_180_deg(sample.track_deg)) < 0.1
    drift_deg = wrap_180_deg(sample.heading_deg - sample.track_deg)
    assert drift_deg == pytest.approx(0.0 if wind is CALM else 12.0, abs=1.5)


def test_far_from_the_course_the_intercept_is_bounded(make_flight, fly):
    flight = make_flight("course_track", "altitude_hold", source="satellite", east_nm=3.0)
    seen = fly(flight, 60.0, angle=lambda f: abs(wrap_180_deg(f.sample().track_deg)))
    assert max(seen["angle"]) < 47.0


def test_margin_is_large_when_there_is_nothing_to_capture(make_flight):
    away = make_flight(source="satellite", heading_deg=45.0, east_nm=1.0)
    against = make_flight(source="satellite", heading_deg=181.0, east_nm=0.01)
    nothing = make_flight(source="")
    on_ground = make_flight(source="satellite", on_ground=True, altitude_ft=0.0)
    for flight in (away, against, nothing, on_ground):
        assert flight.course_intercept_margin > 5.0


def test_margin_is_not_positive_on_course(make_flight):
    on = make_flight(source="satellite", heading_deg=0.0, east_nm=0.03)
    assert on.course_intercept_margin <= 0.0


@pytest.mark.parametrize("angle_deg", [20.0, 40.0])
def test_back_course(make_flight, angle_deg):
    """Captured from its margin and kept, although the needle senses the other way."""
    flight = make_flight(
        "heading_select",
        "altitude_hold",
        source="approach",
        altitude_ft=2500.0,
        heading_deg=180.0 - angle_deg,
        airspeed_kt=95.0,
        north_nm=26.0,
        east_nm=-1.4,
    )
    flight.references.selected_heading_deg = flight.heading_deg
    captured = False
    deviations = []
    while flight.sample().north_nm > 16.0:
        flight.step(STEP_S)
        if not captured and flight.course_intercept_margin <= 0.0:
            flight.modes.lateral = "back_course"
            captured = True
        deviations.append(flight.course_deviation)
    assert captured
    # west of the line: right of a southbound path, and the front course's sense says left
    assert deviations[0] < 0.0
    assert max(deviations) < 0.5
    assert abs(flight.course_deviation) < 0.05


def test_station_passage_keeps_the_track(make_flight, fly):
    """Over the beacon the course can't be used; the flight goes on and picks it up again."""
    flight = make_flight(
        "course_track",
        "altitude_hold",
        source="beacon",
        altitude_ft=6000.0,
        north_nm=22.0,
        east_nm=0.02,
    )
    seen = fly(
        flight,
        200.0,
        cone=lambda f: float(f.sample().station_passage),
        bank=lambda f: abs(f.bank_deg),
        valid=lambda f: float(f.course_valid),
    )
    assert max(seen["cone"]) == 1.0
    assert min(seen["valid"]) == 1.0
    assert max(seen["bank"]) < 8.0
    assert flight.sample().north_nm > 26.0
    assert abs(flight.course_deviation) < 0.05


def test_inside_the_cone_the_track_is_kept_not_the_course(make_flight, fly):
    flight = make_flight(
        "course_track",
        "altitude_hold",
        source="beacon",
        altitude_ft=9000.0,
        north_nm=24.7,
        east_nm=0.4,
    )
    seen = fly(
        flight,
        15.0,
        cone=lambda f: float(f.sample().station_passage),
        bank=lambda f: abs(f.bank_deg),
    )
    assert min(seen["cone"]) == 1.0
    assert max(seen["bank"]) < 0.5


def test_the_turn_begins_where_geometry_says(make_flight):
    """Square to the course in still air: radius at the planned bank, and half the roll-in."""
    flight = make_flight(
        "heading_select",
        "altitude_hold",
        source="satellite",
        altitude_ft=2500.0,
        heading_deg=270.0,
        east_nm=2.0,
    )
    flight.references.selected_heading_deg = 270.0
    while flight.course_intercept_margin > 0.0:
        flight.step(STEP_S)
    speed = flight.sample().true_airspeed_kt * 1852.0 / 3600.0
    bank = math.radians(0.8 * 22.0)
    radius = speed**2 / (9.80665 * math.tan(bank))
    rolling = speed * (0.5 * 0.8 * 22.0 / 5.0 + 0.5)
    assert flight.course_deviation * 1852.0 == pytest.approx(radius + rolling, abs=5.0)


def test_lost_course_levels_the_wings(make_flight, fly):
    flight = make_flight("course_track", "altitude_hold", source="satellite", east_nm=1.0)
    fly(flight, 10.0)
    assert abs(flight.bank_deg) > 5.0
    flight.faults.navigation = True
    fly(flight, 10.0)
    assert not flight.course_valid
    assert flight.course_deviation == 0.0
    assert abs(flight.bank_deg) < 0.5


def test_unknown_mode_is_refused_by_name(make_flight):
    flight = make_flight("hedaing", "altitude_hold")
    with pytest.raises(UnknownModeError, match=r"hedaing.*accepted: none, roll_hold"):
        flight.step(STEP_S)


@pytest.mark.parametrize("bank_limit_deg", [15.0, 30.0])
def test_the_installations_bank_limit_is_kept(make_flight, fly, bank_limit_deg):
    limits = GuidanceLimits(bank_limit_deg=bank_limit_deg)
    flight = make_flight("heading_select", "altitude_hold", limits=limits, airspeed_kt=115.0)
    flight.references.selected_heading_deg = 170.0
    seen = fly(flight, 20.0, bank=lambda f: f.bank_deg)
    assert max(seen["bank"]) == pytest.approx(bank_limit_deg, abs=0.5)
