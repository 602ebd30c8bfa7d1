"""Hand flying, the attentive pilot, and the malfunctions an instructor can inject."""

from __future__ import annotations

import math

import pytest

from trainer.flight import Environment, GuidanceLimits, Wind

STEP_S = 0.05
RUNAWAYS = {
    "roll_left": ("bank_deg", -1.0),
    "roll_right": ("bank_deg", 1.0),
    "slow_roll": ("bank_deg", 1.0),
    "pitch_up": ("pitch_deg", 1.0),
    "pitch_down": ("pitch_deg", -1.0),
}


@pytest.mark.parametrize(
    ("lateral", "vertical"),
    [
        ("heading_select", "altitude_hold"),
        ("course_track", "vertical_speed"),
        ("go_around", "go_around"),
        ("level", "level"),
    ],
)
def test_attentive_pilot_follows_the_cue_with_a_lag(make_flight, fly, lateral, vertical):
    """The same end as with servos, reached later."""
    flights = {}
    for servos in (True, False):
        flight = make_flight(lateral, vertical, servos=servos, source="satellite", bank_deg=15.0)
        flight.references.selected_heading_deg = 60.0
        flight.references.vertical_speed_fpm = 300.0
        fly(flight, 90.0)
        flights[servos] = flight
    pilot, servo = flights[False], flights[True]
    assert pilot.heading_deg == pytest.approx(servo.heading_deg, abs=1.0)
    assert pilot.altitude_ft == pytest.approx(servo.altitude_ft, abs=20.0)
    assert pilot.vertical_speed_fpm == pytest.approx(servo.vertical_speed_fpm, abs=50.0)


def test_the_pilots_hands_are_later_than_servos(make_flight, fly):
    """A small step of the cue, inside all rate limits: half of it a third of a second later."""
    half_s = {}
    for servos in (True, False):
        flight = make_flight("roll_hold", "altitude_hold", servos=servos)
        fly(flight, 2.0)
        flight.references.bank_deg = 2.0
        seen = fly(flight, 6.0, bank=lambda f: f.bank_deg)
        half_s[servos] = next(i for i, bank in enumerate(seen["bank"]) if bank > 1.0) * STEP_S
        assert seen["bank"][-1] == pytest.approx(2.0, abs=0.05)
    assert 0.25 < half_s[False] - half_s[True] < 0.8


def test_without_a_cue_the_pilot_keeps_the_attitude(make_flight, fly):
    flight = make_flight(servos=False, bank_deg=15.0, vertical_speed_fpm=300.0)
    pitch_deg = flight.pitch_deg
    fly(flight, 15.0)
    assert flight.bank_deg == pytest.approx(15.0, abs=0.5)
    assert flight.pitch_deg == pytest.approx(pitch_deg, abs=0.2)


def test_flying_straight_the_pilot_keeps_the_trimmed_climb(make_flight, fly):
    flight = make_flight(servos=False, airspeed_kt=85.0, vertical_speed_fpm=400.0)
    heading_deg = flight.heading_deg
    fly(flight, 30.0)
    assert flight.vertical_speed_fpm == pytest.approx(400.0, abs=30.0)
    assert flight.heading_deg == pytest.approx(heading_deg, abs=0.1)


def test_without_a_cue_the_pilot_recovers_from_an_unusual_attitude(make_flight, fly):
    flight = make_flight(
        servos=False, altitude_ft=6000.0, bank_deg=55.0, pitch_deg=-15.0, airspeed_kt=120.0
    )
    seen = fly(flight, 25.0, load=lambda f: f.load_factor_g)
    assert abs(flight.bank_deg) < 1.0
    assert abs(flight.pitch_deg) < 5.0
    assert max(seen["load"]) < 2.3


def test_the_cue_going_out_leaves_the_attitude(make_flight, fly):
    """Director off in a turn: the pilot keeps the bank that is there."""
    flight = make_flight("heading_select", "altitude_hold", servos=False)
    flight.references.selected_heading_deg = 170.0
    fly(flight, 15.0)
    bank_deg = flight.bank_deg
    assert bank_deg > 15.0
    flight.modes.lateral = flight.modes.vertical = "none"
    fly(flight, 5.0)
    assert flight.bank_deg == pytest.approx(bank_deg, abs=1.0)


