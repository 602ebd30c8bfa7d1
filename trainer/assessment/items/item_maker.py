"""Turns a flown situation into items: what each key, selector, malfunction or wait leads to."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from itertools import combinations

from trainer.assessment.items.item import Item, Stimulus, partition_of, play, play_slowly
from trainer.assessment.items.item_subject import (
    Moment,
    band_of,
    competency_of,
    conditions_of,
    critical_group,
    topics_of,
)
from trainer.assessment.items.situations import Flown
from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.believed_answer import FlownQuestion
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import PatchError
from trainer.assessment.wrong_rules.row_index import RowIndex
from trainer.charts.guard import Configuration
from trainer.charts.kernel import (
    AUTOMATIC,
    REFUSALS,
    Kernel,
    Overlay,
    Point,
    Row,
    UnsettledError,
    rows_of,
)
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.session.faults import apply_fault
from trainer.session.selectors import apply_selection
from trainer.session.session import Session

_NEW_ALTITUDE_FT = 1000.0
_ASKED_FAULTS = ("servo", "navigation", "glidepath")
"""Without power there is no strip to ask about; a runaway or a dead key doesn't change it. Without
attitude data everything ends in any mode: to ask that in each costs a sound member 20 answers."""
_MARGIN_S = 3.0
"""A change so close to the end of the wait might as well come after it [s]."""


Mark = tuple[Row, str] | str
"""A row of the chart with its outcome, or the name of a wrong rule made from the chart."""


@dataclass(frozen=True, slots=True)
class Draft:
    """An item whose true answer comes from the chart and still has to be flown.

    Attributes:
        marks: What it asks about: rows of the chart with their outcome, and wrong rules made from
            the chart that may answer otherwise.
    """

    item: Item
    flown: Flown
    marks: frozenset[Mark] = frozenset()


class ItemMaker:
    """Computes items for one installation.

    Args:
        library: The misconceptions fitted to the installation.
        automatic: Wrong rules made from the chart itself; None: none.
        usual_bits: The signals as they mostly are.
    """

    def __init__(
        self, library: Library, automatic: RowIndex | None = None, usual_bits: int = 0
    ) -> None:
        self._library = library
        self._automatic = automatic
        self._usual_bits = usual_bits
        self._chart = library.logic.installation.chart
        self._pairs: dict[tuple[str, str], Kernel | None] = {}

    def instant(self, flown: Flown) -> list[Draft]:
        """Return a draft for each key, selector and malfunction that the logic takes notice of."""
        denied = self._denied(flown)
        drafts = [
            self._draft(flown, Stimulus("key", event.id), flown.bits, denied)
            for event in self._chart.events.values()
            if event.kind == "key"
        ]
        references = flown.session.references
        altitude_ft = references.selected_altitude_ft + _NEW_ALTITUDE_FT
        turned = [Stimulus("set", "", "selected_altitude_ft", altitude_ft)]
        others = [name for name in flown.session.flight.sources if name != references.source_id]
        if references.source_id and others:
            turned.append(Stimulus("set", "", "source", others[0]))
        found = [
            *(self._turned(flown, stimulus, denied) for stimulus in turned),
            *(self._failed(flown, fault, denied) for fault in _ASKED_FAULTS),
        ]
        return [*drafts, *(draft for draft in found if draft is not None)]

    def _denied(self, flown: Flown) -> set[str]:
        """Misconceptions under which the situation wouldn't last: what is shown overrules them."""
        here, bits = flown.configuration, flown.bits
        names = self._library.differing([(AUTOMATIC, here, bits)])
        beliefs = self._library.beliefs
        return {name for name in names if not beliefs[name].kernel.is_at_rest(here, bits)}

    def _turned(self, flown: Flown, stimulus: Stimulus, denied: set[str]) -> Draft | None:
        """Return the draft of a selector turned: its event, with the signals as they then are."""
        fork = flown.session.fork()
        event = apply_selection(fork.flight, stimulus.name, stimulus.value)
        if event is None or event not in self._chart.events:
            return None
        logic = self._library.logic
        bits = logic.signals.evaluate(fork.flight, fork.powered_s, fork.bits)
        return self._draft(flown, replace(stimulus, key=event), bits, denied)

    def _failed(self, flown: Flown, fault: str, denied: set[str]) -> Draft | None:
        """Return the draft of a malfunction, or None if no signal tells of it at once."""
        fork = flown.session.fork()
        apply_fault(fork.flight, fault, on=True)
        bits = self._library.logic.signals.evaluate(fork.flight, fork.powered_s, fork.bits)
        if bits == flown.bits:
            return None
        return self._draft(flown, Stimulus("fault", name=fault), bits, denied)

    def _draft(self, flown: Flown, stimulus: Stimulus, bits: int, denied: set[str]) -> Draft:
        here, events = flown.configuration, stimulus.events
        points = self._library.truth.points_of_all(here, bits, events)
        true = self._show(points[-1][1])
        answers: dict[str, Annunciation] = {}
        for name in self._library.differing(points):
            if name in denied:
                continue
            kernel = self._library.beliefs[name].kernel
            try:
                answer = self._show(kernel.send_all(here, bits, events))
            except UnsettledError:
                continue
            if answer != true:
                answers[name] = answer
        return Draft(self._item(flown, stimulus, true, answers), flown, self._marks(points))

    def sequence(self, flown: Flown, keys: tuple[str, ...]) -> Draft:
        """Return a draft of several keys pressed one after the other."""
        stimulus = Stimulus("key", keys[0], then=keys[1:])
        return self._draft(flown, stimulus, flown.bits, self._denied(flown))

    def waiting(self, flown: Flown) -> Draft | None:
        """Return the draft of waiting for the next change, or None if it comes too late."""
        stimulus = Stimulus("wait", wait_s=flown.scene.wait_s)
        fork = flown.session.fork()
        here, bits = fork.configuration, fork.bits
        points: list[int] = []
        prompt = PromptPlay(Predict("next_change", "", stimulus.wait_s), fork)
        while not prompt.is_over:
            prompt.step()
            if fork.bits != bits:
                bits = fork.bits
                points.append(bits)
        answer = prompt.answer
        if not answer.nothing_changes and answer.elapsed_s > stimulus.wait_s - _MARGIN_S:
            return None
        truth = self._library.truth
        steps = [p for bits in points for p in truth.points(here, bits, AUTOMATIC)]
        answers: dict[str, Annunciation] = {}
        for name in self._library.differing(steps):
            foreseen = self._foreseen(name, flown, points)
            if foreseen is not None and foreseen != answer.after:
                answers[name] = foreseen
        return Draft(self._item(flown, stimulus, answer.after, answers), flown, self._marks(steps))

    def _foreseen(self, name: str, flown: Flown, points: list[int]) -> Annunciation | None:
        """Return the first change that a belief foresees on the way, None if it denies the start.

        None as well if under it the logic never comes to rest. The flight is the true one: up to
        its first change the two are the same flight.
        """
        belief, here = self._library.beliefs[name], flown.configuration
        if not belief.kernel.is_at_rest(here, flown.bits):
            return None
        before = flown.session.annunciation
        try:
            for bits in points:
                shown = self._show(belief.kernel.settle(here, bits).configuration)
                if shown != before:
                    return shown
        except UnsettledError:
            return None
        return before

    def _marks(self, points: list[Point]) -> frozenset[Mark]:
        truth = self._library.truth
        found: set[Mark] = (
            set() if self._automatic is None else set(self._automatic.differing(points))
        )
        for event, configuration, bits in dict.fromkeys(points):
            for row in rows_of((event, configuration, bits)):
                outcome = truth.outcome(row, configuration, bits)
                if outcome or (event != AUTOMATIC and row[1] != REFUSALS):
                    found.add((row, outcome))
        return frozenset(found)

    def _show(self, configuration: Configuration) -> Annunciation:
        return self._library.logic.annunciation(configuration)

    def _item(
        self,
        flown: Flown,
        stimulus: Stimulus,
        true: Annunciation,
        answers: dict[str, Annunciation],
    ) -> Item:
        before = flown.session.annunciation
        partition = partition_of(answers)
        kind = f"{stimulus.id}|{changed_cells(before, true)}|{partition}"
        return Item(
            f"{flown.situation.id}/{stimulus.id}", flown.situation, stimulus, before, true,
            answers, (), hashlib.sha256(kind.encode()).hexdigest()[:12], "", "plain",
            partition=partition,
        )  # fmt: skip

    def flown(self, draft: Draft) -> Item | None:
        """Return a draft's item with what its flight shows, or None if it comes out otherwise."""
        item, session = draft.item, draft.flown.session.fork()
        slowly = session.fork()
        if play(item.stimulus, session) != item.true:
            return None
        if item.is_sequence and play_slowly(item.stimulus, slowly) != item.true:
            return None
        rules = _rules(session)
        held = replace(item, rules=rules)
        question = FlownQuestion(draft.flown.session, item.stimulus, item.true)
        return replace(
            held,
            competency=competency_of(held, self._chart),
            band=band_of(held),
            critical=critical_group(held, self._chart),
            pair_answers=self._pair_answers(item, question),
            automatic=self._unlisted(question),
            topics=topics_of(
                held, question.exposed(self._library), self._moments(question), self._chart
            ),
        )

    def _moments(self, question: FlownQuestion) -> list[Moment]:
        return [
            (event, tuple(conditions_of(configuration, self._unusual(bits), self._chart)))
            for event, configuration, bits in question.moments(self._library.truth)
        ]

    def _unusual(self, bits: int) -> list[str]:
        return [
            f"{name} {'on' if bits >> bit & 1 else 'off'}"
            for name, bit in self._library.logic.machine.signal_bit.items()
            if (bits ^ self._usual_bits) >> bit & 1
        ]

    def _unlisted(self, question: FlownQuestion) -> dict[str, Annunciation]:
        if self._automatic is None:
            return {}
        return question.wrong_answers(self._automatic, self._library)

    def _pair_answers(
        self, item: Item, question: FlownQuestion
    ) -> dict[tuple[str, str], Annunciation]:
        found: dict[tuple[str, str], Annunciation] = {}
        for pair in combinations(sorted(item.answers), 2):
            kernel = self._pair(pair)
            if kernel is not None:
                found[pair] = question.answer(kernel, self._library)
        return found

    def _pair(self, pair: tuple[str, str]) -> Kernel | None:
        """Return the chart of two misconceptions at once, or None if they can't be composed."""
        if pair not in self._pairs:
            one, other = (self._library.beliefs[name] for name in pair)
            if one.rows & other.rows:
                self._pairs[pair] = self._composed(one, other)
            else:
                self._pairs[pair] = _both(one, other)
        return self._pairs[pair]

    def _composed(self, one: Belief, other: Belief) -> Kernel | None:
        try:
            return self._library.believe(one.parts[0], other.parts[0]).kernel
        except PatchError:
            return None


def _both(one: Belief, other: Belief) -> Kernel:
    """Return what holds of two misconceptions that change different rows."""
    return Overlay(one.kernel, {row: other.kernel.entries(row) for row in other.rows})


def _rules(session: Session) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for record in session.trace.records:
        if record.refusal is not None:
            found[record.refusal.rule_id] = None
        found.update((fired.id, None) for fired in record.rules)
    return tuple(found)
