"""Who moves the controls: servos, the attentive pilot, or hands on the stick.

Each gives a commanded roll and pitch rate [rad/s]. The attentive pilot follows the cue through two
first-order lags, which together act like a short delay and a smoothing. Without a cue on an axis
the pilot keeps the attitude that was there, or returns from an unusual one. After a servo runaway
the pilot's hands stay still for a recognition time, counted from the fault.

Source: [REG-25] 3 s in climb, cruise and descent, 1 s in manoeuvring flight and approach (from
memory); the lag is common practice for a simple pilot model.
"""

from __future__ import annotations

import math

from trainer.flight.aircraft import AircraftConstants
from trainer.flight.limits import Limits
from trainer.flight.state import FlightState
from trainer.flight.types import Faults, GuidanceModes, PilotControls

SERVO_GAIN_PER_S = 2.0
PILOT_GAIN_PER_S = 1.6
PILOT_LAG_S = 0.35
PILOT_ROLL_RADPS = math.radians(10.0)
PILOT_PITCH_RADPS = math.radians(3.0)
RECOGNITION_CRUISE_S = 3.0
RECOGNITION_APPROACH_S = 1.0
MANOEUVRING_BANK_RAD = math.radians(10.0)
UNUSUAL_BANK_RAD = math.radians(35.0)
UNUSUAL_PITCH_RAD = math.radians(13.0)
LEVEL_BANK_RAD = math.radians(6.0)
RECOVERY_PITCH_RAD = math.radians(2.0)
LOAD_HIGH_G = 2.0
LOAD_LOW_G = 0.4
LEVEL_ROLL_RATIO = 3.0
LEVEL_PITCH_RATIO = 2.5
RUNAWAY_RATES: dict[str, tuple[float, float]] = {
    "roll_left": (math.radians(-6.0), 0.0),
    "roll_right": (math.radians(6.0), 0.0),
    "pitch_up": (0.0, math.radians(2.0)),
    "pitch_down": (0.0, math.radians(-2.0)),
    "slow_roll": (math.radians(0.7), 0.0),
}
"""Roll and pitch rate [rad/s] of each runaway; the slow one is slow enough to go unnoticed."""


def recognition_s(modes: GuidanceModes, bank_rad: float) -> float:
    """Return how long [s] after a fault the pilot begins to act."""
    near = modes.lateral in ("approach_course", "back_course") or modes.vertical == "glidepath"
    if near or abs(bank_rad) > MANOEUVRING_BANK_RAD:
        return RECOGNITION_APPROACH_S
    return RECOGNITION_CRUISE_S


def _follow(error_rad: float, gain: float, limit: float) -> float:
    rate = gain * error_rad
    if rate > limit:
        return limit
    return max(rate, -limit)


def servo_rates(s: FlightState, limits: Limits, modes: GuidanceModes) -> tuple[float, float]:
    """Return the rates [rad/s] with which the servos follow the cue."""
    roll_limit, pitch_limit = limits.roll_rate_radps, limits.pitch_rate_radps
    if modes.lateral == "level":
        roll_limit *= LEVEL_ROLL_RATIO
    if modes.vertical == "level":
        pitch_limit *= LEVEL_PITCH_RATIO
    p_cmd = _follow(s.phi_cmd_rad - s.phi_rad, SERVO_GAIN_PER_S, roll_limit)
    q_cmd = _follow(s.theta_cmd_rad - s.theta_rad, SERVO_GAIN_PER_S, pitch_limit)
    if (s.load_g > LOAD_HIGH_G and q_cmd > 0.0) or (s.load_g < LOAD_LOW_G and q_cmd < 0.0):
        q_cmd = 0.0
    return p_cmd, q_cmd


def hand_rates(
    s: FlightState, k: AircraftConstants, controls: PilotControls
) -> tuple[float, float]:
    """Return the rates [rad/s] of the stick; it can't pull beyond the load factor limits."""
    p_cmd = max(-1.0, min(1.0, controls.stick_bank)) * k.hand_roll_radps
    q_cmd = max(-1.0, min(1.0, controls.stick_pitch)) * k.hand_pitch_radps
    if (s.load_g > k.load_max_g and q_cmd > 0.0) or (s.load_g < k.load_min_g and q_cmd < 0.0):
        q_cmd = 0.0
    return p_cmd, q_cmd


