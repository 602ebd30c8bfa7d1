"""What the plan and the profile draw: the surroundings as a value, and the track. No Qt."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from trainer.flight.types import FlightSample, NavigationSource

TRACK_INTERVAL_S = 1.0
TRACK_LENGTH = 3600
"""Points kept: an hour at one a second."""


class TrackPoint(NamedTuple):
    """Where the aircraft was."""

    t_s: float
    north_nm: float
    east_nm: float
    altitude_ft: float
    flown_nm: float
    """Distance flown since the start."""
    mark: str = ""
    """What changed here; empty for a plain point."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Everything a view needs at one instant."""

    sample: FlightSample
    track: tuple[TrackPoint, ...] = ()
    sources: tuple[NavigationSource, ...] = ()
    source_id: str = ""
    course_deg: float | None = None
    """Course in use on the active source; None: the source's own."""
    selected_heading_deg: float = 0.0
    selected_altitude_ft: float = 0.0
    ground_elevation_ft: float = 0.0

    @property
    def source(self) -> NavigationSource | None:
        """The navigation source in use."""
        return next((s for s in self.sources if s.id == self.source_id), None)

    @property
    def active_course_deg(self) -> float | None:
        """The course in use, if any source gives one."""
        if self.source is None:
            return None
        is_fixed = self.source.kind == "approach" or self.course_deg is None
        return self.source.course_deg if is_fixed else self.course_deg


class Track:
    """The track flown, a point a second, oldest dropped first."""

    def __init__(self) -> None:
        self._points: deque[TrackPoint] = deque(maxlen=TRACK_LENGTH)
        self._last: FlightSample | None = None
        self._flown_nm = 0.0

    @property
    def points(self) -> tuple[TrackPoint, ...]:
        """All points, oldest first."""
        return tuple(self._points)

    def clear(self) -> None:
        """Forget everything: a new flight begins."""
        self._points.clear()
        self._last = None
        self._flown_nm = 0.0

    def add(self, sample: FlightSample, mark: str = "") -> None:
        """Note where the aircraft is; a point with a mark is always kept."""
        if self._last is not None:
            elapsed_s = sample.t_s - self._last.t_s
            if elapsed_s < TRACK_INTERVAL_S and not mark:
                return
            north_nm = sample.north_nm - self._last.north_nm
            east_nm = sample.east_nm - self._last.east_nm
            self._flown_nm += math.hypot(north_nm, east_nm)
        self._last = sample
        self._points.append(
            TrackPoint(
                sample.t_s,
                sample.north_nm,
                sample.east_nm,
                sample.altitude_ft,
                self._flown_nm,
                mark,
            )
        )


def nice_step(span: float, most: int) -> float:
    """Return a round step (1, 2 or 5 times a power of ten) that parts a span in at most `most`.

    Example:
        >>> nice_step(900.0, 5)
        200.0
    """
    raw = max(span, 1e-9) / max(most, 1)
    base = 10.0 ** math.floor(math.log10(raw))
    return next(base * factor for factor in (1.0, 2.0, 5.0, 10.0) if base * factor >= raw * 0.9999)


def thinned(points: Iterable[TrackPoint], most: int) -> list[TrackPoint]:
    """Return at most about `most` of the points, the marked ones and the last always kept."""
    kept = list(points)
    if len(kept) <= most:
        return kept
    step = math.ceil(len(kept) / most)
    last = len(kept) - 1
    return [p for i, p in enumerate(kept) if i % step == 0 or p.mark or i == last]
