"""A practice flight recorded as a timeline, edited, and turned into a lesson.

Everything is a value: the recorder notes what the pilot did and what then changed, the editing
functions return new timelines, and `to_lesson` writes the steps. Flown again, the lesson repeats
the practice step by step.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from trainer.flight.types import InitialCondition
from trainer.lesson.spec import (
    Do,
    Inject,
    Lesson,
    Predict,
    PromptKind,
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

LEAD_S = 20.0
"""How long before a change its prompt is put, if nothing else lies between."""
MARGIN_S = 30.0
"""How much longer than it took a prompt waits for its change."""
AFTER_S = 5.0
"""How long after a change a prompt for a moment looks."""
LEAST_MINUTES = 1.0


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
    asks: bool = False
    """True: it becomes a prompt instead of simply happening."""
    kind: PromptKind | None = None
    """Kind of the prompt; None: the usual one for what happened."""
    shows: tuple[tuple[str, str | tuple[str, ...]], ...] = ()
    """Cells that changed then, with what they read afterwards, where that is known."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """A recorded flight: where it began, what was done and what happened."""

    installation: str
    start: Start
    entries: tuple[Entry, ...]
    ended_s: float
    """Length of the recording [s]; times of entries count from its beginning."""


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
        self._note(Do(event))
        return self._session.press(event)

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

    def _note(self, what: Noted) -> None:
        self._entries.append(Entry(self._now_s, what))


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
        references.vertical_speed_fpm, references.airspeed_kt,
    )  # fmt: skip
    sources = tuple(flight.sources.values())
    return Start(initial, flight.environment, modes, selected, sources, faults_of(flight))


def moved(timeline: Timeline, index: int, by_s: float) -> Timeline:
    """Return the timeline with one entry earlier or later, but not past its ends."""
    entry = timeline.entries[index]
    t_s = _on_step(min(max(entry.t_s + by_s, 0.0), timeline.ended_s))
    return _with(timeline, index, replace(entry, t_s=t_s))


def asked(
    timeline: Timeline, index: int, asks: bool = True, kind: PromptKind | None = None
) -> Timeline:
    """Return the timeline with one entry turned into a prompt of a kind, or back."""
    return _with(timeline, index, replace(timeline.entries[index], asks=asks, kind=kind))


def kinds_for(entry: Entry) -> tuple[PromptKind, ...]:
    """Return the kinds of prompt that an entry can become, the usual one first."""
    cells = dict(entry.shows)
    match entry.what:
        case Change():
            kinds: list[PromptKind] = ["next_change", "after_time"]
            if "lateral_active" in cells or "vertical_active" in cells:
                kinds.append("first_capture")
            if cells.get("vertical_active") == "altitude_capture":
                kinds.append("level_off")
            return tuple(kinds)
        case Do():
            return (
                ("after_key", "is_allowed", "which_key") if cells else ("after_key", "is_allowed")
            )
        case Set():
            return ("after_set",)
        case Inject(_, True):
            return ("after_fault",)
    return ()


def removed(timeline: Timeline, index: int) -> Timeline:
    """Return the timeline without one entry."""
    kept = timeline.entries[:index] + timeline.entries[index + 1 :]
    return replace(timeline, entries=kept)


def narrated(timeline: Timeline, t_s: float, text: str) -> Timeline:
    """Return the timeline with a line of narration at a time [s]."""
    entry = Entry(_on_step(min(max(t_s, 0.0), timeline.ended_s)), Say(" ".join(text.split())))
    return replace(timeline, entries=_ordered((*timeline.entries, entry)))


def trimmed(timeline: Timeline, ended_s: float) -> Timeline:
    """Return the timeline cut off at a time [s]."""
    end_s = _on_step(max(0.0, min(ended_s, timeline.ended_s)))
    kept = tuple(entry for entry in timeline.entries if entry.t_s <= end_s)
    return replace(timeline, entries=kept, ended_s=end_s)


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

    def wait_until(t_s: float) -> None:
        nonlocal now_s
        if t_s - now_s > STEP_S / 2.0:
            steps.append(Wait(round(t_s - now_s, 2)))
            now_s = t_s

    for entry in timeline.entries:
        if isinstance(entry.what, Change):
            if entry.asks:
                wait_until(max(now_s, _on_step(entry.t_s - LEAD_S)))
                kind = entry.kind or "next_change"
                more_s = AFTER_S if kind == "after_time" else MARGIN_S
                horizon_s = round(entry.t_s - now_s + more_s, 2)
                steps.append(Predict(kind, horizon_s=horizon_s))
                now_s = now_s + horizon_s if kind == "after_time" else entry.t_s
            else:
                # Prompts that follow must not see this change coming as theirs.
                wait_until(entry.t_s)
            continue
        wait_until(entry.t_s)
        steps.append(_asking(entry, entry.what) if entry.asks else entry.what)
    wait_until(timeline.ended_s)
    return steps


def _asking(entry: Entry, what: Do | Set | Inject | Say) -> Step:
    match what:
        case Do() if entry.kind == "which_key":
            return Predict("which_key", horizon_s=0.0, shows=entry.shows)
        case Do(event):
            return Predict(entry.kind or "after_key", event, 0.0)
        case Set(values):
            return Predict("after_set", horizon_s=0.0, values=values)
        case Inject(fault, True):
            return Predict("after_fault", horizon_s=0.0, fault=fault)
    return what


def _with(timeline: Timeline, index: int, entry: Entry) -> Timeline:
    entries = (*timeline.entries[:index], entry, *timeline.entries[index + 1 :])
    return replace(timeline, entries=_ordered(entries))


def _ordered(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    return tuple(sorted(entries, key=lambda entry: entry.t_s))


def _on_step(t_s: float) -> float:
    return round(round(t_s / STEP_S) * STEP_S, 2)
