"""Plan view arithmetic: north up, the aircraft in the middle. No Qt here."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.ui.views.surroundings import Surroundings

RANGES_NM = (1.0, 2.0, 5.0, 10.0, 20.0, 40.0)
"""Distances from the middle to the nearer edge."""
COURSE_LENGTH_NM = 60.0
NO_SOURCE_RANGE_NM = 2.0


@dataclass(frozen=True, slots=True)
class PlanFrame:
    """Turns positions into points of the view [px]."""

    north_nm: float
    east_nm: float
    range_nm: float
    width_px: float
    height_px: float

    @property
    def px_per_nm(self) -> float:
        """Scale of the view."""
        return min(self.width_px, self.height_px) / 2 / self.range_nm

    def point(self, north_nm: float, east_nm: float) -> tuple[float, float]:
        """Return x and y [px] of a position."""
        return (
            self.width_px / 2 + (east_nm - self.east_nm) * self.px_per_nm,
            self.height_px / 2 - (north_nm - self.north_nm) * self.px_per_nm,
        )

    def along(
        self, north_nm: float, east_nm: float, bearing_deg: float, length_nm: float
    ) -> tuple[float, float]:
        """Return x and y [px] of the place a distance away in a direction."""
        angle = math.radians(bearing_deg)
        return self.point(
            north_nm + length_nm * math.cos(angle), east_nm + length_nm * math.sin(angle)
        )


def fitting_range_nm(scene: Surroundings, previous_nm: float) -> float:
    """Return the range that keeps the source in view, changing it only when it must.

    A range is left for a smaller one only when half of it would do, so that it doesn't flicker.
    """
    source = scene.source
    if source is None:
        return NO_SOURCE_RANGE_NM
    away_nm = math.hypot(
        source.north_nm - scene.sample.north_nm, source.east_nm - scene.sample.east_nm
    )
    needed_nm = min(max(away_nm * 1.15, 1.0), RANGES_NM[-1])
    fitting = next(r for r in RANGES_NM if r >= needed_nm)
    if previous_nm in RANGES_NM and fitting < previous_nm and needed_nm > previous_nm * 0.4:
        return previous_nm
    return fitting


def plan_words(scene: Surroundings) -> str:
    """Return what the view shows, for a screen reader."""
    sample = scene.sample
    words = f"Plan view: heading {sample.heading_deg:03.0f}, track {sample.track_deg:03.0f}"
    source = scene.source
    if source is None:
        return f"{words}; no navigation source in use"
    words += f"; {source.label}, course {scene.active_course_deg:03.0f}"
    if not sample.course_valid:
        return f"{words}, no signal"
    return f"{words}, {sample.distance_nm:.1f} miles, {deviation_words(sample.course_deviation)}"


def deviation_words(deviation: float) -> str:
    """Return a course deviation in words; above 0 the aircraft is right of the course.

    Example:
        >>> deviation_words(0.42)
        '0.42 of full scale right of course'
    """
    if abs(deviation) < 0.005:
        return "on course"
    side = "right" if deviation > 0 else "left"
    is_off_scale = abs(deviation) >= 1.0
    amount = "full scale or more" if is_off_scale else f"{abs(deviation):.2f} of full scale"
    return f"{amount} {side} of course"
