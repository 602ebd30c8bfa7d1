"""The club's check as a value that grows by answers: what is asked next, and the decision.

The next item and the outcome follow from plan, form and answers alone, so that a check goes on
at the same item after a power loss: hand in the stored answers again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.assessment.answers.prediction import Confidence
from trainer.assessment.check.check_form import CheckForm, CheckPlan
from trainer.assessment.check.plan_rates import rates_words
from trainer.assessment.check.sprt import Decision, Sprt
from trainer.assessment.items.item import Item
from trainer.session.annunciation import Annunciation


@dataclass(frozen=True, slots=True)
class CheckAnswer:
    """One answered item of a check."""

    item: Item
    answer: Annunciation
    confidence: Confidence

    @property
    def is_right(self) -> bool:
        """True if every cell is right."""
        return self.answer == self.item.true


@dataclass(frozen=True, slots=True)
class CompetencyResult:
    """Answers of one competency, and the sequential test's decision on them alone.

    `favours` is True if they fit a ready member at least as well as one who isn't.
    """

    competency: str
    right: int
    wrong: int
    decision: Decision
    favours: bool = True


@dataclass(frozen=True, slots=True)
class Decided:
    """The decision and why.

    `open` while items are left to ask. `reasons` are sentences for the debrief.
    """

    decision: Decision
    reasons: tuple[str, ...]
    competencies: tuple[CompetencyResult, ...]
    critical_failed: tuple[str, ...]
    sure_and_wrong: tuple[CheckAnswer, ...]
    right: int
    wrong: int


class Check:
    """One member's check.

    Args:
        plan: How it decides.
        form: The items drawn for it.
        answers: Answers already given, in order, when a check is resumed.
    """

    def __init__(
        self, plan: CheckPlan, form: CheckForm, answers: Iterable[CheckAnswer] = ()
    ) -> None:
        self.plan = plan
        self.form = form
        self.answers: list[CheckAnswer] = []
        for answer in answers:
            self.answer(answer.item, answer.answer, answer.confidence)

    def answer(self, item: Item, answer: Annunciation, confidence: Confidence) -> None:
        """Take the answer to the item that was asked.

        Raises:
            ValueError: Another item was asked: an answered one can't be changed.
        """
        asked = self.next_item()
        if asked is None or asked.id != item.id:
            raise ValueError(f"item {item.id} was not asked")
        self.answers.append(CheckAnswer(item, answer, confidence))

    def next_item(self) -> Item | None:
        """Return the item to ask, or None when the check is over."""
        item = self._next_of_form()
        return self._second_chance() if item is None else item

    def _next_of_form(self) -> Item | None:
        done = {one.item.id for one in self.answers}
        main = self._main_decision()
        if main == "open":
            items = self.form.items[: self.plan.length]
            return next((item for item in items if item.id not in done), None)
        if main == "fail" or self.plan.each is None:
            return None
        decided = {one.competency for one in self._competencies() if one.decision != "open"}
        left = (item for item in self.form.items if item.competency not in decided)
        return next((item for item in left if item.id not in done), None)

    def _second_chance(self) -> Item | None:
        """A critical group that doesn't stand is asked about once more, at the end."""
        done = {one.item.id for one in self.answers}
        spare = {item.id for item in self.form.spare}
        given = {one.item.critical for one in self.answers if one.item.id in spare}
        for group in self._critical_wrong():
            if group not in given:
                for item in self.form.spare:
                    if item.critical == group and item.id not in done:
                        return item
        return None

    def _critical_wrong(self) -> tuple[str, ...]:
        """Return the critical groups whose last answer is wrong, or more answers than are right."""
        given = self._critical_answers().items()
        return tuple(
            group for group, right in given if not right[-1] or 2 * sum(right) < len(right)
        )

    def _critical_answers(self) -> dict[str, list[bool]]:
        found: dict[str, list[bool]] = {}
        for one in self.answers:
            if one.item.is_critical:
                found.setdefault(one.item.critical, []).append(one.is_right)
        return found

    def _main_decision(self) -> Decision:
        """Decide on right and wrong alone; second chances don't count.

        Not before each critical matter of the form was asked about: a form asks about them first.
        """
        spare = {item.id for item in self.form.spare}
        owed = {item.critical for item in self.form.items if item.is_critical}
        right = wrong = 0
        for one in self.answers:
            if one.item.id not in spare:
                right, wrong = right + one.is_right, wrong + (not one.is_right)
                owed.discard(one.item.critical)
                decision = self.plan.decide(right, wrong)
                if decision != "open" and not owed:
                    return decision  # what a competency is asked further doesn't count here
        return "open"

    def outcome(self) -> Decided:
        """Return the decision so far, with its reasons."""
        right = sum(one.is_right for one in self.answers)
        wrong = len(self.answers) - right
        failed = self._critical_wrong()
        competencies = self._competencies()
        main = self._main_decision()
        decision: Decision = main
        if self.next_item() is not None:
            decision = "open"
        elif main == "pass" and (failed or self._fails_by_one(competencies)):
            decision = "fail"
        return Decided(
            decision, self._reasons(decision, right, wrong, failed, competencies), competencies,
            failed, self._sure_and_wrong(), right, wrong,
        )  # fmt: skip

    def _fails_by_one(self, competencies: Iterable[CompetencyResult]) -> bool:
        """True if one competency fails the whole: not where each is decided for itself."""
        return self.plan.each is None and any(one.decision == "fail" for one in competencies)

    def _competencies(self) -> tuple[CompetencyResult, ...]:
        answers: dict[str, list[bool]] = {}
        for one in self.answers:
            answers.setdefault(one.item.competency, []).append(one.is_right)
        return tuple(self._result(name, answers[name]) for name in sorted(answers))

    def _result(self, name: str, answers: list[bool]) -> CompetencyResult:
        rates = self.plan.each or self.plan.rates
        right, wrong = sum(answers), len(answers) - sum(answers)
        if self.plan.each is None:
            decision = rates.decide(right, wrong)
        else:
            decision = self._first_decision(self.plan.each, answers)
        return CompetencyResult(name, right, wrong, decision, rates.ratio(right, wrong) >= 0.0)

    def _first_decision(self, each: Sprt, answers: list[bool]) -> Decision:
        """Return what a competency's own test decided first: more answers don't change it."""
        right = 0
        for count, is_right in enumerate(answers, 1):
            right += is_right
            decision = each.decide(right, count - right, self.plan.each_most)
            if decision != "open":
                return decision
        return "open"

    def is_ready(self, one: CompetencyResult) -> bool:
        """Return True if a member is ready in a competency, as far as the check can tell.

        The whole must be passed. Where each competency isn't decided for itself its own few answers
        must at least not speak for the lower limit, as one right of two does.
        """
        enough = one.decision == "pass" if self.plan.each is not None else one.favours
        return self.outcome().decision == "pass" and one.decision != "fail" and enough

    def _sure_and_wrong(self) -> tuple[CheckAnswer, ...]:
        return tuple(a for a in self.answers if a.confidence == "sure" and not a.is_right)

    def _reasons(
        self,
        decision: Decision,
        right: int,
        wrong: int,
        failed: tuple[str, ...],
        competencies: tuple[CompetencyResult, ...],
    ) -> tuple[str, ...]:
        said = [f"{right} of {right + wrong} answers are right."]
        sure = len(self._sure_and_wrong())
        if sure:
            were = "answer was" if sure == 1 else "answers were"
            said.insert(0, f"{sure} {were} given as sure and wrong.")
        said.extend(f"Critical, answered wrongly: {name.replace('_', ' ')}." for name in failed)
        said.extend(
            f"Critical, not right at once: {name.replace('_', ' ')} "
            f"({answers.count(False)} of {len(answers)} wrong)."
            for name, answers in self._critical_answers().items()
            if name not in failed and not all(answers)
        )
        said.extend(
            f"Not mastered on its own: {one.competency.replace('_', ' ')} "
            f"({one.wrong} of {one.right + one.wrong} wrong)."
            for one in competencies
            if one.decision == "fail"
        )
        if decision != "open" and self.plan.fixed:
            needed = f"{self.plan.cut_of_fixed} of {self.plan.fixed} must be right."
            said.append(self.plan.cut_rationale or needed)
        if decision != "open":
            said.append(rates_words(self.plan))
        return tuple(said)