def take_over(s: FlightState) -> None:
    """Start the attentive pilot from the attitude that is there."""
    s.pilot_flying = True
    s.pilot_slow_phi_rad = s.phi_rad
    s.pilot_slow_theta_rad = s.theta_rad
    keep_bank(s)
    keep_pitch(s)


def keep_bank(s: FlightState) -> None:
    """Make the present bank the one to keep: level if nearly level or unusual."""
    bank = abs(s.phi_rad)
    s.pilot_phi_rad = s.phi_rad if LEVEL_BANK_RAD <= bank <= UNUSUAL_BANK_RAD else 0.0


def keep_pitch(s: FlightState) -> None:
    """Make the present pitch the one to keep, or a safe one if it is unusual."""
    s.pilot_theta_rad = s.theta_rad if abs(s.theta_rad) <= UNUSUAL_PITCH_RAD else RECOVERY_PITCH_RAD


def attentive_rates(s: FlightState, modes: GuidanceModes, dt_s: float) -> tuple[float, float]:
    """Return the rates [rad/s] of a pilot who follows the cue, or keeps the attitude."""
    if not s.pilot_flying:
        take_over(s)
    if modes.lateral != "none":
        phi_goal = s.phi_cmd_rad
    else:
        if s.last_lateral != "none":
            keep_bank(s)
        phi_goal = s.pilot_phi_rad
    if modes.vertical != "none":
        theta_goal = s.theta_cmd_rad
    else:
        if s.last_vertical != "none":
            keep_pitch(s)
        theta_goal = s.pilot_theta_rad
    share = dt_s / (PILOT_LAG_S + dt_s)
    s.pilot_slow_phi_rad += share * (phi_goal - s.pilot_slow_phi_rad)
    s.pilot_slow_theta_rad += share * (theta_goal - s.pilot_slow_theta_rad)
    p_cmd = _follow(s.pilot_slow_phi_rad - s.phi_rad, PILOT_GAIN_PER_S, PILOT_ROLL_RADPS)
    q_cmd = _follow(s.pilot_slow_theta_rad - s.theta_rad, PILOT_GAIN_PER_S, PILOT_PITCH_RADPS)
    if (s.load_g > LOAD_HIGH_G and q_cmd > 0.0) or (s.load_g < LOAD_LOW_G and q_cmd < 0.0):
        q_cmd = 0.0
    return p_cmd, q_cmd


def control_rates(
    s: FlightState,
    k: AircraftConstants,
    limits: Limits,
    dt_s: float,
    *,
    modes: GuidanceModes,
    faults: Faults,
    controls: PilotControls,
) -> tuple[float, float]:
    """Return the commanded roll and pitch rates [rad/s] of whoever flies."""
    runaway = faults.servo_runaway
    if runaway != "none":
        if s.fault_age_s == 0.0:
            s.pilot_wait_s = recognition_s(modes, s.phi_rad)
        s.fault_age_s += dt_s
    elif s.fault_age_s != 0.0:
        s.fault_age_s = 0.0
    if modes.servos:
        s.pilot_flying = False
        if faults.electrical or faults.servo:
            return 0.0, 0.0
        if runaway != "none":
            return _runaway_rates(s, limits, modes, runaway)
        return servo_rates(s, limits, modes)
    if controls.pilot == "hands":
        s.pilot_flying = False
        return hand_rates(s, k, controls)
    if 0.0 < s.fault_age_s < s.pilot_wait_s:
        return 0.0, 0.0
    return attentive_rates(s, modes, dt_s)


def _runaway_rates(
    s: FlightState, limits: Limits, modes: GuidanceModes, runaway: str
) -> tuple[float, float]:
    """Return the rates [rad/s] with one servo running away and the other working."""
    p_cmd, q_cmd = servo_rates(s, limits, modes)
    p_away, q_away = RUNAWAY_RATES[runaway]
    return (p_away, q_cmd) if p_away != 0.0 else (p_cmd, q_away)
