"""The values that cross the border of `flight`: what the logic asks for and what the air gives.

Outside `flight` everything is in field units (ft, kt, ft/min, deg, NM); inside, SI. This module
holds only data. Sign conventions, used everywhere in the product:

- deviations are fractions of full scale; `course_deviation` > 0: the aircraft is RIGHT of the
  course (fly left to regain it); `glidepath_deviation` > 0: the aircraft is ABOVE the path;
- bank > 0 right wing down; pitch > 0 nose up; headings magnetic, clockwise from north.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

SourceKind = Literal["beacon", "satellite_course", "approach"]


@dataclass(frozen=True, slots=True)
class Wind:
    """Steady wind; direction is where it blows from, magnetic."""

    from_deg: float = 0.0
    speed_kt: float = 0.0


@dataclass(frozen=True, slots=True)
class WindLayer:
    """Wind at one altitude; between layers it changes in a straight line."""

    altitude_ft: float
    wind: Wind


@dataclass(frozen=True, slots=True)
class Hill:
    """A round hill on the flat ground: full height in the middle, none at its radius."""

    north_nm: float
    east_nm: float
    radius_nm: float
    height_ft: float
    """Above `Environment.ground_elevation_ft`."""


@dataclass(frozen=True, slots=True)
class NavigationSource:
    """One thing that gives a course. Positions are local: north and east of the scene's origin."""

    id: str
    kind: SourceKind
    label: str
    course_deg: float
    """Published or selected course [deg]; for an approach the inbound course, not adjustable."""
    north_nm: float = 0.0
    east_nm: float = 0.0
    """Beacon position, a point on the satellite course, or the approach's runway threshold."""
    elevation_ft: float = 0.0
    glidepath_deg: float | None = None
    """Glidepath angle [deg]; None if the source has no glidepath."""
    course_antenna_beyond_threshold_ft: float = 8000.0
    range_nm: float = 60.0
    full_scale_deg: float = 12.0
    """Beacon only: degrees off course at full deflection (the handbook's figure)."""
    full_scale_nm: float = 1.0
    """Satellite course only: distance off course at full deflection, away from a final."""
    final_fix_nm: float | None = None
    """Satellite course only: distance of the final approach fix before the position; the scale
    narrows towards it. None: the scale stays linear."""
    vectors_to_final: bool = False
    """Satellite course only: linear until the final's own splay is narrower."""
    glidepath_range_nm: float = 10.0
    """How far out the glidepath can be used."""


@dataclass(frozen=True, slots=True)
class InitialCondition:
    """Where and how a flight starts, trimmed as well as the power allows."""

    altitude_ft: float = 3000.0
    heading_deg: float = 0.0
    airspeed_kt: float = 110.0
    vertical_speed_fpm: float = 0.0
    bank_deg: float = 0.0
    pitch_deg: float | None = None
    """None: the pitch that flies `vertical_speed_fpm`."""
    north_nm: float = 0.0
    east_nm: float = 0.0
    power_percent: float | None = None
    """None: the power that holds `airspeed_kt` at `vertical_speed_fpm`, within 0 to 100."""
    on_ground: bool = False


@dataclass(frozen=True, slots=True)
class Environment:
    """The air and the ground of a scene."""

    wind: Wind = Wind()
    altimeter_setting_hpa: float = 1013.25
    isa_deviation_k: float = 0.0
    ground_elevation_ft: float = 0.0
    turbulence: float = 0.0
    """Root-mean-square gust [kt]; 0 is still air. Seeded by `turbulence_seed`, repeatable."""
    turbulence_seed: int = 1
    wind_layers: tuple[WindLayer, ...] = ()
    """Wind with altitude, lowest first; replaces `wind` when there is any."""
    hills: tuple[Hill, ...] = ()
    variation_deg: float = 0.0
    """Magnetic variation, east positive; only for showing true directions."""


@dataclass(frozen=True, slots=True)
class GuidanceLimits:
    """What the installation allows the guidance to do."""

    bank_limit_deg: float = 22.0
    roll_rate_limit_dps: float = 5.0
    pitch_up_limit_deg: float = 15.0
    pitch_down_limit_deg: float = 10.0
    pitch_rate_limit_dps: float = 2.0
    capture_acceleration_g: float = 0.05
    vertical_speed_limit_fpm: float = 1500.0
    minimum_airspeed_kt: float = 70.0
    maximum_airspeed_kt: float = 150.0
    go_around_pitch_deg: float = 7.0
    capture_law: Literal["ten_percent", "constant_acceleration"] = "ten_percent"


