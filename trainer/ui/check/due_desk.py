"""What a member should meet again in an aircraft, why, and with which item. No Qt here."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from trainer.app import Workspace
from trainer.assessment.answers.tutor import Tutor
from trainer.assessment.check.spacing import Review, RuleState, Spacing
from trainer.assessment.diagnosis.diagnosis import Diagnosis
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.diagnosis.next_item import ItemSelector
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.charts.spec import ChartSpec
from trainer.records.attempt import Attempt
from trainer.records.check_sitting import answers_of, sittings
from trainer.records.exposure import item_exposure
from trainer.records.field_check import moment_of
from trainer.records.store import Store
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.marks import region_cell
from trainer.ui.check.item_practice import item_tutor
from trainer.ui.lesson.practice import Answered
from trainer.ui.lesson.recorder import attempt_of, now_utc

LESSON_ID = "due_practice"
TITLE = "Due practice"


@dataclass(frozen=True, slots=True)
class DueRule:
    """A rule that the member has met.

    Attributes:
        sentence: What the rule says.
        last: The answer in which it was met last.
        state: Its memory, with the moment at which it is due.
        is_right: It was called rightly then, whatever else of that answer wasn't.
        can_ask: False if no item of the bank shows it; True while the bank isn't known.
    """

    rule: str
    sentence: str
    last: Attempt
    state: RuleState
    is_right: bool
    can_ask: bool = True

    @property
    def is_due(self) -> bool:
        """True if it should be met now, and can be."""
        return self.state.is_due and self.can_ask

    @property
    def turn(self) -> tuple[int, float]:
        """Where it stands among the others: the lower, the sooner; due ones are all alike."""
        if self.is_due:
            return 0, 0.0
        return (1 if self.can_ask else 2), self.state.due.timestamp()


@dataclass(slots=True)
class Engine:
    """A bank with what chooses from it; made once, since that takes a moment."""

    bank: Bank
    hypotheses: Hypotheses
    selector: ItemSelector

    @staticmethod
    def of(bank: Bank) -> Engine:
        """Return the engine of a bank."""
        hypotheses = Hypotheses(bank)
        return Engine(bank, hypotheses, ItemSelector(hypotheses))


class DueDesk:
    """Reads the member's answers anew each time: they are few, and always right.

    Args:
        workspace: Aircraft and their rules.
        store: Returns the open file of answers.
        now: The moment as text.
    """

    def __init__(
        self, workspace: Workspace, store: Callable[[], Store], now: Callable[[], str] = now_utc
    ) -> None:
        self.workspace = workspace
        self._store = store
        self._now = now
        self.engines: dict[str, Engine] = {}

    @property
    def now(self) -> datetime:
        """The present moment."""
        return moment_of(self._now())

    def attempts(self, member: str, installation: str) -> list[Attempt]:
        """Return the member's answers in an aircraft, oldest first; not those of an open check."""
        given = reversed(self._store().shown_attempts(member))
        return [one for one in given if one.installation_id == installation]

    def rules(self, member: str, installation: str) -> list[DueRule]:
        """Return the rules that the member has met, in the order in which they come up.

        Due ones, the least remembered first; the others by when they are due; what only lessons
        show last.
        """
        given = self.attempts(member, installation)
        chart = self.workspace.installation(installation).chart
        sentences = self._sentences(installation)
        last = {rule: one for one in given for rule in one.rule_ids if rule in sentences}
        engine = self.engines.get(installation)
        shown = {rule for item in engine.bank.items for rule in item.rules} if engine else set(last)
        found = [
            DueRule(
                state.rule,
                sentences[state.rule],
                last[state.rule],
                state,
                is_called_rightly(state.rule, last[state.rule], chart),
                state.rule in shown,
            )
            for state in spacing_of(given, chart).states(self.now)
            if state.rule in last
        ]
        return sorted(found, key=lambda one: one.turn)

    def item(self, member: str, installation: str, rule: str) -> Item | None:
        """Return the most telling fresh item for a rule.

        Args:
            member: Who is asked.
            installation: The aircraft; its engine must be known.
            rule: The rule to be met; empty: one that the member hasn't met.
        """
        store, engine = self._store(), self.engines[installation]
        given = self.attempts(member, installation)
        met = {name for one in given for name in one.rule_ids}
        kept_back = self._kept_back()
        had = {one.item_id for one in given if one.item_id}
        wanted = {
            item.id
            for item in engine.bank.items
            if (rule in item.rules if rule else bool(set(item.rules) - met))
        }
        if not rule and wanted <= had:
            wanted = {item.id for item in engine.bank.items}  # everything was met: ask anything
        others = {item.id for item in engine.bank.items} - wanted | kept_back
        chance = random.Random(f"{member} {len(given)}")  # noqa: S311 - which situation comes
        diagnosis, exposure = diagnosis_of(engine, given), item_exposure(store, installation)
        # A rule with few situations comes round again rather than never.
        return engine.selector.select(diagnosis, others | had, chance, exposure) or (
            engine.selector.select(diagnosis, others, chance, exposure) if rule else None
        )

    def _kept_back(self) -> set[str]:
        """Return the items of open checks: nobody may look at those meanwhile.

        Under no name: the same person may be written otherwise here than in the check.
        """
        store = self._store()
        open_ones = [one.sitting for one in sittings(store) if one.is_open]
        answered = {a.item_id for one in open_ones for a in answers_of(store, one)}
        return answered | {name for one in open_ones for name in (*one.items, *one.spare)}

    def flown(self, item: Item, installation: str) -> Tutor:
        """Return a run of an item that has come to its question."""
        return item_tutor(self.workspace, item, installation, TITLE)

    def keep(self, answered: Answered, flyer: Tutor, member: str, item: Item) -> None:
        """Keep an answer.

        Raises:
            RecordsError: It couldn't be kept.
        """
        made = attempt_of(answered, flyer, member, self._now(), item.id)
        self._store().add(replace(made, lesson_id=LESSON_ID))

    def _sentences(self, installation: str) -> dict[str, str]:
        chart = self.workspace.installation(installation).chart
        both = {**chart.rules, **chart.refusals}
        return {name: rule.because for name, rule in both.items()}


