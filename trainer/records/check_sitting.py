"""A check being taken: begun in one row, its answers kept one by one, ended once.

What is asked next follows from the sitting and its answers, so that a killed program or a power
cut leaves the check at the item that was on the screen. An answer can't be changed: the file
itself refuses a second one to the same item of a check.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Collection, Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from trainer.assessment.answers.prediction import Prediction, score
from trainer.assessment.check.check import Check, CheckAnswer
from trainer.assessment.check.check_form import CheckForm, CheckPlan, draw_form
from trainer.assessment.check.sprt import Sprt
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item, Stimulus
from trainer.errors import TrainerError
from trainer.lesson.spec import PromptKind
from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome
from trainer.records.result import add_outcome_in
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation

KINDS: dict[str, PromptKind] = {
    "key": "after_key", "set": "after_set", "fault": "after_fault", "wait": "next_change",
}  # fmt: skip
LESSON_ID = "check"
ENDED_WITHOUT = "given_up"
"""Decision of a check that was ended before it was decided."""
_SITTINGS = """
SELECT sitting_json, ended_utc, decision,
       (SELECT count(*) FROM attempt a WHERE a.check_id = s.id)
FROM check_sitting s WHERE :member IS NULL OR member = :member ORDER BY begun_utc DESC, rowid DESC
"""


class SittingError(TrainerError):
    """A check that can't be begun or gone on with."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """A check as it was begun.

    Attributes:
        member: Who answers; the same name as on the answers.
        aircraft_id: The aircraft in the club's book, or the installation without an assignment.
        form: Id of the plan.
        items: Ids of the form's items, in order.
        spare: Ids of the critical items for a second chance, in order.
        assignment_id: The assignment that it answers; empty: taken for oneself.
    """

    id: str
    member: str
    installation_id: str
    aircraft_id: str
    aircraft_title: str
    stage: int
    form: str
    plan: CheckPlan
    seed: int
    items: tuple[str, ...]
    spare: tuple[str, ...]
    begun_utc: str
    program_version: str
    assignment_id: str = ""


@dataclass(frozen=True, slots=True)
class SittingState:
    """A sitting, and how far it has come."""

    sitting: Sitting
    ended_utc: str
    decision: str
    answered: int

    @property
    def is_open(self) -> bool:
        """True while it can be gone on with."""
        return not self.ended_utc


def new_sitting(
    bank: Bank, plan: CheckPlan, seed: int, excluded: Collection[str] = (), **values: Any
) -> Sitting:
    """Return a sitting with the form that a seed draws.

    Args:
        bank: The item bank.
        plan: How the check decides.
        seed: Draws the form.
        excluded: Ids of items that the member has had.
        **values: The sitting's other fields.

    Raises:
        FormError: The bank can't fill the form.
    """
    form = draw_form(bank, plan, seed, excluded)
    return Sitting(
        id=str(uuid.uuid4()), plan=plan, seed=seed, installation_id=bank.installation,
        items=tuple(one.id for one in form.items), spare=tuple(one.id for one in form.spare),
        **values,
    )  # fmt: skip


def begin_sitting(store: Store, sitting: Sitting) -> None:
    """Keep a sitting; it is on the disk when this returns."""
    row = (
        sitting.id, sitting.member, sitting.installation_id, sitting.begun_utc,
        json.dumps(asdict(sitting)),
    )  # fmt: skip
    with store.database.write() as connection:
        connection.execute(
            "INSERT INTO check_sitting (id, member, installation_id, begun_utc, sitting_json) "
            "VALUES (?, ?, ?, ?, ?)",
            row,
        )


def sittings(store: Store, member: str | None = None) -> list[SittingState]:
    """Return the checks begun on this computer, newest first, of one member if given."""
    rows = store.database.read(_SITTINGS, {"member": member})
    return [
        SittingState(sitting_from_json(json.loads(row[0])), row[1] or "", row[2], row[3])
        for row in rows
    ]


def sitting_from_json(data: dict[str, Any]) -> Sitting:
    """Return the sitting that this program has kept."""
    plan = data["plan"]
    rates = Sprt(**plan.pop("rates"))
    each = Sprt(**found) if (found := plan.pop("each", None)) else None
    competencies = tuple(plan.pop("competencies"))
    lists = {name: tuple(data.pop(name)) for name in ("items", "spare")}
    return Sitting(
        **{
            **data,
            **lists,
            "plan": CheckPlan(rates=rates, competencies=competencies, each=each, **plan),
        }
    )


def answers_of(store: Store, sitting: Sitting) -> list[Attempt]:
    """Return the answers of a sitting in the order in which they were given."""
    return store.attempts(check_id=sitting.id)[::-1]


def check_of(sitting: Sitting, bank: Bank, answers: Sequence[Attempt] = ()) -> Check:
    """Return the check as far as it has come.

    Raises:
        SittingError: The aircraft or the program has changed since it was begun.
    """
    known = {item.id: item for item in bank.items}
    missing = [name for name in (*sitting.items, *sitting.spare) if name not in known]
    changed = [
        one.item_id
        for one in answers
        if one.item_id in known and known[one.item_id].true.to_json() != one.actual
    ]
    if missing or changed:
        raise SittingError(
            f"this check can't go on: {len(missing) + len(changed)} of its items are others now, "
            "since the aircraft's file or the program has changed. Its answers are kept; accepted: "
            "give it up and begin a new one"
        )
    form = CheckForm(
        sitting.seed,
        tuple(known[name] for name in sitting.items),
        tuple(known[name] for name in sitting.spare),
    )
    given = (
        CheckAnswer(known[one.item_id], Annunciation.from_json(one.predicted), one.confidence)
        for one in answers
    )
    try:
        return Check(sitting.plan, form, given)
    except ValueError as error:
        raise SittingError(
            f"the answers of this check aren't in the order asked: {error}"
        ) from None


def answer_attempt(
    sitting: Sitting,
    item: Item,
    number: int,
    said: Prediction,
    *,
    question: str,
    taken_s: float,
    at_utc: str,
) -> Attempt:
    """Return the attempt that keeps an answer of a check.

    Args:
        sitting: The check.
        item: What was asked.
        number: Place of the item in the check, from 1.
        said: The strip built, and how sure.
        question: The words of the question.
        taken_s: Time from question to answer [s].
        at_utc: Now.
    """
    result = score(said.annunciation, item.true)
    return Attempt(
        id=f"{sitting.id}-{number}", at_utc=at_utc, member=sitting.member, lesson_id=LESSON_ID,
        lesson_title=f"Check of {sitting.aircraft_title}",
        installation_id=sitting.installation_id, prompt_number=number,
        prompt_kind=prompt_kind(item.stimulus), question=question, before=item.before.to_json(),
        predicted=said.annunciation.to_json(), actual=item.true.to_json(),
        wrong_cells=result.wrong_cells, is_right=result.is_right, confidence=said.confidence,
        rule_ids=item.rules, taken_s=round(taken_s, 2),
        program_version=sitting.program_version, item_id=item.id, check_id=sitting.id,
    )  # fmt: skip


def prompt_kind(stimulus: Stimulus) -> PromptKind:
    """Return the kind of prompt as which an item is put."""
    return KINDS[stimulus.kind]


def end_sitting(
    store: Store, sitting: Sitting, decision: str, outcomes: Iterable[CheckOutcome], at_utc: str
) -> None:
    """End a sitting and keep what it found, all or nothing; a repetition does nothing."""
    with store.database.write() as connection:
        ended = connection.execute(
            "UPDATE check_sitting SET ended_utc = ?, decision = ? "
            "WHERE id = ? AND ended_utc IS NULL",
            (at_utc, decision, sitting.id),
        )
        if ended.rowcount == 1:
            for outcome in outcomes:
                add_outcome_in(connection, sitting.member, outcome)
