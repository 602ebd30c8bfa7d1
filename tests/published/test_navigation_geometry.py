"""Course, glidepath and satellite geometry against published widths, angles and scalings."""

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
    load_aircraft,
)
from trainer.flight import navigation as nav
from trainer.units import FT_PER_NM, ft_to_m, m_to_ft, m_to_nm, nm_to_m, rad_to_deg

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft" / "light_single.yaml"
ANTENNA_FT = 8000.0
APPROACH = NavigationSource(
    "approach",
    "approach",
    "Runway 36",
    0.0,
    glidepath_deg=3.0,
    course_antenna_beyond_threshold_ft=ANTENNA_FT,
)
BEACON = NavigationSource("beacon", "beacon", "Beacon", 0.0)


def flight_at(
    source: NavigationSource,
    north_nm: float,
    east_nm: float = 0.0,
    altitude_ft: float = 2000.0,
    *,
    heading_deg: float = 0.0,
    airspeed_kt: float = 110.0,
) -> FlightModel:
    """Return a flight at a place, with a source tuned."""
    flight = FlightModel(
        load_aircraft(AIRCRAFT),
        InitialCondition(
            altitude_ft=altitude_ft,
            heading_deg=heading_deg,
            north_nm=north_nm,
            east_nm=east_nm,
            airspeed_kt=airspeed_kt,
            vertical_speed_fpm=-500.0,
        ),
        Environment(),
        (source,),
        GuidanceLimits(),
    )
    flight.references.source_id = source.id
    return flight


def test_course_width_at_the_threshold() -> None:
    """[NAV-01] 700 ft from full scale to full scale."""
    flight = flight_at(APPROACH, 0.0, 350.0 / FT_PER_NM)
    assert flight.course_deviation == pytest.approx(1.0, abs=1e-9)
    flight = flight_at(APPROACH, 0.0, -350.0 / FT_PER_NM)
    assert flight.course_deviation == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("antenna_ft", "angle_deg"), [(6000, 3.338), (8000, 2.505), (10000, 2.005), (12000, 1.671)]
)
def test_half_angle(antenna_ft: float, angle_deg: float) -> None:
    """[NAV-02]; twice each lies in the band of [NAV-03]."""
    found_deg = rad_to_deg(nav.course_half_angle_rad(ft_to_m(antenna_ft)))
    assert found_deg == pytest.approx(angle_deg, abs=0.005)
    assert 3.0 <= 2.0 * found_deg <= 6.7


@pytest.mark.parametrize(
    ("reach_nm", "off_deg", "valid"),
    [
        (17.5, 0.0, True),
        (17.5, 9.0, True),
        (19.0, 0.0, False),
        (9.5, 30.0, True),
        (12.0, 30.0, False),
        (9.0, 40.0, False),
    ],
)
def test_usable_volume(reach_nm: float, off_deg: float, valid: bool) -> None:
    """[NAV-04] 18 NM within 10 degrees, 10 NM up to 35."""
    antenna_nm = ANTENNA_FT / FT_PER_NM
    off = math.radians(off_deg)
    flight = flight_at(APPROACH, antenna_nm - reach_nm * math.cos(off), reach_nm * math.sin(off))
    assert flight.course_valid is valid


def on_path_altitude_ft(to_antenna_nm: float, angle_deg: float) -> float:
    return to_antenna_nm * FT_PER_NM * math.tan(math.radians(angle_deg))


def north_of_antenna(to_antenna_nm: float) -> float:
    """Return the north coordinate of a distance [NM] before the glidepath antenna."""
    return m_to_nm(nav.GLIDEPATH_ANTENNA_PAST_THRESHOLD_M) - to_antenna_nm


@pytest.mark.parametrize("distance_nm", [1.0, 3.0, 5.0, 9.5])
def test_glidepath_full_scale_is_seven_tenths(distance_nm: float) -> None:
    """[NAV-05] 1.4 degrees from full scale to full scale, [NAV-06] about 3 degrees."""
    for angle_deg, deviation in ((3.0, 0.0), (3.7, 1.0), (2.3, -1.0)):
        altitude_ft = on_path_altitude_ft(distance_nm, angle_deg)
        flight = flight_at(APPROACH, north_of_antenna(distance_nm), 0.0, altitude_ft)
        assert flight.glidepath_valid
        assert flight.glidepath_deviation == pytest.approx(deviation, abs=0.001)