def is_called_rightly(rule: str, one: Attempt, chart: ChartSpec) -> bool:
    """Return whether a rule that was met in an answer was called rightly in it.

    Of a strip only the cell that the rule moves speaks for it; a refusal, which moves none, is
    wrong with any cell. What isn't known of the rule goes by the whole answer.

    Args:
        rule: Id of a rule or refusal behind the answer.
        one: The answer.
        chart: The chart of its aircraft, as it is now.
    """
    if one.is_right or rule not in chart.rules or not set(one.wrong_cells) <= set(CELLS):
        return one.is_right
    cell = region_cell(chart, chart.rules[rule].region)
    return bool(cell) and cell not in one.wrong_cells


def spacing_of(attempts: Sequence[Attempt], chart: ChartSpec) -> Spacing:
    """Return the memory that answers in an aircraft speak of."""
    spacing = Spacing()
    spacing.add(
        Review(rule, moment_of(one.at_utc), is_called_rightly(rule, one, chart), one.confidence)
        for one in attempts
        for rule in one.rule_ids
    )
    return spacing


def diagnosis_of(engine: Engine, attempts: Sequence[Attempt]) -> Diagnosis:
    """Return what answers to items of a bank say; an item that has changed says nothing."""
    known = {item.id: item for item in engine.bank.items}
    diagnosis = Diagnosis(engine.hypotheses)
    for one in attempts:
        item = known.get(one.item_id)
        if item is not None and item.true.to_json() == one.actual:
            diagnosis.answer(item, Annunciation.from_json(one.predicted))
    return diagnosis
