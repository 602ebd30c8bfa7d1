"""Calibrated, equivalent and true airspeed, compressible.

Source: [TAS-02] to [TAS-05]; the isentropic pitot relation for air with a heat ratio of 1.4.
"""

from __future__ import annotations

import math

from trainer.flight.atmosphere import (
    SEA_LEVEL_DENSITY_KGPM3,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SOUND_MPS,
    density_kgpm3,
    speed_of_sound_mps,
)


def impact_pressure_pa(true_mps: float, static_pressure_pa: float, temperature_k: float) -> float:
    """Return pitot minus static pressure [Pa] at a true airspeed [m/s].

    Example:
        >>> round(impact_pressure_pa(51.444, 101325.0, 288.15))  # 100 kt at sea level
        1630
    """
    mach = true_mps / speed_of_sound_mps(temperature_k)
    return static_pressure_pa * (math.pow(1.0 + 0.2 * mach * mach, 3.5) - 1.0)


def calibrated_from_true_mps(
    true_mps: float, static_pressure_pa: float, temperature_k: float
) -> float:
    """Return calibrated airspeed [m/s] for true airspeed [m/s], pressure [Pa], temperature [K].

    Example:
        >>> round(calibrated_from_true_mps(60.0, 69682.0, 268.34), 2)  # at 10,000 ft
        51.63
    """
    impact_pa = impact_pressure_pa(true_mps, static_pressure_pa, temperature_k)
    ratio = math.pow(impact_pa / SEA_LEVEL_PRESSURE_PA + 1.0, 2.0 / 7.0)
    return SEA_LEVEL_SOUND_MPS * math.sqrt(5.0 * (ratio - 1.0))


def true_from_calibrated_mps(
    calibrated_mps: float, static_pressure_pa: float, temperature_k: float
) -> float:
    """Return true airspeed [m/s] for calibrated airspeed [m/s]; inverse of the other way.

    Example:
        >>> round(true_from_calibrated_mps(51.6, 69682.0, 268.34), 1)
        60.0
    """
    mach0 = calibrated_mps / SEA_LEVEL_SOUND_MPS
    impact_pa = SEA_LEVEL_PRESSURE_PA * (math.pow(1.0 + 0.2 * mach0 * mach0, 3.5) - 1.0)
    ratio = math.pow(impact_pa / static_pressure_pa + 1.0, 2.0 / 7.0)
    return speed_of_sound_mps(temperature_k) * math.sqrt(5.0 * (ratio - 1.0))


def equivalent_from_true_mps(
    true_mps: float, static_pressure_pa: float, temperature_k: float
) -> float:
    """Return equivalent airspeed [m/s]: the sea-level speed with the same dynamic pressure.

    Example:
        >>> round(equivalent_from_true_mps(60.0, 69682.0, 268.34), 2)
        51.56
    """
    sigma = density_kgpm3(static_pressure_pa, temperature_k) / SEA_LEVEL_DENSITY_KGPM3
    return true_mps * math.sqrt(sigma)
