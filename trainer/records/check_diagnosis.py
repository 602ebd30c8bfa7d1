"""Answers on record, of lessons and of the item bank, as a diagnosis of one member."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from trainer.assessment.answers.confidence import CalibrationRow, calibration
from trainer.assessment.diagnosis.diagnosis import Answered, Declared, Diagnosis, Finding
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.items.item import Item
from trainer.assessment.items.lesson_items import bank_of, prompt_id
from trainer.records.attempt import Attempt
from trainer.session.annunciation import Annunciation

_STRIP_KINDS = ("next_change", "after_key", "after_time")
"""Prompts of lessons that say something; items of the bank are strips whatever their kind."""


@dataclass(frozen=True, slots=True)
class MemberDiagnosis:
    """What one member's answers in one aircraft say.

    Attributes:
        used: Each answer with the item that it answers, in the order of the answers.
        left_out: Answers whose lesson or item is gone or has changed.
        calibration: Right answers by confidence.
        repeated: How many records came again with an id that was there already; they don't count.
    """

    finding: Finding
    used: tuple[tuple[Attempt, Item], ...]
    left_out: tuple[Attempt, ...]
    calibration: tuple[CalibrationRow, ...]
    repeated: int = 0

    @property
    def sure_and_wrong(self) -> tuple[Attempt, ...]:
        """Answers that were given as sure and are wrong."""
        return tuple(one for one, _ in self.used if one.is_sure_and_wrong)

    def attempts_of(self, answered: Sequence[Answered]) -> tuple[Attempt, ...]:
        """Return the answers behind evidence, in their order."""
        wanted = {(one.item.id, one.answer) for one in answered}
        return tuple(
            one
            for one, item in self.used
            if (item.id, Annunciation.from_json(one.predicted)) in wanted
        )


def tells_something(attempt: Attempt) -> bool:
    """Return whether an answer is a strip, so that it can be diagnosed."""
    return bool(attempt.item_id) or attempt.prompt_kind in _STRIP_KINDS


def item_id_of(attempt: Attempt) -> str:
    """Return the id of the item that an answer is to."""
    return attempt.item_id or prompt_id(attempt.lesson_id, attempt.prompt_number)


def diagnose_attempts(
    attempts: Sequence[Attempt],
    items: Mapping[str, Item],
    installation: str,
    listed: Collection[str],
    declared: Declared | None = None,
) -> MemberDiagnosis:
    """Return what answers say.

    Args:
        attempts: Answers of one member in one aircraft, oldest first; of two with one id, as two
            exports put together have, the first counts.
        items: Items by id, of lessons and of the bank.
        installation: Id of the aircraft's installation.
        listed: Ids of all wrong rules of the installation's library, shown by these items or not:
            who answered the prompts of one lesson hasn't been asked about most of them.
        declared: What is assumed of answers; None: as usual.
    """
    once: dict[str, Attempt] = {}
    for one in attempts:
        once.setdefault(one.id, one)
    used, left_out = [], []
    for one in once.values():
        item = items.get(item_id_of(one))
        if item is not None and item.true.to_json() == one.actual:
            used.append((one, item))
        else:
            left_out.append(one)
    known = {item.id: item for item in items.values()}
    hypotheses = Hypotheses(bank_of(installation, tuple(known.values())), listed=listed)
    diagnosis = Diagnosis(hypotheses, declared or Declared())
    for one, item in used:
        diagnosis.answer(item, Annunciation.from_json(one.predicted))
    rows = calibration((one.confidence, one.is_right) for one, _ in used)
    repeated = len(attempts) - len(once)
    return MemberDiagnosis(diagnosis.finding(), tuple(used), tuple(left_out), rows, repeated)
