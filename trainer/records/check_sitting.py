"""A check being taken: begun in one row, its answers kept one by one, ended once.

What is asked next follows from the sitting and its answers, so that a killed program or a power
cut leaves the check at the item that was on the screen. An answer can't be changed: the file
itself refuses a second one to the same item of a check.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
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

_OF_ASSIGNMENT = """
SELECT member, begun_utc, ended_utc FROM check_sitting
WHERE assignment_id <> '' AND assignment_id = :id
"""
_FAR = """
SELECT ended_utc, decision, (SELECT count(*) FROM attempt a WHERE a.check_id = s.id)
FROM check_sitting s WHERE id = ?
"""
_DECISIONS = {
    "pass": "passed", "fail": "not passed", "open": "not decided", ENDED_WITHOUT: "given up",
}  # fmt: skip


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

    @property
    def decision_words(self) -> str:
        """What was decided, for people to read."""
        return _DECISIONS.get(self.decision, self.decision)


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
    """Keep a sitting; it is on the disk when this returns.

    Raises:
        SittingError: Its assignment has a check already, perhaps of another window.
    """
    row = (
        sitting.id, sitting.member, sitting.installation_id, sitting.begun_utc,
        json.dumps(asdict(sitting)), sitting.assignment_id,
    )  # fmt: skip
    with store.database.write() as connection:
        taken = connection.execute(_OF_ASSIGNMENT, {"id": sitting.assignment_id}).fetchone()
        if taken is not None:
            raise SittingError(_taken_words(*taken))
        connection.execute(
            "INSERT INTO check_sitting "
            "(id, member, installation_id, begun_utc, sitting_json, assignment_id) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            row,
        )


def _taken_words(member: str, begun_utc: str, ended_utc: str | None) -> str:
    when = begun_utc.replace("T", " ")[:16]
    if ended_utc:
        return (
            f"this assignment was taken already: {member}, begun {when} UTC. It counts once; "
            "accepted: another assignment from the training lead"
        )
    return (
        f"this assignment is being taken already: {member}, begun {when} UTC, perhaps in another "
        "window. It counts once; accepted: go on with that check"
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


def state_of(store: Store, sitting: Sitting) -> SittingState:
    """Return how far a sitting has come, in whatever window.

    Raises:
        SittingError: It isn't on record any more.
    """
    return _far(store.database.read(_FAR, (sitting.id,)), sitting)


def _far(rows: Sequence[tuple[Any, ...]], sitting: Sitting) -> SittingState:
    if not rows:
        raise SittingError("this check isn't on record any more; accepted: begin a new one")
    ((ended_utc, decision, answered),) = rows
    return SittingState(sitting, ended_utc or "", decision, answered)


def keep_answer(store: Store, sitting: Sitting, attempt: Attempt) -> None:
    """Keep an answer of a check; it is on the disk when this returns.

    Raises:
        SittingError: Meanwhile the check was ended or gone on with in another window.
        RecordsError: It could not be kept.
    """
    with store.database.write() as connection:
        rows = connection.execute(_FAR, (sitting.id,)).fetchall()
        state = _far(rows, sitting)
        if not state.is_open:
            raise SittingError(
                f"this answer was not kept: the check is over, {state.decision_words}, since it "
                "was ended in another window"
            )
        if state.answered >= attempt.prompt_number:
            raise SittingError(
                "this answer was not kept: this item was answered in another window; accepted: go "
                "on with the check there, or here at its next item"
            )
        store.add_in(connection, attempt)


def check_of(
    sitting: Sitting,
    bank: Bank,
    answers: Sequence[Attempt] = (),
    over: SittingState | None = None,
) -> Check:
    """Return the check as far as it has come.

    Args:
        sitting: The check as it was begun.
        bank: The item bank as it is now.
        answers: What is kept of it, in order.
        over: How it ended; None: it goes on, so that the items not asked yet are wanted as well.

    Raises:
        SittingError: The aircraft or the program has changed since: it can't go on, or what came
            out can't be shown from its items any more; then the error says what is kept.
    """
    known = {item.id: item for item in bank.items}
    wanted = [one.item_id for one in answers] if over else [*sitting.items, *sitting.spare]
    others = sum(name not in known for name in wanted) + sum(
        one.item_id in known and known[one.item_id].true.to_json() != one.actual for one in answers
    )
    if others:
        raise SittingError(_kept_words(over, answers) if over else _changed_words(others))
    try:
        check = _replayed(sitting, known, answers)
    except ValueError as error:
        asked = f"the answers of this check aren't in the order asked: {error}"
        raise SittingError(_kept_words(over, answers) if over else asked) from None
    # What was decided stays: rules of deciding that have changed since say nothing about it.
    if over and over.decision not in (ENDED_WITHOUT, check.outcome().decision):
        raise SittingError(_kept_words(over, answers))
    return check


def _replayed(sitting: Sitting, known: Mapping[str, Item], answers: Iterable[Attempt]) -> Check:
    """Return the check with its answers; ValueError if they aren't in the order asked."""
    form = CheckForm(
        sitting.seed,
        tuple(known[name] for name in sitting.items if name in known),
        tuple(known[name] for name in sitting.spare if name in known),
    )
    given = (
        CheckAnswer(known[one.item_id], Annunciation.from_json(one.predicted), one.confidence)
        for one in answers
    )
    return Check(sitting.plan, form, given)


def _changed_words(others: int) -> str:
    return (
        f"this check can't go on: {others} of its items are others now, since the aircraft's file "
        "or the program has changed. Its answers are kept; accepted: give it up and begin a new one"
    )


def _kept_words(over: SittingState, answers: Sequence[Attempt]) -> str:
    right = sum(one.is_right for one in answers)
    return (
        f"this check is over, {over.decision_words}: {right} of {len(answers)} answers were right, "
        f"ended {over.ended_utc.replace('T', ' ')[:16]} UTC. The aircraft's file or the program "
        "has changed since, so that its items can't be shown any more; its verdict and its answers "
        "stay on record as they are"
    )


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
    """End a sitting and keep what it found, all or nothing; a repetition does nothing.

    Raises:
        SittingError: It has ended otherwise, in another window; that stays.
    """
    with store.database.write() as connection:
        ended = connection.execute(
            "UPDATE check_sitting SET ended_utc = ?, decision = ? "
            "WHERE id = ? AND ended_utc IS NULL",
            (at_utc, decision, sitting.id),
        )
        if ended.rowcount == 1:
            for outcome in outcomes:
                add_outcome_in(connection, sitting.member, outcome)
            return
        state = _far(connection.execute(_FAR, (sitting.id,)).fetchall(), sitting)
        if state.decision != decision:
            raise SittingError(
                f"this check was ended in another window: {state.decision_words}; that stays"
            )
