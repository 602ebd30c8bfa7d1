"""Navigation geometry: where the aircraft is against a course and a glidepath.

Three kinds of source. Beacon: angular, `full_scale_deg` either side ([NAV-15]), with a cone above
it where the course can't be used. Approach: angular from an antenna beyond the far end, 350 ft
either side at the threshold ([NAV-01]), usable within the volume of [NAV-04]; the back course is
the same beam on the other side, with reverse sensing. Satellite course: linear, narrowing towards
a final ([NAV-17] to [NAV-20]). Glidepath: 0.7 degrees either side ([NAV-05]); above one and a half
times its angle the deviation leads onto false paths ([NAV-08]).

Deviations go on growing beyond full scale; a picture clips them.
"""

from __future__ import annotations

import math

from trainer.flight.state import FlightState
from trainer.flight.types import NavigationSource
from trainer.units import M_PER_FT, M_PER_NM, RAD_PER_DEG, ft_to_m, nm_to_m

COURSE_HALF_WIDTH_AT_THRESHOLD_M = ft_to_m(350.0)
GLIDEPATH_FULL_SCALE_RAD = math.radians(0.7)
GLIDEPATH_ANTENNA_PAST_THRESHOLD_M = ft_to_m(1000.0)
APPROACH_RANGE_M = nm_to_m(18.0)
"""From the course antenna; the range of a source can only make it shorter."""
APPROACH_WIDE_RANGE_M = nm_to_m(10.0)
APPROACH_NARROW_RAD = math.radians(10.0)
APPROACH_WIDE_RAD = math.radians(35.0)
CONE_HALF_ANGLE_TAN = math.tan(math.radians(40.0))
"""Half-angle of the cone above a beacon, from the vertical; from memory, 30 to 50 degrees."""
FINAL_FULL_SCALE_M = nm_to_m(0.3)
FINAL_RAMP_M = nm_to_m(2.0)


class SourceGeometry:
    """A source and a course through it, in SI, with what each reading would else recompute."""

    __slots__ = (
        "antenna_m",
        "cos_course",
        "course_rad",
        "east_m",
        "elevation_m",
        "final_fix_m",
        "full_scale_m",
        "full_scale_rad",
        "glidepath_rad",
        "glidepath_range_m",
        "half_angle_rad",
        "id",
        "kind",
        "north_m",
        "range_m",
        "sin_course",
        "vectors",
    )

    def __init__(self, source: NavigationSource, course_deg: float) -> None:
        self.id = source.id
        self.kind = source.kind
        self.course_rad = course_deg * RAD_PER_DEG
        self.sin_course = math.sin(self.course_rad)
        self.cos_course = math.cos(self.course_rad)
        self.north_m = source.north_nm * M_PER_NM
        self.east_m = source.east_nm * M_PER_NM
        self.elevation_m = source.elevation_ft * M_PER_FT
        self.range_m = source.range_nm * M_PER_NM
        self.full_scale_rad = source.full_scale_deg * RAD_PER_DEG
        self.full_scale_m = source.full_scale_nm * M_PER_NM
        self.vectors = source.vectors_to_final
        fix_nm = source.final_fix_nm
        self.final_fix_m = None if fix_nm is None else fix_nm * M_PER_NM
        self.antenna_m = source.course_antenna_beyond_threshold_ft * M_PER_FT
        self.half_angle_rad = course_half_angle_rad(self.antenna_m)
        angle_deg = source.glidepath_deg
        self.glidepath_rad = None if angle_deg is None else angle_deg * RAD_PER_DEG
        self.glidepath_range_m = source.glidepath_range_nm * M_PER_NM


