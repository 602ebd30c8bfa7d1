"""One sitting at the window: what flies, how fast, and what becomes of answers. No Qt here.

The window calls `tick` with real time and the methods below with what the trainee does, and shows
what the properties say. It decides nothing itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Outcome, Tutor
from trainer.lesson.recording import Change, Entry, Noted, Timeline, situation_of
from trainer.lesson.spec import Do, Inject, Set
from trainer.session.annunciation import changed_cells
from trainer.session.faults import SLIPS, STUCK, faults_of
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.session.situation import Start
from trainer.ui.practice.flight_log import Before, Call, FlightLog
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.verify_drill import Noticed, VerifyDrill
from trainer.ui.views.surroundings import Surroundings, Track

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
        self._watch = _watch_of(flyer)
        self.looking: Session | None = None
        """The session as it was at the moment looked back at; None: nobody looks back."""
        self.strayed: Do | Set | None = None
        """What the trainee did in a lesson that didn't ask for it: no answer after it is kept."""
        self.has_next = False
        """True if another lesson follows this one."""

    @property
    def session(self) -> Session:
        """The session that flies."""
        return self.flyer.session

    @property
    def is_lesson(self) -> bool:
        """True for a lesson, False for free practice."""
        return isinstance(self.flyer, Tutor)

    @property
    def verify(self) -> VerifyDrill | None:
        """The verify drill, in free practice or by a lesson's design; None: there is none."""
        return self.flyer.verify if isinstance(self.flyer, FreeFlight) else self._watch

    @property
    def injected(self) -> tuple[str, ...]:
        """Malfunctions in force, without those that the verify drill has put in."""
        own = self.verify.fault if self.verify is not None else ""
        return tuple(fault for fault in faults_of(self.shown.flight) if fault != own)

    @property
    def can_act(self) -> bool:
        """True while keys and selectors act.

        Never while a question is open or one looks back, nor before a lesson has begun.
        """
        has_begun = self.is_running or self.session.t_s > self.began_s
        is_free = not self.is_lesson
        return self.flyer.phase == "running" and self.looking is None and (is_free or has_begun)

    @property
    def hidden(self) -> tuple[str, ...]:
        """What an open question hides now: names of a lesson file."""
        prompt = self.flyer.prompt
        return prompt.hide if prompt is not None and self.flyer.phase == "asking" else ()

    @property
    def shown(self) -> Session:
        """The session to be seen: as it is, or as it was where one looks back."""
        return self.looking or self.session

    @property
    def last_shown_record(self) -> StepRecord | None:
        """The latest event at the moment that is seen."""
        if self.looking is None:
            return self.last_record
        records = self.looking.trace.records
        return records[-1] if records else None

    @property
    def can_look_back(self) -> bool:
        """True while the flight's timeline can be scrubbed: in free practice, no question open."""
        return not self.is_lesson and self.flyer.phase == "running"

    def look_back(self, t_s: float) -> None:
        """Stop time and look at an earlier moment [s]; at the present one, look no more."""
        if not self.can_look_back:
            return
        self.is_running = False
        is_now = t_s > self.session.t_s - STEP_S / 2
        t_s = max(t_s, self.log.earliest_s)
        self.looking = None if is_now else self.log.session_at(self.session, t_s)

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
        if self.verify is not None:
            self._look_whether_noticed(self.verify)
        self.track.add(self.session.flight.sample())

    def _look_whether_noticed(self, drill: VerifyDrill) -> None:
        if self.flyer.phase in ("running", "finished"):
            self._judged(drill.tick(self.session))
        else:
            # A question is open or just answered: it takes the place of noticing.
            drill.watch(self.session)
            drill.withdraw(self.session)

    def _judged(self, noticed: Noticed | None) -> None:
        if noticed is not None:
            self.noticed = noticed
            self.log.noticed.append(noticed)

    def press(self, event: str) -> None:
        """Press a key of the aircraft, if keys act now."""
        if not self.can_act:
            return
        self.noticed = None
        had = self.session.untaken
        self.log.keep_before(self.session, len(self.deeds))
        if isinstance(self.flyer, FreeFlight):
            record = self.flyer.press(event)
            self._thinking_s = 0.0
        else:
            record = self.session.press(event)
        if record is not None and self.session.untaken is had:
            self._deed(Do(event), record)
        self._note(() if record is None else (record,))
        if record is not None and record.is_empty and self.verify is None:
            self.last_record = record  # a drill of dead keys must not be given away
        self.log.keep(self.session)

    def select(self, name: str, value: float | str) -> None:
        """Turn a selector, if they act now."""
        if self.can_act:
            had = self.session.untaken
            self.log.keep_before(self.session, len(self.deeds))
            is_free = isinstance(self.flyer, FreeFlight)
            record = (self.flyer if is_free else self.session).select(name, value)
            if self.session.untaken is not had:
                # Not taken as asked: the flight goes on with what the selector reads now.
                value = getattr(self.session.references, name)
            if value is not None:
                self._deed(Set(((name, value),)), record)
            self._note(() if record is None else (record,))
            self.log.keep(self.session)

    def inject(self, fault: str, is_on: bool) -> None:
        """Start or end a malfunction."""
        if self.can_act:
            self.log.keep_before(self.session, len(self.deeds))
            record = self.session.inject(fault, is_on)
            self._deed(Inject(fault, is_on), record)
            self._note(() if record is None else (record,))
            self.log.keep(self.session)

    def move_stick(self, bank: float, pitch: float) -> None:
        """Move the stick; it acts while the hands fly and the servos are off."""
        if self.can_act:
            self.log.keep_before(self.session, len(self.deeds), is_stick=True)
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
            if self.flyer.verify is not None:
                self.flyer.verify.withdraw(self.session)
            self.flyer.verify = drill

    def notice(self) -> None:
        """Say that the strip doesn't read what was asked."""
        if self.verify is not None:
            self.verify.watch(self.session)
            self._judged(self.verify.say(self.session))

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

    def settle(self) -> None:
        """Fly an answer that is in to its end, so that it is kept though nobody waits for it.

        Raises:
            TrainerError: The flight can't go on.
        """
        had = len(self.flyer.outcomes)
        while self.flyer.phase == "revealing":
            self._note(self.flyer.advance(_LONGEST_TICK_S))
        if len(self.flyer.outcomes) > had:
            self._keep_last()

    def toggle_run(self) -> None:
        """Run or pause."""
        self.looking = None
        if self.flyer.phase == "running":
            self.is_running = not self.is_running

    def change_speed(self, step: int) -> None:
        """Go to the next (+1) or previous (-1) speed."""
        place = SPEEDS.index(self.speed) + step
        self.speed = SPEEDS[max(0, min(len(SPEEDS) - 1, place))]

    def restart(self) -> None:
        """Begin again."""
        self.flyer.restart()
        self.looking = None
        self.track.clear()
        self.track.add(self.session.flight.sample())
        self.log = FlightLog(self.session)
        self.deeds = []
        self._watch = _watch_of(self.flyer)
        if self.verify is not None:
            self.verify.withdraw(self.session)
        self.last_record = self.noticed = self.strayed = None
        self.is_running = False
        self._thinking_s = self._revealed_s = 0.0

    def scene(self) -> Surroundings:
        """Return what the plan and the profile draw."""
        flight, references = self.shown.flight, self.shown.references
        now_s = self.shown.t_s
        return Surroundings(
            flight.sample(),
            tuple(p for p in self.track.points if p.t_s <= now_s)
            if self.looking
            else self.track.points,
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
    def undo_point(self) -> Before | None:
        """What there was just before the last thing done; None: nothing to undo."""
        if not self.can_look_back or not self.log.before:
            return None
        return self.log.before[-1]

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
        is_dead = isinstance(what, Do) and (record is None or record.is_empty)
        is_refused = record is not None and record.refusal is not None
        if self.is_lesson and isinstance(what, Do | Set) and not (is_dead or is_refused):
            self.strayed = self.strayed or what
        self.deeds.append(Entry(round(at_s, 2), what, tuple(shows), is_dead))

    @property
    def _lesson_step(self) -> int:
        return self.flyer.step_index if isinstance(self.flyer, Tutor) else 0

    def _keep_last(self) -> None:
        self.log.calls.append(Call(self.session.t_s, self.flyer.outcomes[-1]))
        keys = self.flyer.played[-1].keys if isinstance(self.flyer, Tutor) else ()
        if keys and keys[-1].is_empty and self.verify is None:
            self.last_record = keys[-1]
        self.log.keep(self.session)
        if self.strayed is None:
            self._keep(Answered(self.flyer.outcomes[-1], self._thinking_s))
        self._thinking_s = 0.0


def _watch_of(flyer: Tutor | FreeFlight) -> VerifyDrill | None:
    """Return a drill that only watches, for a lesson that lets keys or selectors fail."""
    if isinstance(flyer, FreeFlight):
        return None
    faults = [step.fault for step in flyer.lesson.steps if isinstance(step, Inject) and step.on]
    return VerifyDrill(0, share=0.0) if any(f.startswith((STUCK, SLIPS)) for f in faults) else None


def reveal_speed(revealed_s: float) -> float:
    """Return how fast time runs towards the answer: as flown at first, then ever faster.

    A change that is seconds away is seen as it would be; one that is minutes away isn't waited for.
    """
    if revealed_s < _REVEAL_AT_ONE_S:
        return 1.0
    return min(_FASTEST_REVEAL, 2.0 ** (revealed_s - _REVEAL_AT_ONE_S + 1.0))
