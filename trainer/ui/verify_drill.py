"""The verify drill: now and then a key is dead, and the trainee must notice in time. No Qt here.

Only a press that would have changed the strip is ever made dead, so that there is something to
notice: the strip doesn't read what was asked.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Literal

from trainer.session.faults import STUCK
from trainer.session.record import StepRecord
from trainer.session.session import Session

TIME_TO_NOTICE_S = 10.0
"""Time in which to say so [s]. Source: chosen for teaching, the time that a mark stays."""
DEAD_SHARE = 0.3
"""Share of presses that are made dead. Chosen for teaching."""

Verdict = Literal["caught", "missed", "false_alarm"]


@dataclass(frozen=True, slots=True)
class Noticed:
    """One thing noticed, or not."""

    verdict: Verdict
    event: str
    after_s: float


class VerifyDrill:
    """Makes keys dead and judges what the trainee says about it.

    Attributes:
        results: What was noticed so far.
    """

    def __init__(self, seed: int, share: float = DEAD_SHARE) -> None:
        self._random = random.Random(seed)  # noqa: S311 - a drill, not a secret
        self._share = share
        self._dead: tuple[str, float] | None = None
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

    def press(self, session: Session, event: str) -> StepRecord:
        """Press a key, which may be dead this time."""
        would_change = session.fork().press(event).has_changed
        if self._dead is None and would_change and self._random.random() < self._share:
            self._dead = (event, session.t_s)
            session.inject(f"{STUCK}{event}", True)
            record = session.press(event)
            session.inject(f"{STUCK}{event}", False)
            return record
        if self._dead is not None and self._dead[0] == event:
            # Pressed again: the trainee saw it and did what one does.
            self._settle("caught", session.t_s)
        return session.press(event)

    def say(self, t_s: float) -> Noticed:
        """Take the trainee's word that the strip doesn't read what was asked."""
        if self._dead is None:
            self.results.append(Noticed("false_alarm", "", 0.0))
        else:
            self._settle("caught", t_s)
        return self.results[-1]

    def tick(self, t_s: float) -> Noticed | None:
        """Let time pass; a dead key not noticed in time is missed."""
        if self._dead is None or t_s - self._dead[1] < TIME_TO_NOTICE_S:
            return None
        self._settle("missed", t_s)
        return self.results[-1]

    def _settle(self, verdict: Verdict, t_s: float) -> None:
        assert self._dead is not None
        event, since_s = self._dead
        self._dead = None
        self.results.append(Noticed(verdict, event, t_s - since_s))