class CourseReading:
    """What the navigation receiver gives at one instant, SI and fractions of full scale."""

    valid: bool
    deviation: float
    cross_m: float
    cross_rate_mps: float
    along_m: float
    angle_rad: float
    course_rad: float
    ground_mps: float
    closing_mps: float
    full_scale_m: float
    distance_m: float
    station_passage: bool
    back_course_side: bool
    glidepath_valid: bool
    glidepath_deviation: float
    glidepath_error_m: float
    glidepath_slope: float
    false_glidepath: bool

    __slots__ = tuple(__annotations__)

    def __init__(self) -> None:
        self.angle_rad = self.course_rad = self.ground_mps = self.closing_mps = 0.0
        self.clear()

    def clear(self) -> None:
        """Say that there is no signal."""
        self.valid = self.station_passage = self.back_course_side = False
        self.deviation = self.cross_m = self.cross_rate_mps = self.along_m = 0.0
        self.distance_m = 0.0
        self.full_scale_m = 1.0
        self.clear_glidepath()

    def clear_glidepath(self) -> None:
        """Say that there is no glidepath signal."""
        self.glidepath_valid = self.false_glidepath = False
        self.glidepath_deviation = self.glidepath_error_m = self.glidepath_slope = 0.0


def course_half_angle_rad(antenna_beyond_threshold_m: float) -> float:
    """Return the angle [rad] of full scale, from the antenna, for its distance [m].

    Example:
        >>> round(math.degrees(2.0 * course_half_angle_rad(3000.0)), 1)  # full scale, both sides
        4.1
    """
    return math.atan(COURSE_HALF_WIDTH_AT_THRESHOLD_M / antenna_beyond_threshold_m)


def satellite_full_scale_m(g: SourceGeometry, to_go_m: float) -> float:
    """Return full scale [m] of a satellite course at a distance [m] before its position.

    With vectors to the final it is linear until the splay of the final is narrower ([NAV-20]).
    Without a final fix it is linear. With one it narrows over the 2 NM before the fix; past the
    fix it is 0.3 NM, or, when the source has a glidepath, splayed like an approach beam.
    """
    if g.vectors:
        return min(_splay_m(g, to_go_m), g.full_scale_m)
    fix_m = g.final_fix_m
    if fix_m is None:
        return g.full_scale_m
    at_fix_m = _final_full_scale_m(g, fix_m)
    if to_go_m >= fix_m + FINAL_RAMP_M:
        return g.full_scale_m
    if to_go_m >= fix_m:
        share = (to_go_m - fix_m) / FINAL_RAMP_M
        return at_fix_m + (g.full_scale_m - at_fix_m) * share
    return _final_full_scale_m(g, to_go_m)


def _final_full_scale_m(g: SourceGeometry, to_go_m: float) -> float:
    """Return full scale [m] inside the final fix."""
    if g.glidepath_rad is None:
        return FINAL_FULL_SCALE_M
    return min(_splay_m(g, to_go_m), FINAL_FULL_SCALE_M)


def _splay_m(g: SourceGeometry, to_go_m: float) -> float:
    """Return full scale [m] of the final's beam-like splay; linear past the threshold."""
    return math.tan(g.half_angle_rad) * (max(to_go_m, 0.0) + g.antenna_m)


def read_course(n: CourseReading, s: FlightState, g: SourceGeometry) -> None:
    """Fill a reading from the flight and a source; validity by range only."""
    north_m = s.north_m - g.north_m
    east_m = s.east_m - g.east_m
    along_m = north_m * g.cos_course + east_m * g.sin_course
    cross_m = east_m * g.cos_course - north_m * g.sin_course
    north_mps = s.last_north
    east_mps = s.last_east
    closing_mps = north_mps * g.cos_course + east_mps * g.sin_course
    rate_mps = east_mps * g.cos_course - north_mps * g.sin_course
    n.along_m = along_m
    n.cross_m = cross_m
    n.closing_mps = closing_mps
    n.cross_rate_mps = rate_mps
    n.ground_mps = math.sqrt(closing_mps * closing_mps + rate_mps * rate_mps)
    n.angle_rad = math.atan2(rate_mps, closing_mps)
    n.course_rad = g.course_rad
    distance_m = math.sqrt(along_m * along_m + cross_m * cross_m)
    n.distance_m = distance_m
    n.station_passage = n.back_course_side = False
    if g.kind == "satellite_course":
        n.full_scale_m = satellite_full_scale_m(g, -along_m)
        n.deviation = cross_m / n.full_scale_m
        n.valid = distance_m <= g.range_m
    elif g.kind == "beacon":
        _read_beacon(n, s, g)
    else:
        _read_approach(n, g)


