"""What can be read from a flight, in field units: the part of `FlightModel` without any step."""

from __future__ import annotations

import math

from trainer.flight.air import AirModel
from trainer.flight.aircraft import AircraftConstants, AircraftSpec
from trainer.flight.guidance_input import GuidanceInput
from trainer.flight.guidance_lateral import intercept_lead_m
from trainer.flight.guidance_vertical import capture_lead_m
from trainer.flight.limits import Limits
from trainer.flight.navigation import (
    CourseReading,
    SourceGeometry,
    read_course,
    read_glidepath,
)
from trainer.flight.state import FlightState
from trainer.flight.types import (
    Environment,
    Faults,
    FlightSample,
    GuidanceLimits,
    GuidanceModes,
    NavigationSource,
    PilotControls,
    References,
)
from trainer.units import (
    M_PER_FT,
    M_PER_NM,
    MPS_PER_FPM,
    MPS_PER_KT,
    RAD_PER_DEG,
    wrap_360_deg,
)

FAR_MARGIN = 10.0
"""Intercept margin when flying away from the course or without a signal."""
ON_COURSE_DEVIATION = 0.08
WRONG_WAY_RAD = math.radians(110.0)
NavKey = tuple[str, float | None, bool, bool, bool]
NO_KEY: NavKey = ("", None, False, False, False)


