"""Situations that several tests fly."""

from __future__ import annotations

from functools import cache

from trainer.app import Workspace
from trainer.flight import Environment, InitialCondition, NavigationSource, Wind
from trainer.session.session import Session
from trainer.session.situation import Selected, Start, StartModes

APPROACH = NavigationSource(
    "approach", "approach", "Esterwick approach", 0.0, 0.0, 0.0, 200.0, glidepath_deg=3.0
)
BEACON = NavigationSource("beacon", "beacon", "Quillmoor", 90.0, 0.0, 12.0)


@cache
def workspace() -> Workspace:
    """The program's own files, loaded once for all tests."""
    return Workspace()


def cruise(ship: str = "ship_amber", *, engagement: str = "autopilot") -> Session:
    """Level at 3,000 ft, heading and altitude hold, nothing armed."""
    modes = StartModes(engagement, "heading_select", "altitude_hold")
    start = Start(
        InitialCondition(altitude_ft=3000, heading_deg=90, airspeed_kt=105),
        Environment(),
        modes,
        Selected(altitude_ft=3000, heading_deg=90),
        (BEACON, APPROACH),
    )
    return workspace().begin(ship, start)


def off(ship: str = "ship_amber", *, altitude_ft: float = 3000.0) -> Session:
    """Flying by hand, guidance off, system ready."""
    start = Start(InitialCondition(altitude_ft=altitude_ft, heading_deg=90, airspeed_kt=105))
    return workspace().begin(ship, start)


def intercept(ship: str = "ship_amber", *, wind: Wind | None = None) -> Session:
    """West of the approach course, heading 045 to intercept it, below the glidepath."""
    start = Start(
        InitialCondition(
            altitude_ft=2000, heading_deg=45, airspeed_kt=100, north_nm=-11, east_nm=-1.6
        ),
        Environment(wind=wind or Wind()),
        StartModes("autopilot", "heading_select", "altitude_hold"),
        Selected(altitude_ft=2000, heading_deg=45, source="approach"),
        (APPROACH, BEACON),
    )
    return workspace().begin(ship, start)


def fly(session: Session, seconds: float) -> list:
    """Fly and return the records of what changed."""
    steps = round(seconds / 0.05)
    return [record for _ in range(steps) if (record := session.step()) is not None]