def _read_beacon(n: CourseReading, s: FlightState, g: SourceGeometry) -> None:
    """Add full scale, deviation and validity for a beacon."""
    n.valid = n.distance_m <= g.range_m
    above_m = s.height_m - g.elevation_m
    n.station_passage = n.distance_m < above_m * CONE_HALF_ANGLE_TAN
    if n.station_passage:
        n.deviation = 0.0
        n.full_scale_m = max(above_m * CONE_HALF_ANGLE_TAN * math.tan(g.full_scale_rad), 1.0)
        return
    n.full_scale_m = max(abs(n.along_m) * math.tan(g.full_scale_rad), 1.0)
    n.deviation = math.atan2(n.cross_m, abs(n.along_m)) / g.full_scale_rad


def _read_approach(n: CourseReading, g: SourceGeometry) -> None:
    """Add full scale, deviation and validity for an approach beam, front or back."""
    from_antenna_m = abs(n.along_m - g.antenna_m)
    n.back_course_side = n.along_m > g.antenna_m
    angle_rad = math.atan2(n.cross_m, from_antenna_m)
    n.deviation = angle_rad / g.half_angle_rad
    n.full_scale_m = max(from_antenna_m * math.tan(g.half_angle_rad), 1.0)
    reach_m = math.hypot(n.cross_m, from_antenna_m)
    off_rad = abs(angle_rad)
    if off_rad <= APPROACH_NARROW_RAD:
        n.valid = reach_m <= min(g.range_m, APPROACH_RANGE_M)
    else:
        wide_m = min(g.range_m, APPROACH_WIDE_RANGE_M)
        n.valid = off_rad <= APPROACH_WIDE_RAD and reach_m <= wide_m


def glidepath_deviation(elevation_rad: float, path_rad: float) -> float:
    """Return deviation, > 0 above, for an elevation angle [rad] seen from the antenna.

    Straight through the published path; folded above one and a half times its angle, so that there
    is a reverse-sensing path at twice the angle and a false one at three times.
    """
    offset_rad = elevation_rad - path_rad
    if offset_rad > 0.5 * path_rad:
        turn = (offset_rad + 0.5 * path_rad) % (2.0 * path_rad)
        fold = turn - 0.5 * path_rad if turn <= path_rad else 1.5 * path_rad - turn
        offset_rad = fold
    return offset_rad / GLIDEPATH_FULL_SCALE_RAD


def read_glidepath(n: CourseReading, s: FlightState, g: SourceGeometry) -> None:
    """Fill the glidepath part of a reading whose course part is filled."""
    path_rad = g.glidepath_rad
    if path_rad is None:
        n.clear_glidepath()
        return
    to_go_m = GLIDEPATH_ANTENNA_PAST_THRESHOLD_M - n.along_m
    if to_go_m < 30.0 or to_go_m > g.glidepath_range_m or abs(n.cross_m) > 0.5 * to_go_m:
        n.clear_glidepath()
        return
    elevation_rad = math.atan2(s.height_m - g.elevation_m, to_go_m)
    n.glidepath_valid = elevation_rad < 3.5 * path_rad
    n.false_glidepath = elevation_rad > 1.5 * path_rad
    n.glidepath_deviation = glidepath_deviation(elevation_rad, path_rad)
    n.glidepath_error_m = n.glidepath_deviation * GLIDEPATH_FULL_SCALE_RAD * to_go_m
    n.glidepath_slope = math.tan(path_rad)