class FlightReadings:
    """Readings of one flight. Made only as a `FlightModel`."""

    spec: AircraftSpec
    guidance_limits: GuidanceLimits
    references: References
    modes: GuidanceModes
    faults: Faults
    controls: PilotControls
    sources: dict[str, NavigationSource]
    _s: FlightState
    _k: AircraftConstants
    _air: AirModel
    _limits: Limits
    _guidance: GuidanceInput
    _nav: CourseReading
    _nav_fresh: bool
    _nav_key: NavKey
    _geometry: SourceGeometry | None
    _start_s: float
    _steps: int
    _dt_s: float

    __slots__ = tuple(__annotations__)

    @property
    def environment(self) -> Environment:
        """The air and the ground; `set_environment` replaces it."""
        return self._air.environment

    @property
    def t_s(self) -> float:
        """Time since the start [s]."""
        return self._start_s + self._steps * self._dt_s

    @property
    def altitude_ft(self) -> float:
        """Indicated altitude [ft], at the altimeter setting."""
        return (self._s.pressure_alt_m - self._air.altimeter_offset_m) / M_PER_FT

    @property
    def height_ft(self) -> float:
        """Height above the ground below [ft]."""
        return (self._s.height_m - self._s.ground_m) / M_PER_FT

    @property
    def airspeed_kt(self) -> float:
        """Calibrated airspeed [kt]."""
        return self._s.cas_mps / MPS_PER_KT

    @property
    def vertical_speed_fpm(self) -> float:
        """Rate of change of indicated altitude [ft/min]."""
        s = self._s
        climb_mps = s.speed_mps * math.sin(s.gamma_rad)
        return climb_mps * s.standard_k / (s.temperature_k * MPS_PER_FPM)

    @property
    def bank_deg(self) -> float:
        """Bank [deg], right wing down positive."""
        return self._s.phi_rad / RAD_PER_DEG

    @property
    def pitch_deg(self) -> float:
        """Pitch attitude [deg], nose up positive."""
        return self._s.theta_rad / RAD_PER_DEG

    @property
    def heading_deg(self) -> float:
        """Magnetic heading [deg], 0 up to 360."""
        return wrap_360_deg(self._s.psi_rad / RAD_PER_DEG)

    @property
    def track_deg(self) -> float:
        """Magnetic track over the ground [deg]; the heading when nearly at rest."""
        s = self._s
        if abs(s.last_north) + abs(s.last_east) < 1.0:
            return self.heading_deg
        return wrap_360_deg(math.atan2(s.last_east, s.last_north) / RAD_PER_DEG)

    @property
    def load_factor_g(self) -> float:
        """Lift over weight; 1.0 on the ground."""
        return 1.0 if self._s.on_ground else self._s.load_g

    @property
    def exceeded(self) -> tuple[str, ...]:
        """Aircraft limits exceeded now: never_exceed, flap_limit, load_factor."""
        spec = self.spec
        found = []
        if self.airspeed_kt > spec.never_exceed_kt:
            found.append("never_exceed")
        if self.controls.flaps > 0.0 and self.airspeed_kt > spec.flap_limit_kt:
            found.append("flap_limit")
        low_g, high_g = spec.minimum_load_factor_g, spec.maximum_load_factor_g
        if not low_g <= self.load_factor_g <= high_g:
            found.append("load_factor")
        return tuple(found)

    @property
    def on_ground(self) -> bool:
        """True while the wheels carry the aircraft."""
        return self._s.on_ground

    @property
    def attitude_valid(self) -> bool:
        """False when attitude data are lost."""
        return not self.faults.attitude and not self.faults.electrical

    @property
    def servo_ok(self) -> bool:
        """False when the servos have no power or their monitor has tripped."""
        return not self.faults.servo and not self.faults.electrical

    @property
    def electrical_ok(self) -> bool:
        """False when electrical power is lost."""
        return not self.faults.electrical

    @property
    def source_kind(self) -> str:
        """none, beacon, satellite_course or approach."""
        source = self.sources.get(self.references.source_id)
        return source.kind if source is not None else "none"

    @property
    def source_has_glidepath(self) -> bool:
        """True if the source in use transmits or computes a glidepath."""
        source = self.sources.get(self.references.source_id)
        return source is not None and source.glidepath_deg is not None

    def navigation(self) -> CourseReading:
        """Return the reading for the present place, source and faults; worked out once."""
        r = self.references
        f = self.faults
        key = (r.source_id, r.selected_course_deg, f.navigation, f.glidepath, f.electrical)
        if self._nav_fresh and key == self._nav_key:
            return self._nav
        if key != self._nav_key:
            self._nav_key = key
            self._geometry = self._tune()
        self._nav_fresh = True
        nav = self._nav
        geometry = self._geometry
        if geometry is None or f.navigation or f.electrical:
            nav.clear()
            return nav
        read_course(nav, self._s, geometry)
        if f.glidepath or geometry.glidepath_rad is None:
            nav.clear_glidepath()
        else:
            read_glidepath(nav, self._s, geometry)
        return nav

    def _tune(self) -> SourceGeometry | None:
        """Return the geometry of the source in use on the course in use."""
        source = self.sources.get(self.references.source_id)
        if source is None:
            return None
        course_deg = self.references.selected_course_deg
        if course_deg is None or source.kind == "approach":
            course_deg = source.course_deg
        return SourceGeometry(source, course_deg)

    @property
    def course_valid(self) -> bool:
        """True if the source in use gives a course here."""
        return self.navigation().valid

    @property
    def glidepath_valid(self) -> bool:
        """True if the source in use gives a glidepath here."""
        return self.navigation().glidepath_valid

    @property
    def course_deviation(self) -> float:
        """Fraction of full scale, > 0 right of the course; 0.0 without a signal.

        On the back course of an approach the sense is that of the front course, so reversed for
        the pilot ([NAV-10]); back-course guidance corrects it.
        """
        nav = self.navigation()
        return nav.deviation if nav.valid else 0.0

    @property
    def glidepath_deviation(self) -> float:
        """Fraction of full scale, > 0 above the path; 0.0 without a signal."""
        nav = self.navigation()
        return nav.glidepath_deviation if nav.glidepath_valid else 0.0

    @property
    def distance_nm(self) -> float:
        """Distance to the source in use [NM]; 0.0 if none."""
        return self.navigation().distance_m / M_PER_NM

    @property
    def course_intercept_margin(self) -> float:
        """How far from the point where the turn onto the course must begin.

        Fraction of full scale: > 0 keep going, <= 0 begin the turn now. Large when flying away from
        the course, against it, or without a signal; <= 0 also when on the course already. On the
        back-course side of an approach it is for flying the course against its direction.
        """
        nav = self.navigation()
        if not nav.valid or nav.station_passage or self._s.on_ground:
            return FAR_MARGIN
        angle_rad = abs(nav.angle_rad)
        sign = -1.0 if nav.back_course_side else 1.0
        if sign < 0.0:
            angle_rad = math.pi - angle_rad
        away_m = abs(nav.cross_m)
        near = away_m / nav.full_scale_m
        if angle_rad > WRONG_WAY_RAD:
            return FAR_MARGIN + near
        closing = nav.cross_rate_mps * nav.cross_m <= 0.0
        parallel = abs(nav.cross_rate_mps) < 0.03 * nav.ground_mps
        if near <= ON_COURSE_DEVIATION and (closing or parallel):
            return near - ON_COURSE_DEVIATION
        if not closing:
            return FAR_MARGIN + near
        lead_m = intercept_lead_m(self._s, nav, sign, self._limits)
        return (away_m - lead_m) / nav.full_scale_m

    @property
    def is_against_course(self) -> bool:
        """True if the aircraft flies away from where the course in use leads, or has no signal."""
        nav = self.navigation()
        if not nav.valid or nav.station_passage or self._s.on_ground:
            return True
        angle_rad = abs(nav.angle_rad)
        if nav.back_course_side:
            angle_rad = math.pi - angle_rad
        return angle_rad > WRONG_WAY_RAD

    @property
    def altitude_error_ft(self) -> float:
        """Selected minus indicated altitude [ft]."""
        return self.references.selected_altitude_ft - self.altitude_ft

    @property
    def target_altitude_error_ft(self) -> float:
        """Captured minus indicated altitude [ft]."""
        return self.references.captured_altitude_ft - self.altitude_ft

    @property
    def altitude_capture_margin_ft(self) -> float:
        """Distance to the point where levelling must begin [ft]; <= 0: begin now."""
        lead_ft = capture_lead_m(self.vertical_speed_fpm * MPS_PER_FPM, self._limits) / M_PER_FT
        return abs(self.altitude_error_ft) - lead_ft

    def sample(self) -> FlightSample:
        """Return a frozen snapshot in field units."""
        s = self._s
        nav = self.navigation()
        wind_mps = math.hypot(s.wind_north_mps, s.wind_east_mps)
        return FlightSample(
            t_s=self.t_s,
            north_nm=s.north_m / M_PER_NM,
            east_nm=s.east_m / M_PER_NM,
            altitude_ft=self.altitude_ft,
            pressure_altitude_ft=s.pressure_alt_m / M_PER_FT,
            height_ft=self.height_ft,
            heading_deg=self.heading_deg,
            track_deg=self.track_deg,
            bank_deg=self.bank_deg,
            pitch_deg=self.pitch_deg,
            airspeed_kt=self.airspeed_kt,
            true_airspeed_kt=s.air_mps / MPS_PER_KT,
            ground_speed_kt=math.hypot(s.last_north, s.last_east) / MPS_PER_KT,
            vertical_speed_fpm=self.vertical_speed_fpm,
            load_factor_g=self.load_factor_g,
            power_percent=100.0 * s.power,
            course_valid=nav.valid,
            course_deviation=self.course_deviation,
            glidepath_valid=nav.glidepath_valid,
            glidepath_deviation=self.glidepath_deviation,
            distance_nm=nav.distance_m / M_PER_NM,
            cue_bank_deg=s.phi_cmd_rad / RAD_PER_DEG,
            cue_pitch_deg=s.theta_cmd_rad / RAD_PER_DEG,
            on_ground=s.on_ground,
            stalled=s.stall_rad > 0.0,
            true_altitude_ft=s.height_m / M_PER_FT,
            station_passage=nav.station_passage,
            false_glidepath=nav.false_glidepath,
            wind_from_deg=_wind_from_deg(s),
            wind_speed_kt=wind_mps / MPS_PER_KT,
            exceeded=self.exceeded,
        )


def _wind_from_deg(s: FlightState) -> float:
    """Return where the wind blows from [deg]; 0.0 in still air."""
    if s.wind_north_mps == 0.0 and s.wind_east_mps == 0.0:
        return 0.0
    return wrap_360_deg(math.atan2(-s.wind_east_mps, -s.wind_north_mps) / RAD_PER_DEG)
