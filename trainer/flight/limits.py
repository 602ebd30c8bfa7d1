"""The installation's guidance limits in SI, and the constants of the guidance laws."""

from __future__ import annotations

from trainer.flight.types import GuidanceLimits
from trainer.units import G0_MPS2, RAD_PER_DEG, fpm_to_mps, kt_to_mps


class Limits:
    """`GuidanceLimits` turned into SI once."""

    __slots__ = (
        "bank_rad",
        "capture_accel_mps2",
        "cas_max_mps",
        "cas_min_mps",
        "climb_mps",
        "go_around_rad",
        "pitch_down_rad",
        "pitch_rate_radps",
        "pitch_up_rad",
        "roll_rate_radps",
        "ten_percent",
    )

    def __init__(self, limits: GuidanceLimits) -> None:
        self.bank_rad = limits.bank_limit_deg * RAD_PER_DEG
        self.roll_rate_radps = limits.roll_rate_limit_dps * RAD_PER_DEG
        self.pitch_up_rad = limits.pitch_up_limit_deg * RAD_PER_DEG
        self.pitch_down_rad = limits.pitch_down_limit_deg * RAD_PER_DEG
        self.pitch_rate_radps = limits.pitch_rate_limit_dps * RAD_PER_DEG
        self.capture_accel_mps2 = limits.capture_acceleration_g * G0_MPS2
        self.climb_mps = fpm_to_mps(limits.vertical_speed_limit_fpm)
        self.cas_min_mps = kt_to_mps(limits.minimum_airspeed_kt)
        self.cas_max_mps = kt_to_mps(limits.maximum_airspeed_kt)
        self.go_around_rad = limits.go_around_pitch_deg * RAD_PER_DEG
        self.ten_percent = limits.capture_law == "ten_percent"


def bounded(value: float, limit: float) -> float:
    """Return a value kept within a limit to both sides, in the unit of both.

    Example:
        >>> bounded(7.0, 5.0), bounded(-7.0, 5.0), bounded(3.0, 5.0)
        (5.0, -5.0, 3.0)
    """
    if value > limit:
        return limit
    return max(value, -limit)
