"""What the air is at the aircraft: temperature, pressure, density, airspeed, wind, ground below.

Owns `AirModel`, an `Environment` turned into SI once, and the refresh after each step.
"""

from __future__ import annotations

import math

from trainer.flight import atmosphere as std
from trainer.flight.state import FlightState
from trainer.flight.types import Environment, Wind
from trainer.units import (
    M_PER_FT,
    PA_PER_HPA,
    deg_to_rad,
    ft_to_m,
    kt_to_mps,
    nm_to_m,
)

# The isentropic pitot relation, folded once: see `airspeed` for the readable form.
_A2_PER_K = std.HEAT_RATIO * std.GAS_CONSTANT_J_PER_KG_K
_P0 = std.SEA_LEVEL_PRESSURE_PA
_A0 = std.SEA_LEVEL_SOUND_MPS
_T0 = std.SEA_LEVEL_TEMPERATURE_K
_LAPSE = std.LAPSE_K_PER_M
_N = std.PRESSURE_EXPONENT
_R = std.GAS_CONSTANT_J_PER_KG_K
_RHO0 = std.SEA_LEVEL_DENSITY_KGPM3
_TWO_SEVENTHS = 2.0 / 7.0


def wind_vector_mps(wind: Wind) -> tuple[float, float]:
    """Return the north and east parts [m/s] of the air's motion; wind is named by its origin."""
    speed_mps = kt_to_mps(wind.speed_kt)
    direction_rad = deg_to_rad(wind.from_deg)
    return -speed_mps * math.cos(direction_rad), -speed_mps * math.sin(direction_rad)


class AirModel:
    """An environment in SI."""

    __slots__ = (
        "altimeter_offset_m",
        "environment",
        "ground_m",
        "hills",
        "isa_deviation_k",
        "layers",
        "wind_east_mps",
        "wind_north_mps",
    )

    def __init__(self, environment: Environment) -> None:
        self.environment = environment
        self.isa_deviation_k = environment.isa_deviation_k
        self.altimeter_offset_m = std.altimeter_offset_m(
            environment.altimeter_setting_hpa * PA_PER_HPA
        )
        self.ground_m = ft_to_m(environment.ground_elevation_ft)
        self.wind_north_mps, self.wind_east_mps = wind_vector_mps(environment.wind)
        self.layers = tuple(
            (ft_to_m(layer.altitude_ft), *wind_vector_mps(layer.wind))
            for layer in sorted(environment.wind_layers, key=lambda layer: layer.altitude_ft)
        )
        self.hills = tuple(
            (nm_to_m(h.north_nm), nm_to_m(h.east_nm), nm_to_m(h.radius_nm), ft_to_m(h.height_ft))
            for h in environment.hills
        )

    def wind_at(self, altitude_m: float) -> tuple[float, float, float, float]:
        """Return wind north, east [m/s] and its change with height, north, east [1/s]."""
        if not self.layers:
            return self.wind_north_mps, self.wind_east_mps, 0.0, 0.0
        below = self.layers[0]
        if altitude_m <= below[0]:
            return below[1], below[2], 0.0, 0.0
        for above in self.layers[1:]:
            if altitude_m < above[0]:
                depth_m = above[0] - below[0]
                north_per_s = (above[1] - below[1]) / depth_m
                east_per_s = (above[2] - below[2]) / depth_m
                rise_m = altitude_m - below[0]
                return (
                    below[1] + north_per_s * rise_m,
                    below[2] + east_per_s * rise_m,
                    north_per_s,
                    east_per_s,
                )
            below = above
        return below[1], below[2], 0.0, 0.0

    def ground_at_m(self, north_m: float, east_m: float) -> float:
        """Return the elevation of the ground [m] at a place [m, m]."""
        elevation_m = self.ground_m
        for hill_north, hill_east, radius_m, height_m in self.hills:
            away = math.hypot(north_m - hill_north, east_m - hill_east) / radius_m
            if away < 1.0:
                elevation_m += height_m * 0.5 * (1.0 + math.cos(math.pi * away))
        return elevation_m

    def true_from_pressure_m(self, pressure_altitude_m: float) -> float:
        """Return true altitude [m] for a pressure altitude [m] in this air."""
        return std.true_altitude_m(
            pressure_altitude_m - self.altimeter_offset_m,
            self.environment.altimeter_setting_hpa * PA_PER_HPA,
            self.isa_deviation_k,
            self.environment.ground_elevation_ft * M_PER_FT,
        )


def refresh_air(s: FlightState, air: AirModel) -> None:
    """Bring the air values of the state up to date with its motion."""
    standard_k = _T0 - _LAPSE * s.pressure_alt_m
    temperature_k = standard_k + air.isa_deviation_k
    pressure_pa = _P0 * (standard_k / _T0) ** _N
    s.standard_k = standard_k
    s.temperature_k = temperature_k
    s.pressure_pa = pressure_pa
    density = pressure_pa / (_R * temperature_k)
    s.sigma = density / _RHO0
    air_mps = s.speed_mps + s.gust_along_mps
    s.air_mps = air_mps
    square = air_mps * air_mps
    s.qbar_pa = 0.5 * density * square
    impact_pa = pressure_pa * ((1.0 + 0.2 * square / (_A2_PER_K * temperature_k)) ** 3.5 - 1.0)
    s.cas_mps = _A0 * math.sqrt(5.0 * ((impact_pa / _P0 + 1.0) ** _TWO_SEVENTHS - 1.0))
    if air.layers:
        wind = air.wind_at(s.height_m)
        s.wind_north_mps, s.wind_east_mps, s.shear_north_per_s, s.shear_east_per_s = wind
    s.ground_m = air.ground_at_m(s.north_m, s.east_m) if air.hills else air.ground_m


def refresh_wind(s: FlightState, air: AirModel) -> None:
    """Set the wind of the state after the environment changed."""
    wind = air.wind_at(s.height_m)
    s.wind_north_mps, s.wind_east_mps, s.shear_north_per_s, s.shear_east_per_s = wind
