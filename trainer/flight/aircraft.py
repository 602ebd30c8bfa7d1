"""An aircraft as data: what a file says, and the constants the equations of motion use.

Owns `AircraftSpec` and its loader. A file is one flat mapping; each key ends in its unit.

Source: [PRF-06] to [PRF-13] for the bands in which an invented aircraft should lie.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from trainer.document import read_document
from trainer.units import G0_MPS2, RAD_PER_DEG, kt_to_mps


@dataclass(frozen=True, slots=True)
class AircraftSpec:
    """One aircraft, in the units its file is written in."""

    id: str
    label: str
    mass_kg: float
    wing_area_m2: float
    aspect_ratio: float
    oswald_efficiency: float
    zero_lift_drag_coefficient: float
    lift_slope_per_rad: float
    maximum_lift_coefficient: float
    body_incidence_deg: float
    maximum_power_kw: float
    power_lapse_slope: float
    power_response_s: float
    propeller_peak_efficiency: float
    propeller_peak_speed_kt: float
    flap_lift_coefficient: float
    flap_drag_coefficient: float
    flap_limit_kt: float
    gear_drag_coefficient: float
    maximum_load_factor_g: float
    minimum_load_factor_g: float
    never_exceed_kt: float
    hand_roll_rate_limit_dps: float
    hand_pitch_rate_limit_dps: float
    roll_lag_s: float
    pitch_lag_s: float

    @property
    def retractable_gear(self) -> bool:
        """True if lowering the gear adds drag."""
        return self.gear_drag_coefficient > 0.0


class AircraftConstants:
    """An `AircraftSpec` in SI, with what the step would else compute every time."""

    __slots__ = (
        "cd_flap",
        "cd_gear",
        "cd_zero",
        "cl_flap",
        "cl_max",
        "hand_pitch_radps",
        "hand_roll_radps",
        "incidence_rad",
        "induced",
        "lapse_slope",
        "lift_slope",
        "load_max_g",
        "load_min_g",
        "mass_kg",
        "pitch_lag_s",
        "power_max_w",
        "power_response_s",
        "prop_peak_mps",
        "prop_thrust_factor",
        "roll_lag_s",
        "weight_n",
        "wing_m2",
    )

    def __init__(self, spec: AircraftSpec) -> None:
        self.mass_kg = spec.mass_kg
        self.weight_n = spec.mass_kg * G0_MPS2
        self.wing_m2 = spec.wing_area_m2
        self.cd_zero = spec.zero_lift_drag_coefficient
        self.induced = 1.0 / (math.pi * spec.aspect_ratio * spec.oswald_efficiency)
        self.lift_slope = spec.lift_slope_per_rad
        self.cl_max = spec.maximum_lift_coefficient
        self.incidence_rad = spec.body_incidence_deg * RAD_PER_DEG
        self.cl_flap = spec.flap_lift_coefficient
        self.cd_flap = spec.flap_drag_coefficient
        self.cd_gear = spec.gear_drag_coefficient
        self.power_max_w = spec.maximum_power_kw * 1000.0
        self.power_response_s = spec.power_response_s
        self.lapse_slope = spec.power_lapse_slope
        self.prop_peak_mps = kt_to_mps(spec.propeller_peak_speed_kt)
        self.prop_thrust_factor = spec.propeller_peak_efficiency / self.prop_peak_mps
        self.load_max_g = spec.maximum_load_factor_g
        self.load_min_g = spec.minimum_load_factor_g
        self.hand_roll_radps = spec.hand_roll_rate_limit_dps * RAD_PER_DEG
        self.hand_pitch_radps = spec.hand_pitch_rate_limit_dps * RAD_PER_DEG
        self.roll_lag_s = spec.roll_lag_s
        self.pitch_lag_s = spec.pitch_lag_s


TEXT_KEYS = ("id", "label")
RANGES: dict[str, tuple[float, float]] = {
    "mass_kg": (300.0, 6000.0),
    "wing_area_m2": (5.0, 40.0),
    "aspect_ratio": (4.0, 20.0),
    "oswald_efficiency": (0.5, 1.0),
    "zero_lift_drag_coefficient": (0.01, 0.08),
    "lift_slope_per_rad": (3.0, 6.3),
    "maximum_lift_coefficient": (1.0, 2.5),
    "body_incidence_deg": (0.0, 8.0),
    "maximum_power_kw": (40.0, 600.0),
    "power_lapse_slope": (1.0, 1.3),
    "power_response_s": (0.2, 5.0),
    "propeller_peak_efficiency": (0.5, 0.9),
    "propeller_peak_speed_kt": (60.0, 300.0),
    "flap_lift_coefficient": (0.0, 1.5),
    "flap_drag_coefficient": (0.0, 0.2),
    "flap_limit_kt": (40.0, 250.0),
    "gear_drag_coefficient": (0.0, 0.05),
    "maximum_load_factor_g": (2.0, 9.0),
    "minimum_load_factor_g": (-6.0, 0.0),
    "never_exceed_kt": (80.0, 400.0),
    "hand_roll_rate_limit_dps": (3.0, 120.0),
    "hand_pitch_rate_limit_dps": (1.0, 30.0),
    "roll_lag_s": (0.2, 2.0),
    "pitch_lag_s": (0.2, 2.0),
}


def load_aircraft(path: str | Path) -> AircraftSpec:
    """Read an aircraft file.

    Args:
        path: A YAML file.

    Raises:
        MissingFileError: The file is not there or can't be read.
        FileError: The file is not a good aircraft; holds every problem found.

    Example:
        >>> from trainer.resources import resource_folder
        >>> load_aircraft(resource_folder("statecharts") / "aircraft" / "light_single.yaml").mass_kg
        1150.0
    """
    mapping = read_document(Path(path))
    values: dict[str, str | float] = {key: mapping.text(key) for key in TEXT_KEYS}
    for key, (low, high) in RANGES.items():
        values[key] = mapping.number(key, low=low, high=high)
    mapping.finish()
    mapping.document.raise_if_problems()
    return AircraftSpec(**values)  # type: ignore[arg-type]  # every key and type was checked
