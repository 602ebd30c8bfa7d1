"""Steady turbulence: three gusts, each noise through a first-order lag, repeatable and forkable.

The noise of step n is a hash of (seed, n), so a copied flight meets the same gusts as its original.
The shape is the simplest one whose correlation length is the published kind for low altitude; no
spectrum is claimed.
"""

from __future__ import annotations

import math

from trainer.flight.state import FlightState

ALONG_LENGTH_M = 300.0
UP_LENGTH_M = 150.0
ROLL_TIME_S = 0.6
ROLL_RADPS_PER_MPS = 0.012
UP_SHARE = 0.8
_MASK = (1 << 64) - 1
_STEP = 0x9E3779B97F4A7C15
_THIRD = (1 << 21) - 1
# A value drawn evenly from -1 to 1 has a variance of one third.
_SCALE = math.sqrt(3.0) * 2.0 / _THIRD
_SHIFT = math.sqrt(3.0)


def noise(seed: int, count: int) -> tuple[float, float, float]:
    """Return three numbers of zero mean and unit variance for a seed and a count."""
    z = (seed * 0xD1342543DE82EF95 + (count + 1) * _STEP) & _MASK
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    z ^= z >> 31
    return (
        (z & _THIRD) * _SCALE - _SHIFT,
        ((z >> 21) & _THIRD) * _SCALE - _SHIFT,
        ((z >> 42) & _THIRD) * _SCALE - _SHIFT,
    )


def advance_gusts(s: FlightState, rms_mps: float, seed: int, dt_s: float) -> None:
    """Step the gusts of the state by dt_s [s]; rms_mps is the gust along the path [m/s]."""
    along, up, roll = noise(seed, s.gust_count)
    s.gust_count += 1
    keep = math.exp(-dt_s * s.speed_mps / ALONG_LENGTH_M)
    s.gust_along_mps = keep * s.gust_along_mps + rms_mps * math.sqrt(1.0 - keep * keep) * along
    keep = math.exp(-dt_s * s.speed_mps / UP_LENGTH_M)
    spread = UP_SHARE * rms_mps * math.sqrt(1.0 - keep * keep)
    s.gust_up_mps = keep * s.gust_up_mps + spread * up
    keep = math.exp(-dt_s / ROLL_TIME_S)
    spread = ROLL_RADPS_PER_MPS * rms_mps * math.sqrt(1.0 - keep * keep)
    s.gust_roll_radps = keep * s.gust_roll_radps + spread * roll


def still_gusts(s: FlightState) -> None:
    """Take the gusts away."""
    s.gust_along_mps = s.gust_up_mps = s.gust_roll_radps = 0.0
