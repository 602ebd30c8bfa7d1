"""What a practice keeps so that it can be looked at again and flown on from any moment. No Qt.

Snapshots are forks of the session: one every few seconds, and one after whatever the trainee or
the lesson does, so that flying on from a snapshot repeats exactly what was flown.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from trainer.assessment.answers.tutor import Outcome
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.ui.practice.verify_drill import Noticed

SNAPSHOT_EVERY_S = 5.0
MAXIMUM_SNAPSHOTS = 600
MAXIMUM_UNDO = 200
"""An hour of flight without a key; the oldest go first."""


@dataclass(frozen=True, slots=True)
class Call:
    """An answer and the moment at which it was known."""

    t_s: float
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Before:
    """The instant just before something was done, exactly as it was."""

    session: Session
    deeds: int
    """How many things had been noted for a recording by then."""
    last: StepRecord | None
    """The last record by then."""
    is_stick: bool = False


class FlightLog:
    """Snapshots, calls and verdicts of one flight."""

    def __init__(self, session: Session) -> None:
        self.calls: list[Call] = []
        self.noticed: list[Noticed] = []
        self.before: deque[Before] = deque(maxlen=MAXIMUM_UNDO)
        self._snapshots: deque[Session] = deque(maxlen=MAXIMUM_SNAPSHOTS)
        self.keep(session)

    @property
    def earliest_s(self) -> float:
        """The earliest moment that can be gone back to [s]."""
        return self._snapshots[0].t_s

    @property
    def latest_s(self) -> float:
        """The moment of the latest snapshot [s]."""
        return self._snapshots[-1].t_s

    def keep(self, session: Session) -> None:
        """Take a snapshot now; an earlier one of the same instant gives way."""
        if self._snapshots and self._snapshots[-1].t_s >= session.t_s:
            self._snapshots.pop()
        self._snapshots.append(session.fork())

    def keep_before(self, session: Session, deeds: int, *, is_stick: bool = False) -> None:
        """Keep the instant before something is done; moves of the stick in one go count once."""
        last = self.before[-1] if self.before else None
        goes_on = is_stick and last is not None and last.is_stick
        if goes_on and session.t_s - last.session.t_s < SNAPSHOT_EVERY_S:
            return
        records = session.trace.records
        self.before.append(
            Before(session.fork(), deeds, records[-1] if records else None, is_stick)
        )

    def adopt(self, other: FlightLog, t_s: float, *, is_undo: bool = False) -> None:
        """Take over what another flight kept before the moment at which this one branched off.

        Args:
            other: The flight's log.
            t_s: The moment [s].
            is_undo: The moment is that just before the last thing done.
        """
        kept = list(other.before)[:-1] if is_undo else other.before
        self.before.extend(one for one in kept if one.session.t_s <= t_s)
        self.calls = [call for call in other.calls if call.t_s <= t_s]
        self.noticed = [one for one in other.noticed if one.t_s <= t_s]
        earlier = [one for one in other._snapshots if one.t_s < min(t_s, self.earliest_s)]
        self._snapshots.extendleft(reversed(earlier[-MAXIMUM_SNAPSHOTS + 1 :]))

    def note(self, session: Session) -> None:
        """Take a snapshot if the last one is old enough."""
        if session.t_s - self._snapshots[-1].t_s >= SNAPSHOT_EVERY_S:
            self.keep(session)

    def session_at(self, present: Session, t_s: float) -> Session:
        """Return a session as it was at a moment, with the trace up to it; nothing is changed.

        Args:
            present: The session whose log this is.
            t_s: The moment [s]; one that is gone gives the earliest still kept.
        """
        earlier = [one for one in self._snapshots if one.t_s <= t_s + STEP_S / 2]
        source = earlier[-1] if earlier else self._snapshots[0]
        session = _with_trace(source, present)
        while session.t_s < min(t_s, present.t_s) - STEP_S / 2:
            session.step(STEP_S)
        return session

    @staticmethod
    def session_before(present: Session, before: Before) -> Session:
        """Return a session as it was just before something was done; as `session_at`."""
        session = _with_trace(before.session, present)
        records = session.trace.records
        # At the same instant something may have been done already, and something not yet.
        while records and records[-1].t_s >= before.session.t_s and records[-1] is not before.last:
            records.pop()
        return session


def _with_trace(source: Session, present: Session) -> Session:
    """Return a fork with what the present session remembers up to its moment."""
    session = source.fork()
    session.trace.records.extend(r for r in present.trace.records if r.t_s <= source.t_s)
    session.trace.samples.extend(s for s in present.trace.samples if s.t_s <= source.t_s)
    return session
