"""Situations in which free practice can begin. No Qt here.

The places, beacons and figures are invented for teaching.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.flight.types import Environment, InitialCondition, NavigationSource, Wind
from trainer.session.example_scene import GROUND_FT, MILL_BEACON, RUNWAY_36
from trainer.session.situation import Selected, Start, StartModes

SOURCES = (
    MILL_BEACON,
    NavigationSource(
        "east_line", "satellite_course", "East line", 90.0, north_nm=6.0, east_nm=10.0
    ),
    RUNWAY_36,
)


@dataclass(frozen=True, slots=True)
class Situation:
    """A named start."""

    id: str
    title: str
    summary: str
    start: Start


def _start(
    initial: InitialCondition,
    altitude_ft: float,
    source: str,
    modes: StartModes | None = None,
    heading_deg: float | None = None,
) -> Start:
    return Start(
        initial,
        Environment(ground_elevation_ft=GROUND_FT),
        modes or StartModes(),
        Selected(
            altitude_ft=altitude_ft,
            heading_deg=initial.heading_deg if heading_deg is None else heading_deg,
            source=source,
        ),
        SOURCES,
    )


SITUATIONS = (
    Situation(
        "cruise",
        "Cruise",
        "Level at 4000 ft, northbound, nothing engaged. A good place to try keys.",
        _start(InitialCondition(4000.0, 350.0, 115.0, north_nm=-6.0), 4000.0, "mill_beacon"),
    ),
    Situation(
        "climb_out",
        "Climb-out",
        "Climbing through 1500 ft after take-off, 4000 ft selected.",
        _start(InitialCondition(1500.0, 360.0, 90.0, 600.0, north_nm=-8.0), 4000.0, "mill_beacon"),
    ),
    Situation(
        "intercept",
        "Intercept",
        "Heading 060 at 3000 ft; the course 020 to Mill beacon lies ahead.",
        _start(
            InitialCondition(3000.0, 60.0, 110.0, north_nm=-2.0, east_nm=-3.5),
            3000.0,
            "mill_beacon",
            StartModes("autopilot", "heading_select", "altitude_hold"),
        ),
    ),
    Situation(
        "approach",
        "Approach",
        "At 2500 ft, heading to meet the approach course of runway 36 eleven miles out.",
        _start(
            InitialCondition(2500.0, 30.0, 105.0, north_nm=2.0, east_nm=-1.2),
            2500.0,
            "runway_36",
            StartModes("autopilot", "heading_select", "altitude_hold"),
        ),
    ),
    Situation(
        "upset",
        "Upset",
        "Steep bank, nose low, nothing engaged: which key helps, and what does it do?",
        _start(
            InitialCondition(4500.0, 200.0, 125.0, bank_deg=40.0, pitch_deg=-8.0),
            4500.0,
            "mill_beacon",
        ),
    ),
    Situation(
        "ground",
        "On the ground",
        "Standing on the runway with power just switched on: watch the self-test.",
        _start(
            InitialCondition(GROUND_FT, 360.0, 0.0, on_ground=True, power_percent=0.0),
            3000.0,
            "mill_beacon",
            StartModes(system="testing"),
        ),
    ),
)


def with_wind(start: Start, wind: Wind) -> Start:
    """Return a start with another wind."""
    return replace(start, environment=replace(start.environment, wind=wind))