@pytest.mark.parametrize(("stick_bank", "stick_pitch"), [(0.5, 0.0), (-1.0, 0.2), (0.0, -0.3)])
def test_hands_on_the_stick(make_flight, fly, stick_bank, stick_pitch):
    """Bank and pitch rates in proportion to the stick; let go, the attitude stays."""
    flight = make_flight(servos=False)
    flight.controls.pilot = "hands"
    pitch_deg = flight.pitch_deg
    flight.controls.stick_bank, flight.controls.stick_pitch = stick_bank, stick_pitch
    fly(flight, 1.0)
    spec = flight.spec
    share = 1.0 - spec.roll_lag_s * (1.0 - math.exp(-1.0 / spec.roll_lag_s))
    expected_deg = stick_bank * spec.hand_roll_rate_limit_dps * share
    assert flight.bank_deg == pytest.approx(expected_deg, abs=0.3)
    expected_deg = stick_pitch * spec.hand_pitch_rate_limit_dps * share
    assert flight.pitch_deg - pitch_deg == pytest.approx(expected_deg, abs=0.2)
    flight.controls.stick_bank = flight.controls.stick_pitch = 0.0
    fly(flight, 2.0)
    bank_deg = flight.bank_deg
    fly(flight, 2.0)
    assert flight.bank_deg == pytest.approx(bank_deg, abs=0.05)


def test_the_stick_cannot_break_the_aircraft(make_flight, fly):
    flight = make_flight(servos=False, airspeed_kt=150.0, altitude_ft=8000.0, power_percent=80.0)
    flight.controls.pilot = "hands"
    flight.controls.stick_pitch = 1.0
    seen = fly(flight, 4.0, load=lambda f: f.load_factor_g)
    assert max(seen["load"]) < flight.spec.maximum_load_factor_g + 0.6


def test_pulling_slowly_stalls_and_the_nose_drops(make_flight, fly):
    flight = make_flight(servos=False, airspeed_kt=70.0, power_percent=0.0, altitude_ft=5000.0)
    flight.controls.pilot = "hands"
    flight.controls.stick_pitch = 0.25
    seen = fly(
        flight,
        20.0,
        stalled=lambda f: float(f.sample().stalled),
        pitch=lambda f: f.pitch_deg,
        kt=lambda f: f.airspeed_kt,
    )
    assert max(seen["stalled"]) == 1.0
    first = seen["stalled"].index(1.0)
    assert 40.0 < seen["kt"][first] < 58.0
    top = max(seen["pitch"])
    assert min(seen["pitch"][seen["pitch"].index(top) :]) < top - 1.0


@pytest.mark.parametrize("runaway", RUNAWAYS)
def test_runaway_moves_its_axis_while_engaged(make_flight, fly, runaway):
    flight = make_flight("heading_select", "altitude_hold")
    read, sign = RUNAWAYS[runaway]
    before = getattr(flight, read)
    flight.faults.servo_runaway = runaway
    fly(flight, 3.0)
    assert sign * (getattr(flight, read) - before) > 1.5


def test_slow_roll_may_go_unnoticed(make_flight, fly):
    """[REG-26] a roll too slow to feel; the altitude is held and the heading drifts away."""
    flight = make_flight("heading_select", "altitude_hold", airspeed_kt=105.0)
    flight.faults.servo_runaway = "slow_roll"
    seen = fly(flight, 30.0, bank=lambda f: f.bank_deg, load=lambda f: f.load_factor_g)
    rates = [abs(b - a) / STEP_S for a, b in zip(seen["bank"], seen["bank"][1:], strict=False)]
    assert max(rates) < 1.0
    assert flight.bank_deg > 15.0
    assert abs(flight.altitude_ft - 3000.0) < 15.0
    assert 20.0 < flight.heading_deg < 180.0


@pytest.mark.parametrize(
    ("runaway", "read", "goal"),
    [
        ("slow_roll", "vertical_speed_fpm", -400.0),
        ("pitch_up", "heading_deg", 20.0),
    ],
)
def test_the_other_servo_goes_on_working(make_flight, fly, runaway, read, goal):
    flight = make_flight("heading_select", "vertical_speed")
    flight.faults.servo_runaway = runaway
    flight.references.vertical_speed_fpm = -400.0
    flight.references.selected_heading_deg = 20.0
    seen = fly(flight, 12.0, value=lambda f: getattr(f, read))
    assert min(abs(value - goal) for value in seen["value"]) < 4.0


@pytest.mark.parametrize(
    ("lateral", "source", "wait_s"),
    [
        ("heading_select", "", 3.0),
        ("approach_course", "approach", 1.0),
    ],
)
def test_pilot_recovers_after_the_recognition_time(make_flight, fly, lateral, source, wait_s):
    """[REG-25], from memory: 3 s in cruise, 1 s on approach, counted from the fault.

    Disconnecting earlier does not make the hands faster.
    """
    flight = make_flight(lateral, "altitude_hold", source=source, altitude_ft=3000.0)
    fly(flight, 5.0)
    flight.faults.servo_runaway = "roll_right"
    fly(flight, 0.5)
    flight.modes.servos = False
    seen = fly(flight, 12.0, bank=lambda f: f.bank_deg)
    turning_point = seen["bank"].index(max(seen["bank"])) * STEP_S + 0.5
    assert wait_s - 0.2 <= turning_point <= wait_s + 1.2
    assert abs(seen["bank"][-1]) < 1.0


