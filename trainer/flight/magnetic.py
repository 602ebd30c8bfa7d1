"""Magnetic variation of a place and a date, for scenes that give them.

The simulation itself is magnetic throughout; a scene written with true directions is turned once.

Source: [MAG-01] to [MAG-06], the World Magnetic Model, through the `pygeomag` library.
"""

from __future__ import annotations

from pygeomag import GeoMag

from trainer.errors import TrainerError
from trainer.units import ft_to_m, wrap_360_deg

MODELS: tuple[tuple[float, float, str], ...] = (
    (2015.0, 2020.0, "wmm/WMM_2015v2.COF"),
    (2020.0, 2025.0, "wmm/WMM_2020.COF"),
    (2025.0, 2030.0, "wmm/WMM_2025.COF"),
)
"""First year, end year and coefficients of each five-year model."""


class MagneticModelError(TrainerError):
    """A place or a date that no magnetic model covers."""


def variation_deg(
    latitude_deg: float, longitude_deg: float, year: float, altitude_ft: float = 0.0
) -> float:
    """Return magnetic variation [deg], east positive.

    Args:
        latitude_deg: -90 to 90, north positive [deg].
        longitude_deg: -180 to 360, east positive [deg].
        year: Decimal year, 2015.0 up to 2030.0.
        altitude_ft: Altitude [ft].

    Raises:
        MagneticModelError: Place or year outside what the models cover.
    """
    if not (-90.0 <= latitude_deg <= 90.0 and -180.0 <= longitude_deg <= 360.0):
        raise MagneticModelError(
            f"found latitude {latitude_deg}, longitude {longitude_deg}; "
            "accepted: -90 to 90 and -180 to 360"
        )
    for first, end, coefficients in MODELS:
        if first <= year < end:
            result = GeoMag(coefficients_file=coefficients).calculate(
                glat=latitude_deg, glon=longitude_deg, alt=ft_to_m(altitude_ft) / 1000.0, time=year
            )
            return float(result.d)
    raise MagneticModelError(f"found year {year}; accepted: 2015.0 up to 2030.0")


def magnetic_from_true_deg(true_deg: float, east_variation_deg: float) -> float:
    """Return the magnetic direction [deg] of a true one; east variation is taken away.

    Example:
        >>> magnetic_from_true_deg(90.0, 4.0)
        86.0
    """
    return wrap_360_deg(true_deg - east_variation_deg)
