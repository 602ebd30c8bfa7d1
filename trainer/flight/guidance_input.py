"""What a guidance law may look at: one value, so that every law has the same form."""

from __future__ import annotations

from trainer.flight.aircraft import AircraftConstants
from trainer.flight.limits import Limits
from trainer.flight.navigation import CourseReading
from trainer.flight.state import FlightState
from trainer.flight.types import References


class GuidanceInput:
    """The flight, the references, the limits and the navigation reading of one flight.

    The navigation reading is fresh only for modes that follow a course or a glidepath.
    """

    __slots__ = ("aircraft", "altimeter_offset_m", "limits", "nav", "references", "state")

    def __init__(
        self,
        state: FlightState,
        references: References,
        limits: Limits,
        aircraft: AircraftConstants,
        nav: CourseReading,
    ) -> None:
        self.state = state
        self.references = references
        self.limits = limits
        self.aircraft = aircraft
        self.nav = nav
        self.altimeter_offset_m = 0.0