@pytest.mark.parametrize("runaway", ["roll_right", "pitch_down", "pitch_up"])
def test_recovery_after_a_runaway_keeps_the_aircraft_whole(make_flight, fly, runaway):
    """[REG-05] fault, recognition, disconnect: loads and altitude loss bounded."""
    flight = make_flight("heading_select", "altitude_hold", altitude_ft=4000.0)
    flight.faults.servo_runaway = runaway
    first = fly(flight, 3.0, load=lambda f: f.load_factor_g, ft=lambda f: f.altitude_ft)
    flight.modes.servos = False
    seen = fly(flight, 20.0, load=lambda f: f.load_factor_g, ft=lambda f: f.altitude_ft)
    loads = first["load"] + seen["load"]
    assert min(loads) > 0.0
    assert max(loads) < 2.5
    assert 4000.0 - min(first["ft"] + seen["ft"]) < 300.0
    assert abs(flight.bank_deg) < 2.0


def test_servo_loss_freezes_the_controls(make_flight, fly):
    flight = make_flight("heading_select", "altitude_hold")
    flight.references.selected_heading_deg = 90.0
    fly(flight, 6.0)
    flight.faults.servo = True
    assert not flight.servo_ok
    fly(flight, 2.0)
    bank_deg = flight.bank_deg
    fly(flight, 5.0)
    assert flight.bank_deg == pytest.approx(bank_deg, abs=0.1)
    flight.faults.servo = False
    fly(flight, 60.0)
    assert flight.heading_deg == pytest.approx(90.0, abs=1.0)


def test_attitude_loss_freezes_the_cue(make_flight, fly):
    flight = make_flight("heading_select", "altitude_hold")
    fly(flight, 2.0)
    flight.faults.attitude = True
    flight.references.selected_heading_deg = 120.0
    fly(flight, 3.0)
    assert not flight.attitude_valid
    assert abs(flight.bank_deg) < 0.5


def test_electrical_loss_takes_everything(make_flight, fly):
    flight = make_flight("course_track", "altitude_hold", source="satellite")
    assert flight.course_valid
    flight.faults.electrical = True
    readings = (
        flight.electrical_ok,
        flight.servo_ok,
        flight.attitude_valid,
        flight.course_valid,
        flight.glidepath_valid,
    )
    assert not any(readings)
    fly(flight, 2.0)
    flight.faults.electrical = False
    assert flight.course_valid


@pytest.mark.parametrize(
    ("fault", "course", "glidepath"),
    [
        ("navigation", False, False),
        ("glidepath", True, False),
    ],
)
def test_signal_faults_act_at_once(make_flight, fault, course, glidepath):
    flight = make_flight(source="approach", altitude_ft=2000.0, north_nm=6.0)
    assert flight.course_valid
    assert flight.glidepath_valid
    setattr(flight.faults, fault, True)
    assert flight.course_valid is course
    assert flight.glidepath_valid is glidepath
    assert flight.glidepath_deviation == 0.0


@pytest.mark.parametrize("servos", [True, False])
def test_engaging_is_a_minor_transient(make_flight, fly, servos):
    """[REG-02], [REG-03] no number is given; a quarter g and the roll-rate limit are our choice."""
    flight = make_flight(
        "roll_hold",
        "altitude_hold",
        servos=not servos,
        bank_deg=12.0,
        environment=Environment(wind=Wind(200.0, 15.0)),
    )
    flight.sync("bank")
    fly(flight, 4.0)
    flight.modes.servos = servos
    seen = fly(flight, 5.0, load=lambda f: f.load_factor_g, bank=lambda f: f.bank_deg)
    assert max(abs(load - 1.022) for load in seen["load"]) < 0.25
    assert all(abs(bank - 12.0) < 2.0 for bank in seen["bank"])


def test_limits_are_not_exceeded_by_a_bad_reference(make_flight, fly):
    flight = make_flight("roll_hold", "vertical_speed", limits=GuidanceLimits())
    flight.references.bank_deg = 500.0
    flight.references.vertical_speed_fpm = -9000.0
    seen = fly(flight, 20.0, bank=lambda f: f.bank_deg, rate=lambda f: f.vertical_speed_fpm)
    assert max(seen["bank"]) < 22.5
    assert min(seen["rate"]) > -1560.0
