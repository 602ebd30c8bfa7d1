"""Piston engine and propeller: how much thrust the power lever gives.

Power falls with density (Gagg and Ferrar's form, [PRF-13]). The propeller's efficiency rises with
speed as `peak * x * (2 - x)`, x being true airspeed over the speed of best efficiency. Efficiency
over speed is then a straight line, so thrust is finite at rest. Constant efficiency would put the
best rate of climb near the stall ([PRF-12]).
"""

from __future__ import annotations

from trainer.flight.aircraft import AircraftConstants


def power_factor(k: AircraftConstants, sigma: float) -> float:
    """Return available over sea-level power for a density ratio, never below zero.

    Example:
        >>> from types import SimpleNamespace
        >>> round(power_factor(SimpleNamespace(lapse_slope=1.132), 0.7385), 2)  # at 10,000 ft
        0.7
    """
    factor = k.lapse_slope * sigma - (k.lapse_slope - 1.0)
    return max(0.0, factor)


def propeller_efficiency(k: AircraftConstants, true_mps: float) -> float:
    """Return thrust power over shaft power at a true airspeed [m/s]."""
    x = true_mps / k.prop_peak_mps
    return k.prop_thrust_factor * k.prop_peak_mps * x * (2.0 - x)


def thrust_n(k: AircraftConstants, power: float, sigma: float, true_mps: float) -> float:
    """Return thrust [N] for a power fraction, a density ratio and a true airspeed [m/s]."""
    slope = 2.0 - true_mps / k.prop_peak_mps
    slope = max(slope, 0.0)
    return power * power_factor(k, sigma) * k.power_max_w * k.prop_thrust_factor * slope
