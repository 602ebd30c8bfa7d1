"""Same inputs, same trace, bit for bit: again, forked, in another process, in another Python."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import ruamel.yaml

from trainer.flight import Environment, Wind

ROOT = Path(__file__).parents[3]
PROGRAM = """
import sys
sys.path.insert(0, {root!r})
sys.path.insert(0, {site!r})
import hashlib, struct
from trainer.flight.aircraft import AircraftSpec
from trainer.flight.model import FlightModel
from trainer.flight.types import *
spec = AircraftSpec(**{spec!r})
flight = FlightModel(spec, InitialCondition(), Environment(wind=Wind(250.0, 20.0), turbulence=3.0),
    (NavigationSource("s", "satellite_course", "S", 40.0),), GuidanceLimits())
flight.references.source_id = "s"
flight.modes.servos = True
flight.modes.lateral, flight.modes.vertical = "course_track", "vertical_speed"
flight.references.vertical_speed_fpm = 300.0
digest = hashlib.sha256()
for _ in range(2400):
    flight.step(0.05)
    digest.update(struct.pack("<6d", flight.altitude_ft, flight.airspeed_kt, flight.heading_deg,
        flight.bank_deg, flight.pitch_deg, flight.course_deviation))
print(digest.hexdigest())
"""


def trace(flight, fly, seconds=30.0):
    seen = fly(
        flight,
        seconds,
        ft=lambda f: f.altitude_ft,
        kt=lambda f: f.airspeed_kt,
        bank=lambda f: f.bank_deg,
        deviation=lambda f: f.course_deviation,
    )
    return hashlib.sha256(repr(seen).encode()).hexdigest()


def rough_flight(make_flight):
    flight = make_flight(
        "course_track",
        "vertical_speed",
        source="satellite",
        east_nm=0.7,
        environment=Environment(wind=Wind(250.0, 20.0), turbulence=3.0),
    )
    flight.references.vertical_speed_fpm = 300.0
    return flight


def test_again(make_flight, fly):
    assert len({trace(rough_flight(make_flight), fly) for _ in range(20)}) == 1


@pytest.mark.long
def test_a_thousand_times(make_flight, fly):
    assert len({trace(rough_flight(make_flight), fly) for _ in range(1000)}) == 1


def test_a_fork_flies_the_same_and_leaves_the_original(make_flight, fly):
    flight = rough_flight(make_flight)
    fly(flight, 12.3)
    before = flight.sample()
    fork = flight.copy()
    ahead = trace(fork, fly)
    assert flight.sample() == before
    fork.references.selected_heading_deg = 123.0
    fork.modes.lateral = "level"
    fork.faults.servo = True
    fork.controls.power_percent = 3.0
    fork.set_environment(Environment())
    assert flight.sample() == before
    assert flight.references.selected_heading_deg != 123.0
    assert flight.modes.lateral == "course_track"
    assert not flight.faults.servo
    assert flight.controls.power_percent != 3.0
    assert flight.environment.turbulence == 3.0
    assert trace(flight, fly) == ahead


def test_a_fork_in_mid_capture_goes_on_alike(make_flight, fly):
    """Reference path, pilot's memory and gusts are copied too."""
    for servos in (True, False):
        flight = rough_flight(make_flight)
        flight.modes.servos = servos
        fly(flight, 4.0)
        flight.references.selected_altitude_ft = flight.altitude_ft + 30.0
        flight.sync("captured_altitude")
        flight.modes.vertical = "altitude_capture"
        fly(flight, 1.0)
        assert trace(flight.copy(), fly, 10.0) == trace(flight, fly, 10.0)


def test_reading_does_not_change_the_flight(make_flight, fly):
    quiet, watched = rough_flight(make_flight), rough_flight(make_flight)
    fly(quiet, 20.0)
    fly(watched, 20.0, sample=lambda f: f.sample().t_s, margin=lambda f: f.course_intercept_margin)
    assert quiet.sample() == watched.sample()


def run_program(python: str, spec: object) -> str:
    site = str(Path(ruamel.yaml.__file__).parents[2])
    fields = {name: getattr(spec, name) for name in type(spec).__dataclass_fields__}
    code = PROGRAM.format(root=str(ROOT), site=site, spec=fields)
    done = subprocess.run(
        [python, "-c", code], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_two_processes_agree(aircraft):
    spec = aircraft["light_single"]
    assert run_program(sys.executable, spec) == run_program(sys.executable, spec)


@pytest.mark.long
@pytest.mark.parametrize("version", ["3.12", "3.13", "3.14"])
def test_other_pythons_agree(aircraft, version):
    """The same bits where that Python is on this machine."""
    installed = Path.home().glob(f".pyenv/versions/{version}.*/bin/python")
    python = next((str(path) for path in sorted(installed)), shutil.which(f"python{version}"))
    spec = aircraft["light_single"]
    works = python and subprocess.run([python, "-c", "pass"], capture_output=True, check=False)
    if not works or works.returncode != 0:
        pytest.skip(f"no Python {version} on this machine")
    assert run_program(str(python), spec) == run_program(sys.executable, spec)


def test_time_is_counted_not_summed(make_flight, fly):
    """An hour of steps ends on the hour exactly, and a change of step keeps the time."""
    flight = make_flight("roll_hold", "altitude_hold")
    fly(flight, 600.0)
    assert flight.t_s == 600.0
    flight.step(0.02)
    assert flight.t_s == pytest.approx(600.02, abs=1e-12)
