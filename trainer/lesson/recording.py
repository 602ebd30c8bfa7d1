"""A practice flight recorded as a timeline and turned into a lesson.

The recorder notes what the pilot did and what then changed, and `to_lesson` writes the steps.
Flown again, the lesson repeats the practice; a selector turned step by step becomes one setting.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from trainer.flight.types import InitialCondition
from trainer.lesson.spec import (
    Do,
    Inject,
    Lesson,
    Say,
    Selected,
    Set,
    Start,
    StartModes,
    Step,
    Wait,
)
from trainer.session.faults import faults_of
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session

TURN_S = 1.5
"""Turns of one selector with no more between them than this are one setting [s]."""
LEAST_MINUTES = 1.0
SLOWEST_HELD_KT = 40.0
"""An aircraft that stands still holds no airspeed that a lesson could begin with."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the annunciation that came by itself."""

    rule_id: str


Noted = Do | Set | Inject | Say | Change


@dataclass(frozen=True, slots=True)
class Entry:
    """Something on the timeline."""

    t_s: float
    what: Noted
    shows: tuple[tuple[str, str | tuple[str, ...]], ...] = ()
    """Cells that changed then, with what they read afterwards, where that is known."""
    is_dead: bool = False
    """True for a key that did nothing at all."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """A recorded flight: where it began, what was done and what happened."""

    installation: str
    start: Start
    entries: tuple[Entry, ...]
    ended_s: float
    """Length of the recording [s]; times of entries count from its beginning."""

    def without_dead_keys(self) -> Timeline:
        """Return the timeline without the keys that did nothing at all."""
        return replace(self, entries=tuple(one for one in self.entries if not one.is_dead))


class Recorder:
    """Notes what is done to a session; the caller does it through the recorder.

    Args:
        session: The session, at the moment from which the recording counts.
        start: The situation that it is in; None: read from the session.
    """

    def __init__(self, session: Session, start: Start | None = None) -> None:
        self._session = session
        self._start = situation_of(session) if start is None else start
        self._began_s = session.t_s
        self._entries: list[Entry] = []

    def press(self, event: str) -> StepRecord:
        """Press a key."""
        record = self._session.press(event)
        is_stuck = event in self._session.flight.faults.stuck_keys
        self._note(Do(event), is_dead=record.is_empty and not is_stuck)
        return record

    def select(self, name: str, value: float | str) -> StepRecord | None:
        """Turn a selector."""
        record = self._session.select(name, value)
        self._note(Set(((name, value),)))
        return record

    def inject(self, fault: str, on: bool = True) -> StepRecord | None:
        """Begin or end a malfunction."""
        record = self._session.inject(fault, on)
        self._note(Inject(fault, on))
        return record

    def say(self, text: str) -> None:
        """Speak a line of narration."""
        self._note(Say(" ".join(text.split())))

    def step(self) -> StepRecord | None:
        """Fly one step."""
        record = self._session.step(STEP_S)
        if record is not None and record.has_changed:
            self._note(Change(record.event))
        return record

    def timeline(self) -> Timeline:
        """Return what has been recorded so far."""
        return Timeline(
            self._session.installation.id, self._start, tuple(self._entries), self._now_s
        )

    @property
    def _now_s(self) -> float:
        return self._session.t_s - self._began_s

    def _note(self, what: Noted, *, is_dead: bool = False) -> None:
        self._entries.append(Entry(self._now_s, what, is_dead=is_dead))


def situation_of(session: Session) -> Start:
    """Return the situation that a session is in now, as the start of a lesson.

    The flight begins trimmed there, so it goes on nearly, not exactly, as this one would.
    """
    flight, references, shown = session.flight, session.references, session.annunciation
    chart = session.installation.chart
    states = dict(zip(chart.regions, session.configuration, strict=True))
    initial = InitialCondition(
        altitude_ft=round(flight.altitude_ft), heading_deg=round(flight.heading_deg, 1) % 360.0,
        airspeed_kt=round(flight.airspeed_kt, 1),
        vertical_speed_fpm=round(flight.vertical_speed_fpm),
        bank_deg=round(flight.bank_deg, 1), north_nm=round(flight.sample().north_nm, 3),
        east_nm=round(flight.sample().east_nm, 3),
        power_percent=round(flight.controls.power_percent), on_ground=flight.on_ground,
    )  # fmt: skip
    armed = (*shown.lateral.armed, *shown.vertical.armed)
    modes = StartModes(
        states["engagement"], shown.lateral.active, shown.vertical.active, armed,
        "testing" if states.get("system") == "testing" else "ready",
    )  # fmt: skip
    selected = Selected(
        references.selected_altitude_ft, references.selected_heading_deg,
        references.selected_course_deg, references.source_id,
        references.vertical_speed_fpm,
        references.airspeed_kt if references.airspeed_kt >= SLOWEST_HELD_KT else None,
    )  # fmt: skip
    sources = tuple(flight.sources.values())
    return Start(initial, flight.environment, modes, selected, sources, faults_of(flight))


def to_lesson(
    timeline: Timeline,
    lesson_id: str,
    title: str,
    objectives: Iterable[str],
    *,
    summary: str = "",
    competencies: tuple[str, ...] = (),
) -> Lesson:
    """Return the lesson that repeats the timeline and asks what was marked."""
    return Lesson(
        lesson_id, "", title, timeline.installation, tuple(objectives), competencies,
        timeline.start, tuple(_steps(timeline)),
        max(LEAST_MINUTES, round(timeline.ended_s / 30.0) / 2.0 + 1.0), summary,
    )  # fmt: skip


def _steps(timeline: Timeline) -> list[Step]:
    steps: list[Step] = []
    now_s = 0.0
    for entry in _settled(timeline.entries):
        if isinstance(entry.what, Change):
            continue
        if entry.t_s - now_s > STEP_S / 2.0:
            steps.append(Wait(round(entry.t_s - now_s, 2)))
            now_s = entry.t_s
        last = steps[-1] if steps else None
        if isinstance(last, Set) and isinstance(entry.what, Set) and _are_others(last, entry.what):
            steps[-1] = Set((*last.values, *entry.what.values))
        else:
            steps.append(entry.what)
    if timeline.ended_s - now_s > STEP_S / 2.0:
        steps.append(Wait(round(timeline.ended_s - now_s, 2)))
    return steps


def _are_others(one: Set, other: Set) -> bool:
    return not {name for name, _ in one.values} & {name for name, _ in other.values}


def _settled(entries: tuple[Entry, ...]) -> list[Entry]:
    """Return the entries with each run of turns of one selector made the last of them."""
    kept: list[Entry] = []
    for entry in entries:
        if kept and _goes_on(kept[-1], entry):
            kept.pop()
        kept.append(entry)
    return kept


def _goes_on(last: Entry, entry: Entry) -> bool:
    """True if an entry turns the same selector further, and nothing came of the last turn."""
    if not (isinstance(last.what, Set) and isinstance(entry.what, Set)) or last.shows:
        return False
    (name, _), (other, _) = last.what.values[0], entry.what.values[0]
    is_stick = name.startswith("stick_")
    return name == other and not is_stick and entry.t_s - last.t_s <= TURN_S
