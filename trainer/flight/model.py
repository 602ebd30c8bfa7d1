"""`FlightModel`: one flight, stepped, read and copied. The face of this package.

Deterministic: the same inputs give the same numbers bit for bit. The session writes `references`,
`modes`, `faults` and `controls` between steps; readings are in field units.
"""

from __future__ import annotations

from trainer.errors import TrainerError
from trainer.flight.air import AirModel, refresh_air, refresh_wind
from trainer.flight.aircraft import AircraftConstants, AircraftSpec
from trainer.flight.ground import advance_on_ground, touch_down
from trainer.flight.guidance_input import GuidanceInput
from trainer.flight.guidance_lateral import COURSE_MODES, LATERAL_LAWS
from trainer.flight.guidance_vertical import (
    PATH_MODES,
    SLOWEST_CAPTURE_MPS,
    VERTICAL_LAWS,
    begin_path,
    speed_protected_rad,
)
from trainer.flight.limits import Limits
from trainer.flight.navigation import CourseReading
from trainer.flight.pilot import control_rates
from trainer.flight.point_mass import advance, forces
from trainer.flight.readings import NO_KEY, FlightReadings
from trainer.flight.references import synchronise
from trainer.flight.state import clone
from trainer.flight.trim import trimmed_state
from trainer.flight.turbulence import advance_gusts, still_gusts
from trainer.flight.types import (
    Environment,
    Faults,
    GuidanceLimits,
    GuidanceModes,
    InitialCondition,
    NavigationSource,
    PilotControls,
    References,
)
from trainer.units import MPS_PER_KT

_REFERENCES = tuple(References.__slots__)
_MODES = tuple(GuidanceModes.__slots__)
_FAULTS = tuple(Faults.__slots__)
_CONTROLS = tuple(PilotControls.__slots__)


class UnknownModeError(TrainerError):
    """A guidance mode for which there is no law."""


