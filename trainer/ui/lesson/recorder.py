"""Turns answers into attempts and stores each at once. No Qt here."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from trainer.assessment.answers.tutor import Tutor
from trainer.errors import TrainerError
from trainer.parts import program_version
from trainer.records.attempt import Attempt
from trainer.records.store import Store
from trainer.ui.lesson.moment import now_utc
from trainer.ui.lesson.practice import Answered
from trainer.ui.practice.free_flight import LESSON_ID, TITLE, FreeFlight

MOST_SHOWN = 1000
"""The newest answers that the window looks at; the store keeps all."""


def attempt_of(
    answered: Answered, flyer: Tutor | FreeFlight, member: str, at_utc: str, item_id: str = ""
) -> Attempt:
    """Return the attempt to be stored for an answer; `item_id` if an item of the bank was asked."""
    outcome = answered.outcome
    single = None if outcome.prompt.form == "strip" else outcome.score.cells[0]
    is_lesson = isinstance(flyer, Tutor)
    return Attempt(
        id=str(uuid.uuid4()),
        at_utc=at_utc,
        member=member,
        lesson_id=flyer.lesson.id if is_lesson else LESSON_ID,
        lesson_title=flyer.lesson.title if is_lesson else TITLE,
        installation_id=flyer.session.installation.id,
        prompt_number=outcome.prompt.number,
        prompt_kind=outcome.prompt.kind,
        question=outcome.prompt.question,
        before=outcome.prompt.before.to_json(),
        predicted=outcome.prediction.annunciation.to_json(),
        actual=outcome.actual.to_json(),
        wrong_cells=outcome.score.wrong_cells,
        is_right=outcome.score.is_right,
        confidence=outcome.prediction.confidence,
        rule_ids=outcome.rule_ids,
        taken_s=round(answered.taken_s, 2),
        program_version=program_version(),
        said="" if single is None else str(single.predicted),
        expected="" if single is None else str(single.actual),
        item_id=item_id,
    )


class Recorder:
    """Keeps attempts; one that couldn't be stored is kept in hand and tried again.

    Attributes:
        problem: Why the latest attempt isn't stored, for the user; empty if all is well.
    """

    def __init__(self, open_store: Callable[[], Store]) -> None:
        self._open_store = open_store
        self._store: Store | None = None
        self._waiting: list[Attempt] = []
        self._has_kept = False
        self.problem = ""

    @property
    def waiting(self) -> tuple[Attempt, ...]:
        """Attempts not stored yet."""
        return tuple(self._waiting)

    def keep(self, attempt: Attempt) -> None:
        """Store an attempt, and those that wait."""
        self._waiting.append(attempt)
        self.store_waiting()

    def store_waiting(self) -> None:
        """Store the attempts that wait, if any."""
        try:
            store = self._opened()
            while self._waiting:
                store.add(self._waiting[0])
                self._waiting.pop(0)
                self._has_kept = True
            self.problem = ""
        except TrainerError as error:
            self.problem = f"Answers aren't stored: {error}"

    def attempts(self, member: str | None = None) -> list[Attempt]:
        """Return the newest attempts, newest first; those that wait come first.

        Answers of a check that isn't over are left out: nobody may look at them yet.
        """
        waiting = [a for a in reversed(self._waiting) if member in (None, a.member)]
        try:
            store = self._opened()
            return waiting + store.shown_attempts(member, MOST_SHOWN)
        except TrainerError as error:
            self.problem = f"Answers can't be read: {error}"
            return waiting

    def opened(self) -> Store:
        """Return the store, opened at first use.

        Raises:
            RecordsError: It can't be used.
        """
        return self._opened()

    def close(self) -> None:
        """Close the store; a day on which something was answered leaves a backup."""
        if self._store is not None:
            if self._has_kept:
                self._back_up(self._store)
            self._store.close()
            self._store = None

    def _back_up(self, store: Store) -> None:
        try:
            store.back_up(now_utc()[:10])
        except TrainerError as error:
            self.problem = f"No backup was made: {error}"

    def _opened(self) -> Store:
        if self._store is None:
            self._store = self._open_store()
        return self._store
