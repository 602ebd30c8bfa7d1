"""Small situations in which two answers to a question about an aircraft can part ways.

Flights near the limits of an installation: level, climbing, levelling off, on and about an
approach, low, slow and fast. Only the geometry is stated here; what happens is always flown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import radians, tan

from trainer.charts.installation import Installation
from trainer.charts.spec import ChartSpec
from trainer.flight.types import Environment, InitialCondition, NavigationSource
from trainer.session.situation import Selected, Start, StartModes
from trainer.units import FT_PER_NM

GROUND_FT = 500.0
_THRESHOLD_NORTH_NM = 14.0
_GLIDEPATH_DEG = 3.0
_PATH_FT_PER_NM = tan(radians(_GLIDEPATH_DEG)) * FT_PER_NM
MILL_BEACON = NavigationSource(
    "mill_beacon", "beacon", "Mill beacon", 20.0, north_nm=8.0, east_nm=3.0
)
RUNWAY_36 = NavigationSource(
    "runway_36", "approach", "Runway 36 approach", 360.0, north_nm=_THRESHOLD_NORTH_NM,
    elevation_ft=GROUND_FT, glidepath_deg=_GLIDEPATH_DEG,
)  # fmt: skip
SOURCES = (MILL_BEACON, RUNWAY_36)


@dataclass(frozen=True, slots=True)
class ExampleScene:
    """A flight without its modes, and the words for it."""

    id: str
    words: str
    start: Start


def example_scenes(installation: Installation) -> tuple[ExampleScene, ...]:
    """Return the situations for an installation, the plainest first."""
    height_ft = max(_limit(installation, "minimum_engagement_height_ft", 800.0), 600.0) + 1500.0
    low = _limit(installation, "minimum_use_height_ft", 200.0)
    slow_kt = _limit(installation, "underspeed_kt", 70.0)
    fast_kt = _limit(installation, "overspeed_kt", 150.0)
    speed_kt = slow_kt + 0.5 * (fast_kt - slow_kt)
    down_fpm = -speed_kt * _PATH_FT_PER_NM / 60.0
    cruise = _cruise(height_ft, speed_kt)
    return (
        *cruise,
        _low(installation, speed_kt),
        _speed("slowing down with the power off", height_ft, slow_kt + 5.0, 0.0, 0.0),
        _speed("speeding up in a descent at full power", height_ft, fast_kt - 4.0, -1200.0, 100.0),
        _approach(
            "toward the approach course, below the glidepath", 9.0, -700.0,
            speed_kt=speed_kt, climb_fpm=0.0, east_nm=-1.2, heading_deg=30.0,
        ),
        _approach(
            "on the approach course, below the glidepath", 7.0, -350.0,
            speed_kt=speed_kt, climb_fpm=0.0,
        ),
        _approach(
            "on the approach course and the glidepath", 5.0, 0.0,
            speed_kt=speed_kt, climb_fpm=down_fpm,
        ),
        _approach(
            "on the approach course, above the glidepath and going down to it", 6.0, 260.0,
            speed_kt=speed_kt, climb_fpm=2.2 * down_fpm,
        ),
        _approach(
            "on the approach, a little above the minimum use height",
            (low + 60.0) / _PATH_FT_PER_NM, 0.0, speed_kt=speed_kt, climb_fpm=down_fpm,
        ),
    )  # fmt: skip


def modes_in_order(chart: ChartSpec) -> Iterator[StartModes]:
    """Yield the modes in which a situation can be tried, the plainest first; not all of them hold.

    The autopilot engaged with nothing armed comes first, then guidance off, then one armed mode,
    then the approach with its glidepath, then the director alone.
    """
    lateral = [name for name in chart.regions["lateral"].states if name != "none"]
    vertical = [name for name in chart.regions["vertical"].states if name != "none"]
    # Heading and altitude hold is what everybody knows; it makes the plainest example.
    lateral.sort(key=lambda name: name != "heading_select")
    vertical.sort(key=lambda name: name not in ("altitude_hold", "vertical_speed"))
    arms = [region.arms for region in chart.regions.values() if region.kind == "armed"]
    groups: list[tuple[str, ...]] = [(), *((one,) for one in arms)]
    if {"approach_course", "glidepath"} <= set(arms):
        groups.append(("approach_course", "glidepath"))
    yield from (StartModes("autopilot", a, b) for a, b in product(lateral, vertical))
    yield StartModes()
    for armed, a, b in product(groups[1:], lateral, vertical):
        yield StartModes("autopilot", a, b, armed)
    for armed, a, b in product(groups, lateral, vertical):
        yield StartModes("director", a, b, armed)


def with_modes(scene: ExampleScene, modes: StartModes) -> Start:
    """Return the start of a scene in some modes."""
    return replace(scene.start, modes=modes)


def _limit(installation: Installation, name: str, default: float) -> float:
    return installation.limits[name].value if name in installation.limits else default


def _start(initial: InitialCondition, altitude_ft: float, source: str, heading_deg: float) -> Start:
    return Start(
        initial,
        Environment(ground_elevation_ft=GROUND_FT),
        StartModes(),
        Selected(altitude_ft=altitude_ft, heading_deg=heading_deg, source=source),
        SOURCES,
    )


def _cruise(height_ft: float, speed_kt: float) -> tuple[ExampleScene, ...]:
    altitude_ft = round((GROUND_FT + height_ft) / 100.0) * 100.0
    found = []
    for words, heading_deg, climb_fpm, ahead_ft in (
        ("in level flight, a higher altitude selected", 60.0, 0.0, 1000.0),
        ("in level flight at the selected altitude", 60.0, 0.0, 0.0),
        ("in a climb to the selected altitude", 60.0, 600.0, 400.0),
        ("in a climb just below the selected altitude", 60.0, 600.0, 45.0),
    ):
        initial = InitialCondition(
            altitude_ft, heading_deg, speed_kt, climb_fpm, north_nm=-2.0, east_nm=-3.5
        )
        start = _start(initial, altitude_ft + ahead_ft, "mill_beacon", 180.0)
        found.append(ExampleScene(words, words, start))
    return tuple(found)


def _approach(
    words: str,
    distance_nm: float,
    above_path_ft: float,
    *,
    speed_kt: float,
    climb_fpm: float,
    east_nm: float = 0.0,
    heading_deg: float = 360.0,
) -> ExampleScene:
    altitude_ft = GROUND_FT + distance_nm * _PATH_FT_PER_NM + above_path_ft
    initial = InitialCondition(
        altitude_ft, heading_deg, speed_kt, climb_fpm,
        north_nm=_THRESHOLD_NORTH_NM - distance_nm, east_nm=east_nm,
    )  # fmt: skip
    start = _start(initial, altitude_ft, "runway_36", heading_deg)
    return ExampleScene(words, words, start)


def _low(installation: Installation, speed_kt: float) -> ExampleScene:
    words = "in level flight, lower than the minimum engagement height"
    least_ft = _limit(installation, "minimum_engagement_height_ft", 800.0)
    altitude_ft = GROUND_FT + max(least_ft - 100.0, 50.0)
    initial = InitialCondition(altitude_ft, 360.0, speed_kt, north_nm=-8.0)
    return ExampleScene(words, words, _start(initial, altitude_ft, "mill_beacon", 360.0))


def _speed(
    words: str, height_ft: float, speed_kt: float, climb_fpm: float, power_percent: float
) -> ExampleScene:
    altitude_ft = GROUND_FT + height_ft + 2000.0
    initial = InitialCondition(
        altitude_ft, 60.0, speed_kt, climb_fpm, north_nm=-2.0, east_nm=-3.5,
        power_percent=power_percent,
    )  # fmt: skip
    # Level flight holds its altitude; a descent is on its way to one far below.
    selected_ft = altitude_ft if climb_fpm == 0.0 else altitude_ft - 3000.0
    return ExampleScene(words, words, _start(initial, selected_ft, "mill_beacon", 60.0))