class FlightModel(FlightReadings):
    """One flight of one aircraft.

    Attributes:
        references: What the pilot selected and what guidance follows.
        modes: What the mode logic tells the guidance to fly.
        faults: Malfunctions in force.
        controls: The pilot's hands, power, flaps and gear.
    """

    __slots__ = ()

    def __init__(
        self,
        aircraft: AircraftSpec,
        initial: InitialCondition,
        environment: Environment,
        sources: tuple[NavigationSource, ...],
        limits: GuidanceLimits,
    ) -> None:
        """Set a flight up, trimmed as well as its power allows.

        Args:
            aircraft: The aircraft.
            initial: Where and how it starts.
            environment: Air and ground.
            sources: Navigation sources that can be tuned, each id once.
            limits: What the installation allows the guidance to do.
        """
        self.spec = aircraft
        self.guidance_limits = limits
        self.sources = {source.id: source for source in sources}
        self._k = AircraftConstants(aircraft)
        self._air = AirModel(environment)
        self._limits = Limits(limits)
        self.modes = GuidanceModes()
        self.faults = Faults()
        self.controls = PilotControls()
        self._s = trimmed_state(initial, self._k, self._air, self.controls)
        self.controls.power_percent = 100.0 * self._s.power
        self._nav = CourseReading()
        self._nav_fresh = False
        self._nav_key = NO_KEY
        self._geometry = None
        self._start_s, self._steps, self._dt_s = 0.0, 0, 0.05
        self.references = References()
        self._guidance = self._guidance_input()
        self._start_references()

    def _start_references(self) -> None:
        """Set the references to what the flight does now."""
        r = self.references
        r.selected_heading_deg = r.go_around_heading_deg = self.heading_deg
        r.selected_altitude_ft = r.captured_altitude_ft = r.held_altitude_ft = self.altitude_ft
        for what in ("vertical_speed", "airspeed", "pitch", "bank"):
            synchronise(self, what)

    def step(self, dt_s: float) -> None:
        """Fly for dt_s [s]; 0.05 s is the normal step.

        Raises:
            UnknownModeError: `modes` holds a mode for which there is no law.
        """
        if dt_s != self._dt_s:
            self._start_s, self._steps, self._dt_s = self.t_s, 0, dt_s
        s = self._s
        k = self._k
        air = self._air
        modes = self.modes
        controls = self.controls
        s.step_s = dt_s
        self._update_cue()
        p_cmd, q_cmd = control_rates(
            s, k, self._limits, dt_s, modes=modes, faults=self.faults, controls=controls
        )
        lever = controls.power_percent * 0.01
        lever = 0.0 if lever < 0.0 else min(lever, 1.0)
        if s.on_ground:
            advance_on_ground(s, k, dt_s, lever)
        else:
            environment = air.environment
            if environment.turbulence > 0.0:
                rms_mps = environment.turbulence * MPS_PER_KT
                advance_gusts(s, rms_mps, environment.turbulence_seed, dt_s)
            advance(s, k, dt_s, p_cmd=p_cmd, q_cmd=q_cmd, lever=lever)
            if s.height_m <= s.ground_m and s.climb_mps < 0.0:
                touch_down(s)
        refresh_air(s, air)
        forces(s, k, controls.flaps, 1.0 if controls.gear_down else 0.0)
        s.last_lateral = modes.lateral
        s.last_vertical = modes.vertical
        s.last_servos = modes.servos
        self._steps += 1
        self._nav_fresh = False

    def _update_cue(self) -> None:
        """Set the bank and pitch that the guidance asks for."""
        modes = self.modes
        lateral = modes.lateral
        vertical = modes.vertical
        if (lateral == "none" and vertical == "none") or not self.attitude_valid:
            return
        if lateral in COURSE_MODES or vertical == "glidepath":
            self.navigation()
        g = self._guidance
        g.references = self.references
        if lateral != "none":
            law = LATERAL_LAWS.get(lateral)
            if law is None:
                raise UnknownModeError(
                    f"found lateral mode {lateral!r}; accepted: none, {', '.join(LATERAL_LAWS)}"
                )
            g.state.phi_cmd_rad = law(g)
        if vertical != "none" and not g.state.on_ground:
            self._update_pitch_cue(g, vertical)

    def _update_pitch_cue(self, g: GuidanceInput, vertical: str) -> None:
        """Set the pitch that the guidance asks for, inside its limits and speed protection."""
        law = VERTICAL_LAWS.get(vertical)
        if law is None:
            raise UnknownModeError(
                f"found vertical mode {vertical!r}; accepted: none, {', '.join(VERTICAL_LAWS)}"
            )
        s = g.state
        if vertical != s.last_vertical or s.last_servos != self.modes.servos:
            begin_path(s, s.last_vertical in PATH_MODES)
            s.capture_rate_mps = max(abs(s.climb_mps), SLOWEST_CAPTURE_MPS)
        theta = law(g)
        protection = self.modes.protection
        if protection != "none":
            theta = speed_protected_rad(g, protection, theta)
        limits = g.limits
        if theta > limits.pitch_up_rad:
            theta = limits.pitch_up_rad
        elif theta < -limits.pitch_down_rad:
            theta = -limits.pitch_down_rad
        s.theta_cmd_rad = theta

    def _guidance_input(self) -> GuidanceInput:
        """Return what the guidance laws look at, for this flight."""
        g = GuidanceInput(self._s, self.references, self._limits, self._k, self._nav)
        g.altimeter_offset_m = self._air.altimeter_offset_m
        return g

    def set_environment(self, environment: Environment) -> None:
        """Replace the air and the ground; place, true altitude and true airspeed stay."""
        s = self._s
        self._air = air = AirModel(environment)
        self._guidance.altimeter_offset_m = air.altimeter_offset_m
        if environment.turbulence <= 0.0:
            still_gusts(s)
        refresh_wind(s, air)
        refresh_air(s, air)
        forces(s, self._k, self.controls.flaps, 1.0 if self.controls.gear_down else 0.0)
        self._nav_fresh = False

    def sync(self, what: str) -> None:
        """Write a reference from the present state; see `references.SYNC` for the words."""
        synchronise(self, what)

    def copy(self) -> FlightModel:
        """Return an independent copy that goes on from here exactly as this one would."""
        twin = clone(self, FlightReadings.__slots__)
        twin._s = self._s.copy()
        twin.references = clone(self.references, _REFERENCES)
        twin.modes = clone(self.modes, _MODES)
        twin.faults = clone(self.faults, _FAULTS)
        twin.controls = clone(self.controls, _CONTROLS)
        twin._nav = CourseReading()
        twin._nav_fresh = False
        twin._guidance = twin._guidance_input()
        return twin
