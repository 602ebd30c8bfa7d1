"""What a step of flight, a fork and a look ahead cost; run with `--benchmark-only`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from trainer.flight import (
    Environment,
    FlightModel,
    GuidanceLimits,
    InitialCondition,
    NavigationSource,
    load_aircraft,
)

AIRCRAFT = Path(__file__).parents[2] / "statecharts" / "aircraft" / "light_single.yaml"
STEP_S = 0.05
SOURCE = NavigationSource("a", "approach", "A", 0.0, north_nm=12.0, glidepath_deg=3.0)
LAYERS = {
    "motion only": ("none", "none", 0.0, True),
    "heading and altitude": ("heading_select", "altitude_hold", 0.0, True),
    "course and glidepath": ("approach_course", "glidepath", 0.0, True),
    "with turbulence": ("heading_select", "altitude_hold", 3.0, True),
    "pilot follows the cue": ("heading_select", "altitude_hold", 0.0, False),
}


def make(lateral: str, vertical: str, turbulence: float, servos: bool) -> FlightModel:
    flight = FlightModel(
        load_aircraft(AIRCRAFT),
        InitialCondition(altitude_ft=2500.0),
        Environment(turbulence=turbulence),
        (SOURCE,),
        GuidanceLimits(),
    )
    flight.references.source_id = "a"
    flight.modes.lateral, flight.modes.vertical = lateral, vertical
    flight.modes.servos = servos
    return flight


def run(flight: FlightModel, steps: int) -> FlightModel:
    """Step a copy, so that every round begins at the same place."""
    twin = flight.copy()
    step = twin.step
    for _ in range(steps):
        step(STEP_S)
    return twin


@pytest.mark.parametrize("layer", LAYERS)
def test_hundred_steps(benchmark: Any, layer: str) -> None:
    """Five seconds of flight; a hundredth of the mean is the cost of a step."""
    flight = make(*LAYERS[layer])
    twin = benchmark(run, flight, 100)
    assert twin.t_s == pytest.approx(5.0)


@pytest.mark.parametrize("seconds", [60, 600])
def test_look_ahead(benchmark: Any, seconds: int) -> None:
    """Fork and fly on: 60 s within 25 ms, and ten times that for ten times the flight."""
    flight = make("heading_select", "altitude_hold", 0.0, True)
    twin = benchmark(run, flight, round(seconds / STEP_S))
    assert twin.t_s == pytest.approx(float(seconds))


def test_fork(benchmark: Any) -> None:
    flight = make("approach_course", "altitude_hold", 0.0, True)
    assert benchmark(flight.copy).sample() == flight.sample()


def test_sample(benchmark: Any) -> None:
    flight = make("approach_course", "altitude_hold", 0.0, True)
    assert benchmark(flight.sample).course_valid


def test_readings_of_the_mode_logic(benchmark: Any) -> None:
    """Every reading that a chart's signals may use, after a step."""
    flight = make("approach_course", "altitude_hold", 0.0, True)

    def read() -> float:
        flight._nav_fresh = False
        return (
            flight.height_ft
            + flight.airspeed_kt
            + flight.vertical_speed_fpm
            + flight.bank_deg
            + flight.pitch_deg
            + flight.course_valid
            + flight.course_deviation
            + flight.course_intercept_margin
            + flight.glidepath_valid
            + flight.glidepath_deviation
            + flight.altitude_capture_margin_ft
            + flight.altitude_error_ft
            + flight.target_altitude_error_ft
        )

    assert benchmark(read) != 0.0