@pytest.mark.parametrize(("distance_nm", "feet"), [(1.0, 74.0), (5.0, 372.0), (10.0, 745.0)])
def test_full_scale_in_feet(distance_nm: float, feet: float) -> None:
    """[NAV-09] about 74, 372 and 745 ft; within 1 %."""
    height_ft = on_path_altitude_ft(distance_nm, 3.0)
    flight = flight_at(APPROACH, north_of_antenna(distance_nm - 1e-6), 0.0, height_ft + feet)
    assert flight.glidepath_deviation == pytest.approx(1.0, abs=0.012)


def test_siting_and_range() -> None:
    """[NAV-07] 750 to 1 250 ft past the runway end; normally usable to 10 NM."""
    assert 750.0 <= m_to_ft(nav.GLIDEPATH_ANTENNA_PAST_THRESHOLD_M) <= 1250.0
    near = flight_at(APPROACH, north_of_antenna(9.9), 0.0, on_path_altitude_ft(9.9, 3.0))
    far = flight_at(APPROACH, north_of_antenna(10.1), 0.0, on_path_altitude_ft(10.1, 3.0))
    assert near.glidepath_valid
    assert not far.glidepath_valid


def test_markers_of_the_path() -> None:
    """[NAV-06] 200 ft is 3 816 ft out and 1 400 ft is 4.40 NM out, on 3 degrees."""
    for height_ft, out_ft in ((200.0, 3816.0), (1400.0, 4.40 * FT_PER_NM)):
        flight = flight_at(APPROACH, north_of_antenna(out_ft / FT_PER_NM), 0.0, height_ft)
        assert flight.glidepath_deviation == pytest.approx(0.0, abs=0.01)


def test_false_paths_lie_well_above() -> None:
    """[NAV-08] reverse sensing at twice the angle, a false path at three times (9 degrees)."""
    path = math.radians(3.0)
    step = math.radians(0.01)
    for angle, slope in ((path, 1.0), (2.0 * path, -1.0), (3.0 * path, 1.0)):
        assert nav.glidepath_deviation(angle, path) == pytest.approx(0.0, abs=1e-9)
        rise = nav.glidepath_deviation(angle + step, path)
        assert math.copysign(1.0, rise) == slope
    flight = flight_at(APPROACH, north_of_antenna(3.0), 0.0, on_path_altitude_ft(3.0, 9.0))
    assert flight.glidepath_valid
    assert flight.glidepath_deviation == pytest.approx(0.0, abs=0.01)
    assert flight.sample().false_glidepath
    above = flight_at(APPROACH, north_of_antenna(3.0), 0.0, on_path_altitude_ft(3.0, 11.0))
    assert not above.glidepath_valid


@pytest.mark.parametrize(
    ("angle_deg", "feet_per_nm"),
    [(2.5, 265.3), (2.8, 297.2), (3.0, 318.4), (3.2, 339.7), (3.5, 371.6), (4.0, 424.9)],
)
def test_gradient_of_a_tuned_path(angle_deg: float, feet_per_nm: float) -> None:
    """[NAV-11], [NAV-14]: a mile further out the path is that much higher."""
    source = NavigationSource("a", "approach", "A", 0.0, glidepath_deg=angle_deg)
    for distance_nm in (2.0, 3.0):
        flight = flight_at(source, north_of_antenna(distance_nm), 0.0, feet_per_nm * distance_nm)
        assert flight.glidepath_deviation == pytest.approx(0.0, abs=0.002)


@pytest.mark.parametrize(("ground_kt", "rate_fpm"), [(90.0, 477.7), (105.0, 557.3), (120.0, 636.9)])
def test_rate_of_descent_flown_on_three_degrees(ground_kt: float, rate_fpm: float) -> None:
    """[NAV-12] at the ground speed that the flight has, in proportion."""
    start_ft = on_path_altitude_ft(6.0 + 1000.0 / FT_PER_NM, 3.0)
    flight = flight_at(APPROACH, -6.0, 0.0, start_ft, airspeed_kt=ground_kt)
    flight.modes.servos = True
    flight.modes.lateral, flight.modes.vertical = "approach_course", "glidepath"
    for _ in range(1600):
        flight.step(0.05)
    sample = flight.sample()
    assert abs(sample.glidepath_deviation) < 0.02
    expected_fpm = rate_fpm * sample.ground_speed_kt / ground_kt
    assert sample.vertical_speed_fpm == pytest.approx(-expected_fpm, abs=12.0)


def test_beacon_full_scale() -> None:
    """[NAV-15] the handbook's 12 degrees is the default; a source may say another."""
    ten = NavigationSource("ten", "beacon", "Ten", 0.0, full_scale_deg=10.0)
    for source, angle_deg in ((BEACON, 12.0), (ten, 10.0)):
        east_nm = 20.0 * math.tan(math.radians(angle_deg))
        assert flight_at(source, -20.0, east_nm).course_deviation == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("distance_nm", "feet"), [(5, 530), (10, 1061), (30, 3182), (59.9, 6354)])
