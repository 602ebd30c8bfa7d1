"""One small flight flown for an example: a situation, one action, and what became of it.

Nothing here is typed in advance: the strip before and after, the refusal, the times and the
numbers all come from a session of the installation that is asked about.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from trainer.charts.installation import Installation
from trainer.flight import AircraftSpec, FlightSample
from trainer.session.annunciation import Annunciation
from trainer.session.logic import Logic
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.session.situation import SituationError, Start
from trainer.session.start import begin

ActionKind = Literal["press", "let_go", "select", "source", "fault", "wait"]
ALTITUDE_TURN_FT = 500.0
"""How far an example turns the altitude selector: enough not to be the same altitude."""


@dataclass(frozen=True, slots=True)
class Action:
    """What is done in an example, and for how long it is then watched."""

    kind: ActionKind = "wait"
    name: str = ""
    """Event pressed, or fault injected."""
    times: int = 1
    """How often a key is pressed."""
    watch_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Change:
    """The strip changed while the example was watched."""

    t_s: float
    altitude_ft: float
    record: StepRecord


@dataclass(frozen=True, slots=True)
class Flown:
    """All that an example shows of one flight."""

    before: Annunciation
    before_sample: FlightSample
    after: Annunciation
    """At the end."""
    after_sample: FlightSample
    marks: frozenset[str]
    is_missing: bool = False
    """The key doesn't exist in this aircraft."""
    record: StepRecord | None = None
    """What the action did at once."""
    changes: tuple[Change, ...] = ()
    selected_altitude_ft: float = 0.0
    selected_heading_deg: float = 0.0
    metrics: dict[str, float] = field(default_factory=dict)
    """Largest values met while watching, by name; the unit ends the name."""

    @property
    def at_once(self) -> Annunciation:
        """The strip right after the action."""
        return self.record.after if self.record is not None else self.before

    @property
    def refusal(self) -> str:
        """Id of the refusal, or an empty text."""
        refused = self.record.refusal if self.record is not None else None
        return refused.rule_id if refused is not None else ""


@dataclass(frozen=True, slots=True)
class Moment:
    """Where an example begins; anybody can begin a flight there.

    Attributes:
        installation: The logic that flies in it.
        lead_s: Time flown from the start before anything is done [s].
    """

    installation: Installation
    start: Start
    lead_s: float = 0.0

    def begin(self, logic: Logic, aircraft: AircraftSpec) -> Session:
        """Return a session at this moment.

        Raises:
            SituationError: It doesn't hold there.
        """
        session = begin(logic, aircraft, self.start)
        for _ in range(round(self.lead_s / STEP_S)):
            session.step()
        return session


def try_begin(logic: Logic, aircraft: AircraftSpec, start: Start) -> Session | None:
    """Return a session in a situation, or None if it doesn't hold there."""
    try:
        return begin(logic, aircraft, start)
    except SituationError:
        return None


def fly(session: Session, action: Action) -> Flown:
    """Fly an action on a fork of a session; the session itself stays as it is."""
    flight = session.fork()
    before, sample = flight.annunciation, flight.flight.sample()
    is_missing = _is_key(action) and action.name not in flight.installation.chart.events
    record = None if is_missing else _act(flight, action)
    watch = Watch(flight)
    watch.run(action.watch_s)
    return Flown(
        before, sample, flight.annunciation, flight.flight.sample(), frozenset(flight.marks),
        is_missing, record, tuple(watch.changes), flight.references.selected_altitude_ft,
        flight.references.selected_heading_deg, watch.metrics(),
    )  # fmt: skip


def _is_key(action: Action) -> bool:
    return action.kind in ("press", "let_go")


def _act(session: Session, action: Action) -> StepRecord | None:
    match action.kind:
        case "press":
            record = session.press(action.name)
            for _ in range(action.times - 1):
                record = session.press(action.name)
            return record
        case "let_go":
            session.press(action.name.removesuffix("_released") + "_pressed")
            return session.press(action.name)
        case "select":
            selected_ft = session.references.selected_altitude_ft
            return session.select("selected_altitude_ft", selected_ft + ALTITUDE_TURN_FT)
        case "source":
            other = [one for one in session.flight.sources if one != session.references.source_id]
            return session.select("source", other[0]) if other else None
        case "fault":
            return session.inject(action.name)
    return None


class Watch:
    """Lets a session fly and notes what changes and the largest values met."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.changes: list[Change] = []
        self._largest: dict[str, float] = {}
        self._marked_s: dict[str, float] = {}

    def run(self, watch_s: float) -> None:
        """Fly on."""
        session = self._session
        for _ in range(round(watch_s / STEP_S)):
            bank_deg, pitch_deg = session.flight.bank_deg, session.flight.pitch_deg
            record = session.step()
            if record is not None and record.has_changed:
                altitude_ft = session.flight.altitude_ft
                self.changes.append(Change(session.t_s, altitude_ft, record))
            self._note(bank_deg, pitch_deg)

    def metrics(self) -> dict[str, float]:
        """Return the largest values met, by name."""
        reference_fpm = abs(self._session.references.vertical_speed_fpm)
        marked_s = max(self._marked_s.values(), default=0.0)
        return {**self._largest, "reference_fpm": reference_fpm, "mark_s": marked_s}

    def _note(self, bank_deg: float, pitch_deg: float) -> None:
        flight = self._session.flight
        self._keep("bank_deg", abs(flight.bank_deg))
        self._keep("pitch_up_deg", flight.pitch_deg)
        self._keep("pitch_down_deg", -flight.pitch_deg)
        self._keep("roll_rate_dps", abs(flight.bank_deg - bank_deg) / STEP_S)
        self._keep("pitch_rate_dps", abs(flight.pitch_deg - pitch_deg) / STEP_S)
        for cell in self._session.marks:
            self._marked_s[cell] = self._marked_s.get(cell, 0.0) + STEP_S

    def _keep(self, name: str, value: float) -> None:
        self._largest[name] = max(self._largest.get(name, value), value)
