"""The situation in which a session begins, as a value, and the check that it can exist."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.errors import TrainerError
from trainer.flight.types import Environment, InitialCondition, NavigationSource

LONG_AGO_S = 3600.0
"""Power has been on this long in a situation that begins with a ready system [s]."""


class SituationError(TrainerError):
    """A start that the logic doesn't hold: it would change before anybody acts."""


@dataclass(frozen=True, slots=True)
class StartModes:
    """The settled modes that a situation begins in."""

    engagement: str = "no_guidance"
    lateral: str = "none"
    vertical: str = "none"
    armed: tuple[str, ...] = ()
    system: str = "ready"
    """ready, or testing: power has just come on."""


@dataclass(frozen=True, slots=True)
class Selected:
    """What the pilot has selected at the start; None: what the aircraft is doing."""

    altitude_ft: float | None = None
    heading_deg: float | None = None
    course_deg: float | None = None
    source: str = ""
    vertical_speed_fpm: float | None = None
    airspeed_kt: float | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """The situation in which a lesson or a practice begins."""

    initial: InitialCondition = InitialCondition()
    environment: Environment = Environment()
    modes: StartModes = StartModes()
    selected: Selected = Selected()
    sources: tuple[NavigationSource, ...] = ()
    faults: tuple[str, ...] = ()
    """Malfunctions in force from the start, by name."""
