"""The answer to a prompt, computed: fork the session, run ahead, read the annunciation.

The same code plays the prompt for real afterwards, so what is expected and what is then seen
can't differ.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session


@dataclass(frozen=True, slots=True)
class Answer:
    """What a prompt leads to.

    `records` are the changes and refusals up to the moment that is asked for; empty: nothing
    happened.
    """

    before: Annunciation
    after: Annunciation
    records: tuple[StepRecord, ...]
    elapsed_s: float
    accepted: tuple[str, ...] = ()
    """Ids of all right choices, for a prompt that offers choices."""
    number: float | None = None
    """Right number, for a prompt that asks for one, in the prompt's unit."""
    tolerance: float = 0.0
    """How far off the number still counts as right, in the prompt's unit."""
    keys: tuple[StepRecord, ...] = ()
    """The records of the keys pressed, one for each, whatever came of them."""

    @property
    def nothing_changes(self) -> bool:
        """True if the right answer is: nothing changes."""
        return self.before == self.after

    @property
    def rule_ids(self) -> tuple[str, ...]:
        """Ids of the rules and refusals behind the answer, in order, each once."""
        found: dict[str, None] = {}
        for record in self.records:
            if record.refusal is not None:
                found[record.refusal.rule_id] = None
            found.update((fired.id, None) for fired in record.rules)
        return tuple(found)


class PromptPlay:
    """Plays one prompt on a session, step by step, until the moment that it asks for.

    Args:
        predict: A prompt of one of the strip kinds; others are resolved first.
        session: The session to fly.
    """

    def __init__(self, predict: Predict, session: Session) -> None:
        self._predict = predict
        self._session = session
        self._before = session.annunciation
        self._start_s = session.t_s
        self._records: list[StepRecord] = []
        self._keys: tuple[StepRecord, ...] = ()
        self.is_over = False
        if predict.kind == "after_key":
            pressed = [session.press(key) for key in (predict.key, *predict.then)]
            # Of several keys, one that does nothing belongs to the answer too.
            self._keys = tuple(pressed)
            self._records = pressed if predict.then else [r for r in pressed if not r.is_empty]
            self.is_over = True
        elif predict.kind == "after_set":
            for name, value in predict.values:
                self._note(session.select(name, value))
            self.is_over = True
        elif predict.kind == "after_fault":
            self._note(session.inject(predict.fault))
            self.is_over = True

    def _note(self, record: StepRecord | None) -> None:
        if record is not None and not record.is_empty:
            self._records.append(record)

    def step(self) -> StepRecord | None:
        """Fly one step; afterwards `is_over` says whether the moment has come."""
        record = self._session.step(STEP_S)
        self._note(record)
        elapsed_s = self._session.t_s - self._start_s
        has_changed = record is not None and record.has_changed
        # Half a step of tolerance: times are sums of steps and not exact.
        at_horizon = elapsed_s >= self._predict.horizon_s - STEP_S / 2.0
        if at_horizon or (self._predict.kind == "next_change" and has_changed):
            self.is_over = True
        return record

    @property
    def answer(self) -> Answer:
        """What the prompt has led to so far."""
        return Answer(
            self._before,
            self._session.annunciation,
            tuple(self._records),
            self._session.t_s - self._start_s,
            keys=self._keys,
        )
