"""The verify drill: something isn't as asked, and the trainee must notice in time. No Qt here.

Now and then a key is dead, or a selector doesn't take a turn or goes one step too far. Only a press
that would have changed the strip, or a turn that would have changed what is selected, is ever
spoilt, so that there is something to notice. What a lesson injects is judged the same way.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import Literal

from trainer.session.faults import SLIP_STEPS, SLIPS, STUCK
from trainer.session.record import StepRecord
from trainer.session.session import Session, Untaken

TIME_TO_NOTICE_S = 10.0
"""Time in which to say so [s]. Source: chosen for teaching, the time that a mark stays."""
SPOILT_SHARE = 0.3
"""Share of presses and turns that are spoilt. Chosen for teaching."""

Verdict = Literal["caught", "missed", "late", "false_alarm"]
"""Late: said after it was missed, and the strip still doesn't show what was asked."""
How = Literal["dead", "stuck", "slipping"]
"""A key that is dead; a selector that doesn't take a turn, or goes one step too far."""


@dataclass(frozen=True, slots=True)
class Noticed:
    """One thing noticed, or not."""

    verdict: Verdict
    what: str
    """A key's event or a selector's name; empty for a false alarm."""
    after_s: float
    how: How = "dead"
    t_s: float = 0.0
    """The moment of the verdict."""


@dataclass(frozen=True, slots=True)
class _Pending:
    what: str
    since_s: float
    how: How
    fault: str
    """The malfunction that the drill has put in, to be taken out again; empty: a lesson's own."""


class VerifyDrill:
    """Spoils presses and turns, and judges what the trainee says about it.

    Attributes:
        results: What was noticed so far.
    """

    def __init__(self, seed: int, share: float = SPOILT_SHARE) -> None:
        self._random = random.Random(seed)  # noqa: S311 - a drill, not a secret
        self._share = share
        self._pending: _Pending | None = None
        self._seen: Untaken | None = None
        self._missed: tuple[Noticed, object] | None = None
        self.results: list[Noticed] = []

    @property
    def record(self) -> str:
        """The running record in words."""
        count = dict.fromkeys(("caught", "missed", "false_alarm"), 0)
        for result in self.results:
            count[result.verdict] += 1
        return (
            f"Caught {count['caught']}, missed {count['missed']},"
            f" false alarms {count['false_alarm']}"
        )

    @property
    def fault(self) -> str:
        """The malfunction that the drill has put in and not yet taken out; empty: none."""
        return self._pending.fault if self._pending is not None else ""

    def press(self, session: Session, event: str) -> StepRecord:
        """Press a key, which may be dead this time."""
        pending = self._pending
        if pending is not None and pending.what == event and pending.fault:
            # Pressed again: the trainee saw it and did what one does.
            self._settle(session, "caught")
        elif pending is None and self._spoils() and session.fork().press(event).has_changed:
            return self._press_dead(session, event)
        return session.press(event)

    def select(self, session: Session, name: str, value: float | str) -> StepRecord | None:
        """Turn a selector, which may stick or slip until that is settled."""
        is_turned = name in SLIP_STEPS and getattr(session.references, name) != value
        if self._pending is None and is_turned and self._spoils():
            how: How = self._random.choice(("stuck", "slipping"))
            fault = f"{STUCK if how == 'stuck' else SLIPS}{name}"
            session.inject(fault, True)
            self._pending = _Pending(name, session.t_s, how, fault)
            record = session.select(name, value)
            self._seen = session.untaken
            return record
        return session.select(name, value)

    def watch(self, session: Session) -> None:
        """Look whether a malfunction that the lesson put in has spoilt something just now."""
        untaken = session.untaken
        if untaken is None or untaken == self._seen:
            return
        self._seen = untaken
        if self._pending is None and untaken.can_be_seen:
            slips = untaken.what in session.flight.faults.slipping
            how: How = "slipping" if slips else "stuck" if untaken.what in SLIP_STEPS else "dead"
            self._pending = _Pending(untaken.what, untaken.t_s, how, "")

    def withdraw(self, session: Session) -> None:
        """Let a question take the place of noticing: nothing is judged any more."""
        if self._pending is not None:
            self._mend(session, self._pending)
            self._pending = None
        self._missed = None

    def say(self, session: Session) -> Noticed:
        """Take the trainee's word that the strip doesn't read what was asked.

        What was missed already and is said late is no false alarm; it isn't counted once more.
        """
        if self._pending is None:
            if (late := self._late(session)) is not None:
                return late
            self.results.append(Noticed("false_alarm", "", 0.0, t_s=session.t_s))
        else:
            self._settle(session, "caught")
        return self.results[-1]

    def tick(self, session: Session) -> Noticed | None:
        """Let time pass; what isn't noticed in time is missed."""
        self.watch(session)
        if self._pending is None or session.t_s - self._pending.since_s < TIME_TO_NOTICE_S:
            return None
        what = self._pending.what
        self._settle(session, "missed")
        self._missed = self.results[-1], _reading(session, what)
        return self.results[-1]

    def _late(self, session: Session) -> Noticed | None:
        """Return what was missed and still isn't as asked; it is told once."""
        if self._missed is None:
            return None
        missed, reading = self._missed
        self._missed = None
        began_s = missed.t_s - missed.after_s
        has_acted = any(
            record.event == missed.what and record.t_s > began_s and not record.is_empty
            for record in session.trace.records
        )
        if has_acted or _reading(session, missed.what) != reading:
            return None
        return replace(missed, verdict="late", after_s=session.t_s - began_s, t_s=session.t_s)

    def _spoils(self) -> bool:
        return self._random.random() < self._share

    def _press_dead(self, session: Session, event: str) -> StepRecord:
        fault = f"{STUCK}{event}"
        session.inject(fault, True)
        record = session.press(event)
        session.inject(fault, False)
        self._seen = session.untaken
        self._pending = _Pending(event, session.t_s, "dead", fault)
        return record

    def _settle(self, session: Session, verdict: Verdict) -> None:
        pending = self._pending
        assert pending is not None
        self._mend(session, pending)
        self._pending = None
        after_s = session.t_s - pending.since_s
        self.results.append(Noticed(verdict, pending.what, after_s, pending.how, session.t_s))

    @staticmethod
    def _mend(session: Session, pending: _Pending) -> None:
        if pending.fault:
            session.inject(pending.fault, False)


def _reading(session: Session, what: str) -> object:
    """Return what a selector reads; None for a key."""
    return getattr(session.references, what) if what in SLIP_STEPS else None
