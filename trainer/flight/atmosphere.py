"""Standard atmosphere up to the tropopause, with a temperature offset and an altimeter setting.

Owns pressure, temperature and density against geopotential altitude. Everything is SI. The model
flies in pressure altitude; `true_altitude_m` says how far the aircraft really is above the sea
when the air is colder or warmer than standard.

Source: [ATM-00] U.S. Standard Atmosphere 1976 constants, as restated in tests/published.
"""

from __future__ import annotations

import math

from trainer.units import G0_MPS2

SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_PA = 101325.0
LAPSE_K_PER_M = 0.0065
GAS_CONSTANT_J_PER_KG_K = 287.05287
HEAT_RATIO = 1.4
PRESSURE_EXPONENT = G0_MPS2 / (LAPSE_K_PER_M * GAS_CONSTANT_J_PER_KG_K)
SEA_LEVEL_DENSITY_KGPM3 = SEA_LEVEL_PRESSURE_PA / (
    GAS_CONSTANT_J_PER_KG_K * SEA_LEVEL_TEMPERATURE_K
)
TROPOPAUSE_M = 11000.0
SEA_LEVEL_SOUND_MPS = math.sqrt(HEAT_RATIO * GAS_CONSTANT_J_PER_KG_K * SEA_LEVEL_TEMPERATURE_K)


def standard_temperature_k(pressure_altitude_m: float) -> float:
    """Return the standard temperature [K] at a pressure altitude [m], troposphere only.

    Example:
        >>> round(standard_temperature_k(3048.0), 2)  # 10,000 ft
        268.34
    """
    return SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * pressure_altitude_m


def pressure_pa(pressure_altitude_m: float) -> float:
    """Return static pressure [Pa] at a pressure altitude [m].

    Example:
        >>> round(pressure_pa(0.0)), round(pressure_pa(3048.0))
        (101325, 69682)
    """
    ratio = 1.0 - LAPSE_K_PER_M * pressure_altitude_m / SEA_LEVEL_TEMPERATURE_K
    return SEA_LEVEL_PRESSURE_PA * math.pow(ratio, PRESSURE_EXPONENT)


def pressure_altitude_m(static_pressure_pa: float) -> float:
    """Return the pressure altitude [m] of a static pressure [Pa]; inverse of `pressure_pa`.

    Example:
        >>> round(pressure_altitude_m(69682.0))
        3048
    """
    ratio = math.pow(static_pressure_pa / SEA_LEVEL_PRESSURE_PA, 1.0 / PRESSURE_EXPONENT)
    return (1.0 - ratio) * SEA_LEVEL_TEMPERATURE_K / LAPSE_K_PER_M


def density_kgpm3(static_pressure_pa: float, temperature_k: float) -> float:
    """Return density [kg/m3] of air at a pressure [Pa] and a temperature [K].

    Example:
        >>> round(density_kgpm3(101325.0, 288.15), 4)
        1.225
    """
    return static_pressure_pa / (GAS_CONSTANT_J_PER_KG_K * temperature_k)


def speed_of_sound_mps(temperature_k: float) -> float:
    """Return the speed of sound [m/s] at a temperature [K].

    Example:
        >>> round(speed_of_sound_mps(288.15), 1)
        340.3
    """
    return math.sqrt(HEAT_RATIO * GAS_CONSTANT_J_PER_KG_K * temperature_k)


def altimeter_offset_m(setting_pa: float) -> float:
    """Return what to take from pressure altitude to get the indicated altitude [m].

    An altimeter turns its scale by the pressure altitude of its setting, so the correction is
    that altitude itself and not a thousand feet for each inch.

    Args:
        setting_pa: Altimeter setting [Pa].

    Source: [ALT-03], [ALT-04].

    Example:
        >>> round(altimeter_offset_m(100000.0), 1)  # 1000 hPa set
        110.9
    """
    return pressure_altitude_m(setting_pa)


def true_altitude_m(
    indicated_m: float, setting_pa: float, isa_deviation_k: float, reference_m: float = 0.0
) -> float:
    """Return true altitude [m] from indicated altitude [m].

    The setting is right at the reporting field, so indicated and true altitude agree there; above
    it each layer is as much thicker or thinner as its temperature differs from standard.

    Args:
        indicated_m: Altimeter reading [m].
        setting_pa: Altimeter setting [Pa].
        isa_deviation_k: Temperature above standard [K], the same at all heights.
        reference_m: Elevation of the field that reported the setting [m].

    Example:
        >>> round(true_altitude_m(3048.0, 101325.0, -20.0))  # cold air: lower than shown
        2829
    """
    if isa_deviation_k == 0.0:
        return indicated_m
    offset_m = altimeter_offset_m(setting_pa)
    low_k = standard_temperature_k(reference_m + offset_m)
    high_k = standard_temperature_k(indicated_m + offset_m)
    stretch_m = isa_deviation_k / LAPSE_K_PER_M * math.log(low_k / high_k)
    return indicated_m + stretch_m
