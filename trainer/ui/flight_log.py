"""What a practice keeps so that it can be looked at again and flown on from any moment. No Qt.

Snapshots are forks of the session: one every few seconds, and one after whatever the trainee or
the lesson does, so that flying on from a snapshot repeats exactly what was flown.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from trainer.assessment.tutor import Outcome
from trainer.session.session import STEP_S, Session

SNAPSHOT_EVERY_S = 5.0
MAXIMUM_SNAPSHOTS = 720
"""An hour of flight without a key; the oldest go first."""


@dataclass(frozen=True, slots=True)
class Call:
    """An answer and the moment at which it was known."""

    t_s: float
    outcome: Outcome


class FlightLog:
    """Snapshots and calls of one flight."""

    def __init__(self, session: Session) -> None:
        self.calls: list[Call] = []
        self._snapshots: deque[Session] = deque(maxlen=MAXIMUM_SNAPSHOTS)
        self.keep(session)

    @property
    def earliest_s(self) -> float:
        """The earliest moment that can be gone back to [s]."""
        return self._snapshots[0].t_s

    def keep(self, session: Session) -> None:
        """Take a snapshot now; an earlier one of the same instant gives way."""
        if self._snapshots and self._snapshots[-1].t_s >= session.t_s:
            self._snapshots.pop()
        self._snapshots.append(session.fork())

    def adopt(self, other: FlightLog, t_s: float) -> None:
        """Take over what another flight kept before the moment at which this one branched off."""
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
        session = source.fork()
        for record in present.trace.records:
            if record.t_s <= source.t_s:
                session.trace.records.append(record)
        for sample in present.trace.samples:
            if sample.t_s <= source.t_s:
                session.trace.samples.append(sample)
        while session.t_s < min(t_s, present.t_s) - STEP_S / 2:
            session.step(STEP_S)
        return session
