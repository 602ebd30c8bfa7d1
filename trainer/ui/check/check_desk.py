"""A member's checks without Qt: what can be begun, what is asked, what is kept, what came out."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from trainer.app import Workspace
from trainer.assessment.answers.explain import kept_sentence
from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Tutor
from trainer.assessment.check.check import Check, CheckAnswer
from trainer.assessment.check.check_form import FormError
from trainer.assessment.check.check_plan_file import NamedPlan
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.assessment.wrong_rules.library import Library
from trainer.errors import TrainerError
from trainer.lesson.spec import Lesson
from trainer.records.assignment import Assignment, assignments, missing_aircraft_words
from trainer.records.attempt import Attempt
from trainer.records.check_sitting import (
    ENDED_WITHOUT,
    Sitting,
    SittingError,
    SittingState,
    answer_attempt,
    answers_of,
    begin_sitting,
    check_of,
    end_sitting,
    keep_answer,
    new_sitting,
    sittings,
    state_of,
)
from trainer.records.check_verdict import CheckGround, CheckReport, report_of
from trainer.records.store import Store
from trainer.session.annunciation import changed_cells
from trainer.session.marks import region_cell
from trainer.ui.check.item_practice import item_tutor
from trainer.ui.lesson.recorder import now_utc, program_version

_VALID_DAYS = 365
_MOST_SEEDS = 10**6


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a check can be taken for: an assignment, or an aircraft for oneself."""

    words: str
    installation_id: str
    aircraft_id: str
    aircraft_title: str
    stage: int
    assignment: Assignment | None = None


@dataclass(slots=True)
class Taken:
    """A check in hand.

    Attributes:
        answers: What is kept of it, in order.
        is_over: It has ended, here or in another window.
        tutor: The item that is asked, flown to its question; None: all is answered.
    """

    sitting: Sitting
    library: Library
    bank: Bank
    check: Check
    answers: list[Attempt]
    item: Item | None = None
    tutor: Tutor | None = None
    is_over: bool = False

    @property
    def number(self) -> int:
        """Place of the item that is asked, from 1."""
        return len(self.answers) + 1

    @property
    def taken_s(self) -> float:
        """Time taken for the answers so far [s]."""
        return sum(one.taken_s for one in self.answers)