@dataclass(slots=True)
class References:
    """What the pilot selected and what guidance follows. Mutable; owned by the session."""

    selected_heading_deg: float = 0.0
    selected_altitude_ft: float = 3000.0
    source_id: str = ""
    """Id of the navigation source in use; empty: none tuned."""
    selected_course_deg: float | None = None
    """Pilot's course on a beacon or satellite source; None: the source's own."""
    vertical_speed_fpm: float = 0.0
    airspeed_kt: float = 110.0
    pitch_deg: float = 0.0
    bank_deg: float = 0.0
    """Reference of roll hold."""
    go_around_heading_deg: float = 0.0
    captured_altitude_ft: float = 3000.0
    """Altitude that altitude capture levels at."""
    held_altitude_ft: float = 3000.0
    """Altitude that altitude hold keeps."""
    level_vertical: Literal["zero_pitch", "zero_vertical_speed"] = "zero_pitch"


@dataclass(slots=True)
class GuidanceModes:
    """What the mode logic tells the guidance to fly. Mutable; owned by the session."""

    lateral: str = "none"
    """none, roll_hold, heading_select, course_track, approach_course, back_course, go_around,
    level."""
    vertical: str = "none"
    """none, pitch_hold, vertical_speed, airspeed_hold, altitude_capture, altitude_hold,
    glidepath, go_around, level."""
    servos: bool = False
    """True: the servos follow the cue. False: the pilot model or the pilot's hands fly."""
    protection: str = "none"
    """none, underspeed, overspeed: which speed limit overrides the pitch command."""


@dataclass(slots=True)
class Faults:
    """Malfunctions injected by the instructor. Mutable; owned by the session."""

    servo: bool = False
    """Servo power or monitor lost: the servos stop moving the controls."""
    servo_runaway: Literal[
        "none", "roll_left", "roll_right", "pitch_up", "pitch_down", "slow_roll"
    ] = "none"
    attitude: bool = False
    """Attitude data lost."""
    navigation: bool = False
    """Course signal (and glidepath with it) lost."""
    glidepath: bool = False
    electrical: bool = False
    stuck_keys: frozenset[str] = field(default_factory=frozenset)
    """Events (pilot keys) that don't reach the logic, and selectors that don't take a turn."""
    slipping: frozenset[str] = field(default_factory=frozenset)
    """Selectors that go one step too far with every turn."""


@dataclass(slots=True)
class PilotControls:
    """Hands of the pilot. Mutable; owned by the session."""

    pilot: Literal["attentive", "hands"] = "attentive"
    """attentive: follows the cue with a human lag when the servos are off; hands: the stick."""
    stick_bank: float = 0.0
    """-1 to 1; fraction of the roll rate limit commanded by hand."""
    stick_pitch: float = 0.0
    """-1 to 1; > 0 pulls."""
    power_percent: float = 65.0
    flaps: float = 0.0
    """0 up to 1 fully down."""
    gear_down: bool = False
    """Retractable gear only."""


@dataclass(frozen=True, slots=True)
class FlightSample:
    """The flight at one instant, in field units, rounded by nobody."""

    t_s: float
    north_nm: float
    east_nm: float
    altitude_ft: float
    """Indicated, at the altimeter setting."""
    pressure_altitude_ft: float
    height_ft: float
    """Above the ground below."""
    heading_deg: float
    track_deg: float
    bank_deg: float
    pitch_deg: float
    airspeed_kt: float
    """Calibrated."""
    true_airspeed_kt: float
    ground_speed_kt: float
    vertical_speed_fpm: float
    load_factor_g: float
    power_percent: float
    course_valid: bool
    course_deviation: float
    """0.0 when not valid."""
    glidepath_valid: bool
    glidepath_deviation: float
    distance_nm: float
    """To the source in use; 0.0 if none."""
    cue_bank_deg: float
    """Bank the guidance asks for."""
    cue_pitch_deg: float
    on_ground: bool
    stalled: bool = False
    true_altitude_ft: float = 0.0
    station_passage: bool = False
    """In the cone above a beacon, where its course can't be used."""
    false_glidepath: bool = False
    """Far above the published glidepath, where the deviation leads onto a false one."""
    wind_from_deg: float = 0.0
    """Wind at the aircraft."""
    wind_speed_kt: float = 0.0
    exceeded: tuple[str, ...] = ()
    """Aircraft limits exceeded now: never_exceed, flap_limit, load_factor."""
