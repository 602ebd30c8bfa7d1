"""One sitting at the window: what flies, how fast, and what becomes of answers. No Qt here.

The window calls `tick` with real time and the methods below with what the trainee does, and shows
what the properties say. It decides nothing itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.assessment.prediction import Prediction
from trainer.assessment.tutor import Outcome, Tutor
from trainer.lesson.recording import Change, Entry, Noted, Timeline, situation_of
from trainer.lesson.spec import Do, Inject, Set
from trainer.session.annunciation import changed_cells
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.session.situation import Start
from trainer.ui.flight_log import Call, FlightLog
from trainer.ui.free_flight import FreeFlight
from trainer.ui.scene import Scene, Track
from trainer.ui.verify_drill import Noticed, VerifyDrill

SPEEDS = (1, 2, 4, 8)
_LONGEST_TICK_S = 0.25
"""A window that was held up doesn't make the flight jump."""
_REVEAL_AT_ONE_S = 3.0
_FASTEST_REVEAL = 32.0


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer as it came, for the store."""

    outcome: Outcome
    taken_s: float


class Practice:
    """Drives a lesson or a free flight."""

    def __init__(self, flyer: Tutor | FreeFlight, keep: Callable[[Answered], None]) -> None:
        self.flyer = flyer
        self.track = Track()
        self.is_running = False
        self.speed = 1
        self.last_record: StepRecord | None = None
        self.prediction: Prediction | None = None
        self.noticed: Noticed | None = None
        self._keep = keep
        self._thinking_s = 0.0
        self._revealed_s = 0.0
        self.track.add(self.session.flight.sample())
        self.log = FlightLog(self.session)
        self.is_preview = False
        """True while an author tries a lesson: no answer is kept."""
        self.start: Start | None = None
        """The situation in which it began, where that is known."""
        self.began_s = self.session.t_s
        self.deeds: list[Entry] = []
        """What was done and what came of it, for a lesson made from the flight."""

    @property
    def session(self) -> Session:
        """The session that flies."""
        return self.flyer.session

    @property
    def is_lesson(self) -> bool:
        """True for a lesson, False for free practice."""
        return isinstance(self.flyer, Tutor)

    @property
    def can_act(self) -> bool:
        """True while keys and selectors act: never while a question is open."""
        return self.flyer.phase == "running"

    @property
    def is_moving(self) -> bool:
        """True if time runs now."""
        if self.flyer.phase == "revealing":
            return True
        return self.is_running and self.flyer.phase == "running"

    def tick(self, real_s: float) -> None:
        """Let real time pass: it runs the flight, or the time taken to answer."""
        if self.flyer.phase == "asking":
            self._thinking_s += real_s
            return
        if not self.is_moving:
            return
        speed = float(self.speed)
        if self.flyer.phase == "revealing":
            self._revealed_s += real_s
            speed = reveal_speed(self._revealed_s)
        had = len(self.flyer.outcomes)
        step = self._lesson_step
        self._note(self.flyer.advance(min(real_s, _LONGEST_TICK_S) * speed))
        self.log.note(self.session)
        if self._lesson_step != step:
            self.log.keep(self.session)
        if len(self.flyer.outcomes) > had:
            self._keep_last()
        if isinstance(self.flyer, FreeFlight) and self.flyer.verify is not None:
            self.noticed = self.flyer.verify.tick(self.session.t_s) or self.noticed
        self.track.add(self.session.flight.sample())

    def press(self, event: str) -> None:
        """Press a key of the aircraft, if keys act now."""
        if not self.can_act:
            return
        self.noticed = None
        if isinstance(self.flyer, FreeFlight):
            record = self.flyer.press(event)
            self._thinking_s = 0.0
        else:
            record = self.session.press(event)
        if record is not None:
            self._deed(Do(event), record)
        self._note(() if record is None else (record,))
        self.log.keep(self.session)

    def select(self, name: str, value: float | str) -> None:
        """Turn a selector, if they act now."""
        if self.can_act:
            record = self.session.select(name, value)
            self._deed(Set(((name, value),)), record)
            self._note(() if record is None else (record,))
            self.log.keep(self.session)

    def inject(self, fault: str, is_on: bool) -> None:
        """Start or end a malfunction."""
        if self.can_act:
            record = self.session.inject(fault, is_on)
            self._deed(Inject(fault, is_on), record)
            self._note(() if record is None else (record,))
            self.log.keep(self.session)

    def move_stick(self, bank: float, pitch: float) -> None:
        """Move the stick; it acts while the hands fly and the servos are off."""
        if self.can_act:
            for name, value in (("stick_bank", bank), ("stick_pitch", pitch)):
                self._deed(Set(((name, value),)), self.session.select(name, value))
            self.log.keep(self.session)

    def set_drill_rate(self, rate: int) -> None:
        """Ask for a call at every n-th key; 0: never."""
        if isinstance(self.flyer, FreeFlight):
            self.flyer.drill_rate = rate

    def set_verify(self, drill: VerifyDrill | None) -> None:
        """Begin the verify drill, or end it."""
        if isinstance(self.flyer, FreeFlight):
            self.flyer.verify = drill

    def notice(self) -> None:
        """Say that the strip doesn't read what was asked."""
        if isinstance(self.flyer, FreeFlight) and self.flyer.verify is not None:
            self.noticed = self.flyer.verify.say(self.session.t_s)

    def next_source(self) -> None:
        """Put the next navigation source in use."""
        sources = list(self.session.flight.sources)
        if sources and self.can_act:
            current = self.session.references.source_id
            place = sources.index(current) + 1 if current in sources else 0
            self.select("source", sources[place % len(sources)])

    def answer(self, prediction: Prediction) -> None:
        """Give the answer; what happened is stored as soon as it is known."""
        if self.flyer.phase != "asking":
            return
        had = len(self.flyer.outcomes)
        self._revealed_s = 0.0
        self.prediction = prediction
        self.flyer.answer(prediction)
        if isinstance(self.flyer, FreeFlight) and self.flyer.outcome is not None:
            called = self.flyer.outcome
            self._deed(Do(called.prompt.key), next(iter(called.records), None))
        if self.flyer.outcome is not None:
            self._note(self.flyer.outcome.records)
        if len(self.flyer.outcomes) > had:
            self._keep_last()

    def proceed(self) -> None:
        """Go on: begin, or fly on after an explanation."""
        if self.flyer.phase == "explained":
            self._thinking_s = 0.0
            self._note(self.flyer.proceed() or ())
        self.is_running = self.flyer.phase == "running"

    def toggle_run(self) -> None:
        """Run or pause."""
        if self.flyer.phase == "running":
            self.is_running = not self.is_running

    def change_speed(self, step: int) -> None:
        """Go to the next (+1) or previous (-1) speed."""
        place = SPEEDS.index(self.speed) + step
        self.speed = SPEEDS[max(0, min(len(SPEEDS) - 1, place))]

    def restart(self) -> None:
        """Begin again."""
        self.flyer.restart()
        self.track.clear()
        self.track.add(self.session.flight.sample())
        self.log = FlightLog(self.session)
        self.deeds = []
        self.last_record = None
        self.is_running = False
        self._thinking_s = self._revealed_s = 0.0

    def scene(self) -> Scene:
        """Return what the plan and the profile draw."""
        flight, references = self.session.flight, self.session.references
        return Scene(
            flight.sample(),
            self.track.points,
            tuple(flight.sources.values()),
            references.source_id,
            references.selected_course_deg,
            references.selected_heading_deg,
            references.selected_altitude_ft,
            flight.environment.ground_elevation_ft,
        )

    def _note(self, records: tuple[StepRecord, ...]) -> None:
        for record in records:
            if record.is_empty:
                continue
            self.last_record = record
            if record.has_changed and record.by in ("automatic", "reversion"):
                self._deed(Change(record.event), record, record.t_s)
            if record.has_changed:
                self.track.add(self.session.flight.sample(), record.event)

    @property
    def undo_s(self) -> float | None:
        """The moment just before the last thing done [s]; None: nothing to undo."""
        mine = [deed for deed in self.deeds if not isinstance(deed.what, Change)]
        if self.is_lesson or not mine or self.flyer.phase != "running":
            return None
        return max(self.began_s, self.began_s + mine[-1].t_s - STEP_S)

    def recording(self) -> Timeline:
        """Return the flight so far as a timeline that can be made a lesson."""
        start = self.start or situation_of(self.session)
        length_s = self.session.t_s - self.began_s if self.start else 0.0
        deeds = tuple(self.deeds) if self.start else ()
        return Timeline(self.session.installation.id, start, deeds, length_s)

    def _deed(self, what: Noted, record: StepRecord | None, t_s: float | None = None) -> None:
        shows: list[tuple[str, str | tuple[str, ...]]] = []
        if record is not None:
            cells = changed_cells(record.before, record.after)
            shows = [(cell, record.after.cell(cell)) for cell in cells]
        at_s = (self.session.t_s if t_s is None else t_s) - self.began_s
        self.deeds.append(Entry(round(at_s, 2), what, shows=tuple(shows)))

    @property
    def _lesson_step(self) -> int:
        return self.flyer.step_index if isinstance(self.flyer, Tutor) else 0

    def _keep_last(self) -> None:
        self.log.calls.append(Call(self.session.t_s, self.flyer.outcomes[-1]))
        self.log.keep(self.session)
        self._keep(Answered(self.flyer.outcomes[-1], self._thinking_s))
        self._thinking_s = 0.0


def reveal_speed(revealed_s: float) -> float:
    """Return how fast time runs towards the answer: as flown at first, then ever faster.

    A change that is seconds away is seen as it would be; one that is minutes away isn't waited for.
    """
    if revealed_s < _REVEAL_AT_ONE_S:
        return 1.0
    return min(_FASTEST_REVEAL, 2.0 ** (revealed_s - _REVEAL_AT_ONE_S + 1.0))