def test_one_degree_off_a_beacon(distance_nm: float, feet: float) -> None:
    """[NAV-16] one degree is one twelfth of full scale; the last row is just inside the range."""
    flight = flight_at(BEACON, -distance_nm, feet / FT_PER_NM)
    assert flight.course_deviation == pytest.approx(1.0 / 12.0, rel=0.005)


@pytest.mark.parametrize("full_scale_nm", [5.0, 1.0])
def test_linear_satellite_scale(full_scale_nm: float) -> None:
    """[NAV-17] basic equipment: 5 NM en route, 1 NM in the terminal area."""
    source = NavigationSource("s", "satellite_course", "S", 0.0, full_scale_nm=full_scale_nm)
    for north_nm in (-40.0, -3.0):
        flight = flight_at(source, north_nm, 0.5 * full_scale_nm)
        assert flight.course_deviation == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize(
    ("out_nm", "scale_nm"), [(8.0, 1.0), (7.0, 1.0), (6.0, 0.65), (5.0, 0.3), (2.0, 0.3)]
)
def test_basic_satellite_approach_ramp(out_nm: float, scale_nm: float) -> None:
    """[NAV-18] from 1 NM two miles before the final fix to 0.3 NM at it; linear is our reading."""
    source = NavigationSource("s", "satellite_course", "S", 0.0, final_fix_nm=5.0)
    geometry = nav.SourceGeometry(source, 0.0)
    found_nm = m_to_nm(nav.satellite_full_scale_m(geometry, nm_to_m(out_nm)))
    assert found_nm == pytest.approx(scale_nm, abs=1e-9)


def test_satellite_approach_with_glidepath_splays_like_a_beam() -> None:
    """[NAV-19] no wider than 0.3 NM at the fix, about 700 ft in all at the threshold, [NAV-21]."""
    source = NavigationSource(
        "s",
        "satellite_course",
        "S",
        0.0,
        final_fix_nm=5.0,
        glidepath_deg=3.0,
        course_antenna_beyond_threshold_ft=10000.0,
    )
    geometry = nav.SourceGeometry(source, 0.0)
    assert m_to_ft(nav.satellite_full_scale_m(geometry, 0.0)) == pytest.approx(350.0, abs=0.5)
    at_fix_m = nav.satellite_full_scale_m(geometry, nm_to_m(5.0))
    assert m_to_nm(at_fix_m) <= 0.3
    assert rad_to_deg(geometry.half_angle_rad) == pytest.approx(2.0, abs=0.1)
    assert m_to_nm(nav.satellite_full_scale_m(geometry, nm_to_m(7.0))) == pytest.approx(1.0)
    scales = [nav.satellite_full_scale_m(geometry, nm_to_m(0.1 * tenth)) for tenth in range(90)]
    assert scales == sorted(scales)


def test_vectors_to_final() -> None:
    """[NAV-20] linear at 1 NM until the splay of the final is narrower than that."""
    source = NavigationSource(
        "s",
        "satellite_course",
        "S",
        0.0,
        vectors_to_final=True,
        glidepath_deg=3.0,
        course_antenna_beyond_threshold_ft=10000.0,
    )
    geometry = nav.SourceGeometry(source, 0.0)
    splay_per_nm = math.tan(geometry.half_angle_rad)
    reaches_nm = 1.0 / splay_per_nm - 10000.0 / FT_PER_NM
    for out_nm, scale_nm in (
        (reaches_nm + 5.0, 1.0),
        (reaches_nm, 1.0),
        (reaches_nm - 10.0, 1.0 - 10.0 * splay_per_nm),
    ):
        found_nm = m_to_nm(nav.satellite_full_scale_m(geometry, nm_to_m(out_nm)))
        assert found_nm == pytest.approx(scale_nm, abs=1e-6)
    assert m_to_ft(nav.satellite_full_scale_m(geometry, 0.0)) == pytest.approx(350.0, abs=0.5)


@pytest.mark.parametrize("east_nm", [-0.2, 0.2])
def test_back_course_needle_is_reversed(east_nm: float) -> None:
    """[NAV-10] flying in on the back course the needle points away from the course."""
    flight = flight_at(APPROACH, 6.0, east_nm, heading_deg=180.0)
    right_of_path = east_nm < 0.0
    assert flight.course_valid
    assert (flight.course_deviation > 0.0) is not right_of_path