class CheckDesk:
    """Knows workspace and store; the bank is built elsewhere, since that takes seconds.

    Args:
        workspace: Aircraft, plans and lessons.
        store: Returns the open file of answers.
        now: The moment as text.
    """

    def __init__(
        self, workspace: Workspace, store: Callable[[], Store], now: Callable[[], str] = now_utc
    ) -> None:
        self.workspace = workspace
        self._store = store
        self.now = now

    def plans(self) -> dict[str, NamedPlan]:
        """Return the plans of the check by id."""
        return self.workspace.check_plans()

    def purposes(self) -> list[Purpose]:
        """Return what a check can be begun for, assignments first; each of these only once."""
        known, store = self.workspace.installations, self._store()
        answered = {state.sitting.assignment_id for state in sittings(store)}
        asked = [
            Purpose(
                f"{one.club}: {one.aircraft_title}, due {one.due_utc[:10]}", one.installation_id,
                one.aircraft_id, one.aircraft_title, one.stage, one,
            )
            for one in assignments(store)
            if one.installation_id in known and one.id not in answered
        ]  # fmt: skip
        own = [
            Purpose(f"For myself: {fit.title}", name, name, fit.title, 1)
            for name, fit in known.items()
        ]
        return [*asked, *own]

    def missing(self) -> list[str]:
        """Say of which open assignments the aircraft isn't here, and how to get it."""
        store, workspace = self._store(), self.workspace
        answered = {state.sitting.assignment_id for state in sittings(store)}
        known, folder = workspace.installations, workspace.user_installations
        problems = workspace.user_problems
        return [
            missing_aircraft_words(
                one, folder, problems.get(folder / f"{one.installation_id}.yaml", "")
            )
            for one in assignments(store)
            if one.installation_id not in known and one.id not in answered
        ]

    def states(self, member: str) -> list[SittingState]:
        """Return the checks of a member, newest first, and before them all that are open.

        The name in use may be another one after the program was killed.
        """
        found = sittings(self._store())
        wanted = [one for one in found if one.is_open or one.sitting.member == member]
        return sorted(wanted, key=lambda one: not one.is_open)

    def plan_of(self, purpose: Purpose, chosen: str) -> NamedPlan:
        """Return the plan: the assignment's, or the one chosen.

        Raises:
            SittingError: The assignment names a form that isn't in the file of plans.
        """
        plans = self.plans()
        name = purpose.assignment.check_form if purpose.assignment else chosen
        if name not in plans:
            raise SittingError(
                f"no form '{name}' in {self.workspace.check_plans_path}; accepted: "
                f"{', '.join(plans)}; ask the training lead for the club's file"
            )
        return plans[name]

    def begin(self, purpose: Purpose, form: str, member: str, known: tuple[Library, Bank]) -> Taken:
        """Begin a check; it is on the disk when this returns.

        Raises:
            TrainerError: It can't be begun, as when its assignment is taken already.
        """
        if not member.strip():
            raise SittingError("say who you are: the answers are kept under that name")
        named = self.plan_of(purpose, form)
        sitting = self._drawn(purpose, named, member.strip(), known[1])
        begin_sitting(self._store(), sitting)
        return self.go_on(sitting, known)

    def _drawn(self, purpose: Purpose, named: NamedPlan, member: str, bank: Bank) -> Sitting:
        """Return a sitting without items that the member has had, as far as the bank allows."""
        asked = purpose.assignment
        given = [
            one
            for one in self._store().attempts(member=member)  # newest first
            if one.item_id and one.installation_id == bank.installation
        ]
        had = dict.fromkeys(one.item_id for one in given)
        checked = dict.fromkeys(one.item_id for one in given if one.check_id)
        for excluded in (had, checked, {}):
            try:
                return new_sitting(
                    bank, named.plan, asked.check_seed if asked else _own_seed(self.now()),
                    excluded, member=member, aircraft_id=purpose.aircraft_id,
                    aircraft_title=purpose.aircraft_title, stage=purpose.stage, form=named.id,
                    begun_utc=self.now(), program_version=program_version(),
                    assignment_id=asked.id if asked else "",
                )  # fmt: skip
            except FormError as error:
                problem = error
        raise problem

    def go_on(self, sitting: Sitting, known: tuple[Library, Bank]) -> Taken:
        """Return a check as far as it has come, at the item that is to be asked.

        Raises:
            SittingError: The aircraft or the program has changed meanwhile; of a check that is over
                it says what came out.
        """
        library, bank = known
        state = state_of(self._store(), sitting)
        over = None if state.is_open else state
        given = answers_of(self._store(), sitting)
        taken = Taken(sitting, library, bank, check_of(sitting, bank, given, over), given)
        taken.is_over = over is not None
        if not taken.is_over:
            self._ask_next(taken)
        return taken

    def answer(self, taken: Taken, said: Prediction, taken_s: float) -> None:
        """Keep an answer and go to the next item.

        Raises:
            RecordsError: It could not be kept; the same item is still asked.
            SittingError: The check was ended or gone on with in another window.
        """
        assert taken.item is not None
        assert taken.tutor is not None
        assert taken.tutor.prompt is not None
        attempt = answer_attempt(
            taken.sitting, taken.item, taken.number, said,
            question=taken.tutor.prompt.question, taken_s=taken_s, at_utc=self.now(),
        )  # fmt: skip
        keep_answer(self._store(), taken.sitting, attempt)
        taken.check.answer(taken.item, said.annunciation, said.confidence)
        taken.answers.append(attempt)
        self._ask_next(taken)

    def _ask_next(self, taken: Taken) -> None:
        taken.item = taken.check.next_item()
        taken.tutor = None
        if taken.item is not None:
            taken.tutor = self.flown(taken.item, taken.sitting.installation_id, "")

    def flown(self, item: Item, installation: str, title: str) -> Tutor:
        """Return a run of an item that has come to its question."""
        return item_tutor(self.workspace, item, installation, title)

    def ground(self, taken: Taken) -> CheckGround:
        """Return what the verdict stands on; reads files, no records."""
        installation = taken.sitting.installation_id
        lessons: dict[str, list[str]] = {}
        for lesson in self._lessons():
            for name in lesson.competencies:
                lessons.setdefault(name, []).append(lesson.id)
        return CheckGround(
            taken.bank, taken.library.misconceptions,
            self.workspace.requirements(installation, _VALID_DAYS), lessons,
        )  # fmt: skip

    def lesson_titles(self) -> dict[str, str]:
        """Return the title of each lesson by id."""
        return {one.id: one.title for one in self._lessons()}

    def competency_titles(self, installation: str) -> dict[str, str]:
        """Return the title of each competency of an aircraft by id."""
        required = self.workspace.requirements(installation, _VALID_DAYS)
        return {one.competency_id: one.title for one in required}

    def _lessons(self) -> list[Lesson]:
        found: list[Lesson] = []
        for path in self.workspace.lesson_paths:
            try:
                found.append(self.workspace.lesson(path))
            except TrainerError:
                continue  # the page of lessons tells it
        return found

    def report(self, taken: Taken) -> CheckReport:
        """Return what the check says; opens no file of records, so it may run beside."""
        return report_of(taken.sitting, taken.check, taken.answers, self.ground(taken), self.now())

    def not_asked_for(self, taken: Taken, report: CheckReport) -> tuple[str, ...]:
        """Return the competencies of a report that its assignment doesn't require."""
        if not taken.sitting.assignment_id:
            return ()
        wanted = self._required_by(taken.sitting)
        return tuple(
            one.competency_id for one in report.outcomes if one.competency_id not in wanted
        )

    def _required_by(self, sitting: Sitting) -> set[str]:
        return {
            requirement.competency_id
            for one in assignments(self._store())
            if one.id == sitting.assignment_id
            for requirement in one.requirements
        }

    def end(self, taken: Taken, report: CheckReport) -> None:
        """End a check and keep its verdicts that its assignment requires, to be handed in.

        The others, as `not_asked_for` names them, are told on the page of the outcome alone: a
        book refuses a verdict on a competency that it doesn't require.

        Raises:
            SittingError: It was ended otherwise in another window.
        """
        wanted = self._required_by(taken.sitting) if taken.sitting.assignment_id else set()
        end_sitting(
            self._store(), taken.sitting, report.decided.decision,
            [one for one in report.outcomes if one.competency_id in wanted], self.now(),
        )  # fmt: skip

    def give_up(self, sitting: Sitting) -> None:
        """End a check without a verdict; its answers stay."""
        end_sitting(self._store(), sitting, ENDED_WITHOUT, [], self.now())

    def because(self, taken: Taken, answer: CheckAnswer) -> list[str]:
        """Return the sentences of the rules behind an answer, and what no rule moved."""
        chart, item = self.workspace.installation(taken.sitting.installation_id).chart, answer.item
        both = {**chart.rules, **chart.refusals}
        moved = {
            region_cell(chart, chart.rules[name].region)
            for name in item.rules
            if name in chart.rules
        }
        wrong = changed_cells(answer.answer, item.true)
        told = [both[name].because for name in item.rules if name in both]
        kept = kept_sentence(wrong, moved)
        return [*told, kept] if told and kept else told


def question_of(taken: Taken, item: Item) -> str:
    """Return the words in which an answered item was asked."""
    return next((one.question for one in taken.answers if one.item_id == item.id), "")


def _own_seed(now: str) -> int:
    """Return a seed for a check without an assignment: another one each time."""
    return random.Random(f"own check {now}").randrange(1, _MOST_SEEDS)  # noqa: S311 - a form
