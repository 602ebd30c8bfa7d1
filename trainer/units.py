"""Unit conversions: the only place where a factor between units is written.

Factors: international foot and nautical mile (exact by definition), standard gravity (exact).
Source: [SI-BROCHURE] BIPM, The International System of Units, table 8 (from memory).
"""

from __future__ import annotations

import math

M_PER_FT = 0.3048
M_PER_NM = 1852.0
MPS_PER_KT = M_PER_NM / 3600.0
MPS_PER_FPM = M_PER_FT / 60.0
RAD_PER_DEG = math.pi / 180.0
PA_PER_INHG = 3386.389
PA_PER_HPA = 100.0
G0_MPS2 = 9.80665
FT_PER_NM = M_PER_NM / M_PER_FT


def ft_to_m(length_ft: float) -> float:
    """Return metres for feet [ft -> m].

    Example:
        >>> ft_to_m(1000.0)
        304.8
    """
    return length_ft * M_PER_FT


def m_to_ft(length_m: float) -> float:
    """Return feet for metres [m -> ft].

    Example:
        >>> round(m_to_ft(304.8), 6)
        1000.0
    """
    return length_m / M_PER_FT


def nm_to_m(length_nm: float) -> float:
    """Return metres for nautical miles [NM -> m].

    Example:
        >>> nm_to_m(2.0)
        3704.0
    """
    return length_nm * M_PER_NM


def m_to_nm(length_m: float) -> float:
    """Return nautical miles for metres [m -> NM].

    Example:
        >>> m_to_nm(926.0)
        0.5
    """
    return length_m / M_PER_NM


def kt_to_mps(speed_kt: float) -> float:
    """Return metres per second for knots [kt -> m/s].

    Example:
        >>> round(kt_to_mps(100.0), 3)
        51.444
    """
    return speed_kt * MPS_PER_KT


def mps_to_kt(speed_mps: float) -> float:
    """Return knots for metres per second [m/s -> kt].

    Example:
        >>> round(mps_to_kt(51.444), 2)
        100.0
    """
    return speed_mps / MPS_PER_KT


def fpm_to_mps(speed_fpm: float) -> float:
    """Return metres per second for feet per minute [ft/min -> m/s].

    Example:
        >>> round(fpm_to_mps(500.0), 2)
        2.54
    """
    return speed_fpm * MPS_PER_FPM


def deg_to_rad(angle_deg: float) -> float:
    """Return radians for degrees [deg -> rad].

    Example:
        >>> round(deg_to_rad(180.0), 4)
        3.1416
    """
    return angle_deg * RAD_PER_DEG


def rad_to_deg(angle_rad: float) -> float:
    """Return degrees for radians [rad -> deg].

    Example:
        >>> round(rad_to_deg(math.pi))
        180
    """
    return angle_rad / RAD_PER_DEG


def wrap_360_deg(angle_deg: float) -> float:
    """Return the angle in [0, 360) [deg].

    Example:
        >>> wrap_360_deg(-10.0)
        350.0
    """
    wrapped = angle_deg % 360.0
    return 0.0 if wrapped == 360.0 else wrapped


def wrap_180_deg(angle_deg: float) -> float:
    """Return the angle in [-180, 180) [deg].

    Example:
        >>> wrap_180_deg(350.0)
        -10.0
    """
    return (angle_deg + 180.0) % 360.0 - 180.0
