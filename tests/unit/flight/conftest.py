"""Flights for the tests of this folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.flight import (
    AircraftSpec,
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    NavigationSource,
    load_aircraft,
)

FOLDER = Path(__file__).parents[3] / "statecharts" / "aircraft"
SOURCES = (
    NavigationSource("beacon", "beacon", "Beacon", 0.0, north_nm=25.0),
    NavigationSource("satellite", "satellite_course", "Satellite course", 0.0),
    NavigationSource(
        "approach",
        "approach",
        "Approach",
        0.0,
        north_nm=12.0,
        elevation_ft=500.0,
        glidepath_deg=3.0,
    ),
)
STEP_S = 0.05
MakeFlight = Callable[..., FlightModel]
Fly = Callable[..., dict[str, list[float]]]


@pytest.fixture
def fly() -> Fly:
    """Return a function that flies on and gives the readings asked for, one for each step."""

    def run(
        flight: FlightModel, seconds: float, **reads: Callable[[FlightModel], float]
    ) -> dict[str, list[float]]:
        seen: dict[str, list[float]] = {name: [] for name in reads}
        for _ in range(round(seconds / STEP_S)):
            flight.step(STEP_S)
            for name, read in reads.items():
                seen[name].append(read(flight))
        return seen

    return run


@pytest.fixture(scope="session")
def aircraft() -> dict[str, AircraftSpec]:
    return {
        name: load_aircraft(FOLDER / f"{name}.yaml") for name in ("light_single", "touring_single")
    }


@pytest.fixture
def make_flight(aircraft: dict[str, AircraftSpec]) -> MakeFlight:
    """Return a maker of flights; servos on, modes and source as asked."""

    def make(
        lateral: str = "none",
        vertical: str = "none",
        *,
        name: str = "light_single",
        source: str = "",
        environment: Environment | None = None,
        limits: GuidanceLimits | None = None,
        servos: bool = True,
        sources: tuple[NavigationSource, ...] = SOURCES,
        **initial: float | bool | None,
    ) -> FlightModel:
        flight = FlightModel(
            aircraft[name],
            InitialCondition(**initial),  # type: ignore[arg-type]  # names are its fields
            environment or Environment(),
            sources,
            limits or GuidanceLimits(),
        )
        flight.references.source_id = source
        flight.modes.lateral, flight.modes.vertical = lateral, vertical
        flight.modes.servos = servos
        return flight

    return make
