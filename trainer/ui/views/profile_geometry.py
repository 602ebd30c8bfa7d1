"""Profile view arithmetic: height against distance. No Qt here.

On a source with a glidepath the distance is that to the runway, which lies on the right; else it
is the distance flown, with the aircraft two thirds across.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.ui.views.surroundings import Surroundings, TrackPoint
from trainer.units import FT_PER_NM

FLOWN_SPAN_NM = 6.0
AIRCRAFT_SHARE = 0.66
LEAST_SPAN_FT = 800.0


@dataclass(frozen=True, slots=True)
class ProfileFrame:
    """Turns distance and altitude into points of the view [px]."""

    left_nm: float
    right_nm: float
    low_ft: float
    high_ft: float
    width_px: float
    height_px: float

    def point(self, along_nm: float, altitude_ft: float) -> tuple[float, float]:
        """Return x and y [px]."""
        across = (along_nm - self.left_nm) / (self.right_nm - self.left_nm)
        up = (altitude_ft - self.low_ft) / (self.high_ft - self.low_ft)
        return across * self.width_px, (1 - up) * self.height_px


def is_along_course(scene: Surroundings) -> bool:
    """Return True if distance is measured to a runway with a glidepath."""
    return scene.source is not None and scene.source.glidepath_deg is not None


def along_nm(scene: Surroundings, points: Iterable[TrackPoint]) -> list[float]:
    """Return where track points lie on the distance axis [NM]; 0 is the runway threshold."""
    source = scene.source
    if source is None or source.glidepath_deg is None:
        return [point.flown_nm for point in points]
    angle = math.radians(source.course_deg)
    north, east = math.cos(angle), math.sin(angle)
    origin_nm = source.north_nm * north + source.east_nm * east
    return [point.north_nm * north + point.east_nm * east - origin_nm for point in points]


def glidepath_altitude_ft(scene: Surroundings, at_nm: float) -> float:
    """Return the altitude of the glidepath [ft] at a place on the distance axis (negative: before).

    The path is drawn as a straight line to the threshold's elevation.
    """
    source = scene.source
    if source is None or source.glidepath_deg is None:
        raise ValueError("the source has no glidepath")
    climb = math.tan(math.radians(source.glidepath_deg))
    return source.elevation_ft + max(0.0, -at_nm) * FT_PER_NM * climb


def here(scene: Surroundings) -> TrackPoint:
    """Return the aircraft's own place as a track point."""
    sample = scene.sample
    flown_nm = 0.0
    if scene.track:
        last = scene.track[-1]
        flown_nm = last.flown_nm + math.hypot(
            sample.north_nm - last.north_nm, sample.east_nm - last.east_nm
        )
    return TrackPoint(sample.t_s, sample.north_nm, sample.east_nm, sample.altitude_ft, flown_nm)


def fitting_frame(
    scene: Surroundings, points: Sequence[TrackPoint], width_px: float, height_px: float
) -> ProfileFrame:
    """Return the frame that shows the aircraft, selected altitude, glidepath and track points."""
    (at_nm,) = along_nm(scene, [here(scene)])
    if is_along_course(scene):
        left_nm = min(-6.0, math.floor(at_nm - 1.0))
        left_nm, right_nm = max(left_nm, at_nm - 15.0), 1.0
        right_nm = max(right_nm, at_nm + 0.5)
    else:
        left_nm = at_nm - FLOWN_SPAN_NM * AIRCRAFT_SHARE
        right_nm = left_nm + FLOWN_SPAN_NM
    shown = [scene.sample.altitude_ft, scene.selected_altitude_ft]
    places = zip(along_nm(scene, points), points, strict=True)
    shown += [point.altitude_ft for place, point in places if left_nm <= place <= right_nm]
    if is_along_course(scene):
        shown.append(scene.source.elevation_ft if scene.source else 0.0)
        shown.append(glidepath_altitude_ft(scene, max(left_nm, at_nm)))
    low_ft, high_ft = min(shown), max(shown)
    span_ft = max(LEAST_SPAN_FT, (high_ft - low_ft) * 1.25)
    middle_ft = (low_ft + high_ft) / 2
    low_ft = math.floor((middle_ft - span_ft / 2) / 100) * 100
    high_ft = math.ceil((middle_ft + span_ft / 2) / 100) * 100
    return ProfileFrame(left_nm, right_nm, low_ft, high_ft, width_px, height_px)


def profile_words(scene: Surroundings) -> str:
    """Return what the view shows, for a screen reader."""
    sample = scene.sample
    away_ft = scene.selected_altitude_ft - sample.altitude_ft
    where = "above" if away_ft > 0 else "below"
    words = f"Profile view: altitude {sample.altitude_ft:.0f} feet"
    if abs(away_ft) < 20:
        words += ", at the selected altitude"
    else:
        words += f", selected altitude {abs(away_ft):.0f} feet {where}"
    if sample.glidepath_valid:
        words += f"; {glidepath_words(sample.glidepath_deviation)}"
    return words


def glidepath_words(deviation: float) -> str:
    """Return a glidepath deviation in words; above 0 the aircraft is above the path.

    Example:
        >>> glidepath_words(-0.5)
        '0.50 of full scale below the glidepath'
    """
    if abs(deviation) < 0.005:
        return "on the glidepath"
    side = "above" if deviation > 0 else "below"
    is_off_scale = abs(deviation) >= 1.0
    amount = "full scale or more" if is_off_scale else f"{abs(deviation):.2f} of full scale"
    return f"{amount} {side} the glidepath"
