"""Flights in which two ships can be seen to differ: the scenes of both, and those between limits.

Where a limit differs there is a height or a speed that lies on one side of it in the one ship and
on the other side in the other; each such limit gets a scene of its own.
"""

from __future__ import annotations

from dataclasses import replace

from trainer.assessment.items.scene import APPROACH, BEACON, GROUND_FT, SOURCES, Scene, scenes
from trainer.charts.installation import Installation
from trainer.flight.types import Environment, InitialCondition
from trainer.session.situation import Selected, Start

_FT_TO_THE_MILE = 318.4
"""Height lost on a path of 3 degrees in a nautical mile [ft]."""


def scenes_for_both(first: Installation, second: Installation) -> tuple[Scene, ...]:
    """Return the scenes of both ships, each start once, and those between their limits."""
    found: dict[Start, Scene] = {}
    for scene in (*scenes(first), *scenes(second), *between_limits(first, second)):
        found.setdefault(scene.start, scene)
    return tuple(found.values())


def between_limits(first: Installation, second: Installation) -> tuple[Scene, ...]:
    """Return a scene on either side of each limit that differs, and one near the overspeed."""

    def middle(name: str) -> float | None:
        mine, theirs = first.limit(name).value, second.limit(name).value
        return None if mine == theirs else (mine + theirs) / 2.0

    made = []
    if (height_ft := middle("minimum_engagement_height_ft")) is not None:
        made.append(_climb_through(height_ft))
    if middle("minimum_use_height_ft") is not None:
        highest_ft = max(ship.limit("minimum_use_height_ft").value for ship in (first, second))
        made.append(_down_the_path(highest_ft))
    for name in ("minimum_engagement_airspeed_kt", "maximum_engagement_airspeed_kt"):
        if (speed_kt := middle(name)) is not None:
            made.append(_level_at(speed_kt))
    if middle("underspeed_kt") is not None:
        highest_kt = max(ship.limit("underspeed_kt").value for ship in (first, second))
        slowing = (_slowing, _level_slowing, _slowing_on_course, _level_slowing_on_course)
        made.extend(make(highest_kt) for make in slowing)
    if middle("overspeed_kt") is not None:
        lowest_kt = min(ship.limit("overspeed_kt").value for ship in (first, second))
        made.append(_gaining(lowest_kt))
    made.append(_fast_below(min(ship.limit("overspeed_kt").value for ship in (first, second))))
    return tuple(made)


def _fast_below(lowest_kt: float) -> Scene:
    words = f"Level at 3,000 ft and fast, {lowest_kt + 3.0:.0f} kt; 5,000 ft is selected."
    start = _start(_at(3000.0, lowest_kt + 3.0), 5000.0)
    return Scene("fast_higher_selected", words, start, is_calm=False)


def _start(initial: InitialCondition, altitude_ft: float, source: str = "") -> Start:
    selected = Selected(
        altitude_ft=altitude_ft, heading_deg=initial.heading_deg, source=source,
        vertical_speed_fpm=initial.vertical_speed_fpm,
    )  # fmt: skip
    environment = Environment(ground_elevation_ft=GROUND_FT)
    return Start(initial, environment, selected=selected, sources=SOURCES)


def _at(
    altitude_ft: float, airspeed_kt: float, vertical_speed_fpm: float = 0.0
) -> InitialCondition:
    return InitialCondition(
        altitude_ft, 350.0, airspeed_kt, vertical_speed_fpm, north_nm=-6.0, east_nm=3.0
    )


def _climb_through(height_ft: float) -> Scene:
    start = _start(_at(GROUND_FT + height_ft - 5.0, 90.0, 200.0), 3000.0)
    words = f"Climbing through {height_ft:.0f} ft above the ground; 3,000 ft is selected."
    return Scene("between_engagement_heights", words, start, is_calm=False)


def _down_the_path(highest_ft: float) -> Scene:
    height_ft = highest_ft + 40.0
    initial = InitialCondition(
        GROUND_FT + height_ft, 360.0, 95.0, -480.0, north_nm=14.0 - height_ft / _FT_TO_THE_MILE
    )
    words = (
        f"On the approach course and glidepath of Linnetfield, {height_ft:.0f} ft above the "
        "ground; the altitude for a missed approach is selected."
    )
    start = _start(initial, 4000.0, APPROACH.id)
    return Scene("down_to_minimum_use_heights", words, start, 30.0, is_calm=False)


def _level_at(airspeed_kt: float) -> Scene:
    words = f"Level at 4,000 ft, {airspeed_kt:.0f} kt; 5,000 ft is selected."
    start = _start(_at(4000.0, airspeed_kt), 5000.0)
    return Scene(f"between_speeds_{airspeed_kt:.0f}", words, start, is_calm=False)


def _slowing(highest_kt: float) -> Scene:
    words = f"Climbing steeply, {highest_kt + 2.0:.0f} kt and getting slower; 6,000 ft is selected."
    start = _start(_at(3200.0, highest_kt + 2.0, 1200.0), 6000.0)
    return Scene("slowing_between_limits", words, start, 60.0, is_calm=False)


def _on_course(initial: InitialCondition) -> InitialCondition:
    """Return the same flight on the course to the beacon."""
    return replace(initial, heading_deg=BEACON.course_deg, east_nm=BEACON.east_nm)


def _slowing_on_course(highest_kt: float) -> Scene:
    words = (
        f"On the course to {BEACON.label}, climbing steeply, {highest_kt + 2.0:.0f} kt and getting "
        "slower; 6,000 ft is selected."
    )
    start = _start(_on_course(_at(3200.0, highest_kt + 2.0, 1200.0)), 6000.0, BEACON.id)
    return Scene("slowing_on_course", words, start, 60.0, is_calm=False)


def _level_slowing(highest_kt: float) -> Scene:
    words = f"Level at 4,000 ft, {highest_kt + 2.0:.0f} kt, with too little power to keep it."
    initial = replace(_at(4000.0, highest_kt + 2.0), power_percent=20.0)
    return Scene("slowing_level", words, _start(initial, 4000.0), 60.0, is_calm=False)


def _level_slowing_on_course(highest_kt: float) -> Scene:
    words = (
        f"On the course to {BEACON.label}, level at 4,000 ft, {highest_kt + 2.0:.0f} kt, with too "
        "little power to keep it."
    )
    initial = replace(_on_course(_at(4000.0, highest_kt + 2.0)), power_percent=20.0)
    start = _start(initial, 4000.0, BEACON.id)
    return Scene("slowing_level_on_course", words, start, 60.0, is_calm=False)


def _gaining(lowest_kt: float) -> Scene:
    words = f"Descending steeply, {lowest_kt - 3.0:.0f} kt and gaining; 1,500 ft is selected."
    start = _start(_at(5500.0, lowest_kt - 3.0, -1000.0), 1500.0)
    return Scene("gaining_between_limits", words, start, 60.0, is_calm=False)
