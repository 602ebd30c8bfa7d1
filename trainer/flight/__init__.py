"""Flight: standard atmosphere, point mass, guidance laws, navigation geometry, faults."""

from trainer.flight.aircraft import AircraftSpec, load_aircraft
from trainer.flight.model import FlightModel, UnknownModeError
from trainer.flight.navigation import CourseReading
from trainer.flight.types import (
    Environment,
    Faults,
    FlightSample,
    GuidanceLimits,
    GuidanceModes,
    Hill,
    InitialCondition,
    NavigationSource,
    PilotControls,
    References,
    Wind,
    WindLayer,
)

__all__ = [
    "AircraftSpec",
    "CourseReading",
    "Environment",
    "Faults",
    "FlightModel",
    "FlightSample",
    "GuidanceLimits",
    "GuidanceModes",
    "Hill",
    "InitialCondition",
    "NavigationSource",
    "PilotControls",
    "References",
    "UnknownModeError",
    "Wind",
    "WindLayer",
    "load_aircraft",
]
