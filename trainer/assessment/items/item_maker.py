"""Turns a flown situation into items: what each key, selector, malfunction or wait leads to."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from itertools import combinations

from trainer.assessment.items.asked import Asked
from trainer.assessment.items.differing import Differing
from trainer.assessment.items.item import Item, Stimulus, partition_of, play, play_slowly
from trainer.assessment.items.item_subject import (
    Moment,
    band_of,
    competency_of,
    conditions_of,
    critical_group,
    topics_of,
)
from trainer.assessment.items.overlaid import Change, Overlaid, Place
from trainer.assessment.items.situations import Flown
from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import PatchError
from trainer.assessment.wrong_rules.row_index import RowIndex
from trainer.charts.kernel import AUTOMATIC, REFUSALS, Row
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
    """An item whose true answer comes from the chart and still has to be flown; a wait's is flown.

    Attributes:
        marks: What it asks about: rows of the chart with their outcome, and wrong rules made from
            the chart that may answer otherwise.
        signals: The signals that its stimulus leads through, each change of them; none for keys.
        rules: Rules and refusals behind the answer, if it is flown already.
    """

    item: Item
    flown: Flown
    marks: frozenset[Mark] = frozenset()
    signals: tuple[int, ...] = ()
    rules: tuple[str, ...] | None = None


class ItemMaker:
    """Computes items for one installation.

    Args:
        library: The misconceptions fitted to the installation.
        automatic: Wrong rules made from the chart itself; None: none.
        usual_bits: The signals as they mostly are.

    Attributes:
        charts: The true chart with all others.
        listed: Which of the misconceptions an answer may depend on.
        changes: What each wrong rule changes, by name.
    """

    def __init__(
        self, library: Library, automatic: RowIndex | None = None, usual_bits: int = 0
    ) -> None:
        self._library = library
        self._usual_bits = usual_bits
        self._chart = library.logic.installation.chart
        self.charts = Overlaid(library.logic, library.truth)
        self.listed = Differing(library.truth, library.index.charts)
        self._unlisted = Differing(library.truth, {} if automatic is None else automatic.charts)
        made = {} if automatic is None else automatic.charts
        self.changes = {
            name: self.charts.of(one.kernel, one.rows)
            for name, one in (*library.index.charts.items(), *made.items())
        }
        self._pairs: dict[tuple[str, str], Change | None] = {}
        self._marked: dict[Place, frozenset[Mark]] = {}

    def instant(self, flown: Flown) -> list[Draft]:
        """Return a draft for each key, selector and malfunction that the logic takes notice of."""
        drafts = [
            self._draft(flown, Stimulus("key", event.id), ())
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
            *(self._turned(flown, stimulus) for stimulus in turned),
            *(self._failed(flown, fault) for fault in _ASKED_FAULTS),
        ]
        return [*drafts, *(draft for draft in found if draft is not None)]

    def _turned(self, flown: Flown, stimulus: Stimulus) -> Draft | None:
        """Return the draft of a selector turned: its event, with the signals as they then are."""
        fork = flown.session.fork()
        event = apply_selection(fork.flight, stimulus.name, stimulus.value)
        if event is None or event not in self._chart.events:
            return None
        logic = self._library.logic
        bits = logic.signals.evaluate(fork.flight, fork.powered_s, fork.bits)
        return self._draft(flown, replace(stimulus, key=event), (bits,))

    def _failed(self, flown: Flown, fault: str) -> Draft | None:
        """Return the draft of a malfunction, or None if no signal tells of it at once."""
        fork = flown.session.fork()
        apply_fault(fork.flight, fault, on=True)
        bits = self._library.logic.signals.evaluate(fork.flight, fork.powered_s, fork.bits)
        if bits == flown.bits:
            return None
        return self._draft(flown, Stimulus("fault", name=fault), (bits,))

    def _draft(self, flown: Flown, stimulus: Stimulus, signals: tuple[int, ...]) -> Draft:
        asked = Asked(self.charts, flown.session, stimulus, signals)
        return Draft(self._item(flown, asked), flown, self._marks(asked.points), signals)

    def sequence(self, flown: Flown, keys: tuple[str, ...]) -> Draft:
        """Return a draft of several keys pressed one after the other."""
        stimulus = Stimulus("key", keys[0], then=keys[1:])
        return self._draft(flown, stimulus, ())

    def waiting(self, flown: Flown) -> Draft | None:
        """Return the draft of waiting for the next change, or None if it comes too late."""
        stimulus = Stimulus("wait", wait_s=flown.scene.wait_s)
        fork = flown.session.fork()
        bits = fork.bits
        signals: list[int] = []
        prompt = PromptPlay(Predict("next_change", "", stimulus.wait_s), fork)
        while not prompt.is_over:
            prompt.step()
            if fork.bits != bits:
                bits = fork.bits
                signals.append(bits)
        answer = prompt.answer
        if not answer.nothing_changes and answer.elapsed_s > stimulus.wait_s - _MARGIN_S:
            return None
        # The flight is the true one: up to its first change it is that of each belief.
        asked = Asked(self.charts, flown.session, stimulus, signals, answer.after)
        item, marks = self._item(flown, asked), self._marks(asked.points)
        return Draft(item, flown, marks, tuple(signals), _rules(fork))

    def _marks(self, points: list[Place]) -> frozenset[Mark]:
        marks: set[Mark] = set(self._unlisted.at(points))
        for place in points:
            known = self._marked.get(place)
            if known is None:
                known = self._marked[place] = frozenset(
                    (row, outcome)
                    for row, outcome in self.charts.outcomes(place)
                    if outcome or (place[0] != AUTOMATIC and row[1] != REFUSALS)
                )
            marks |= known
        return frozenset(marks)

    def _item(self, flown: Flown, asked: Asked) -> Item:
        before, true, stimulus = flown.session.annunciation, asked.true, asked.stimulus
        answers = self._wrong_answers(asked, self.listed)
        partition = partition_of(answers)
        kind = f"{stimulus.id}|{changed_cells(before, true)}|{partition}"
        return Item(
            f"{flown.situation.id}/{stimulus.id}", flown.situation, stimulus, before, true,
            answers, (), hashlib.sha256(kind.encode()).hexdigest()[:12], "", "plain",
            partition=partition,
        )  # fmt: skip

    def _wrong_answers(self, asked: Asked, charts: Differing) -> dict[str, Annunciation]:
        """Return the answer under each of many charts, where it isn't the true one."""
        answers = {name: asked.answer(self.changes[name]) for name in charts.at(asked.points)}
        return {name: answer for name, answer in answers.items() if answer != asked.true}

    def item(self, draft: Draft) -> Item:
        """Return the item of a draft that is flown, with all that its answers tell."""
        item = draft.item
        held = replace(item, rules=draft.rules or ())
        asked = Asked(self.charts, draft.flown.session, item.stimulus, draft.signals, item.true)
        return replace(
            held,
            competency=competency_of(held, self._chart),
            band=band_of(held),
            critical=critical_group(held, self._chart),
            pair_answers=self._pair_answers(item, asked),
            automatic=self._wrong_answers(asked, self._unlisted),
            topics=topics_of(held, asked.exposed(), self._moments(asked), self._chart),
        )

    def _moments(self, asked: Asked) -> list[Moment]:
        return [
            (event, tuple(conditions_of(configuration, self._unusual(bits), self._chart)))
            for event, configuration, bits in asked.moments
        ]

    def _unusual(self, bits: int) -> list[str]:
        return [
            f"{name} {'on' if bits >> bit & 1 else 'off'}"
            for name, bit in self._library.logic.machine.signal_bit.items()
            if (bits ^ self._usual_bits) >> bit & 1
        ]

    def _pair_answers(self, item: Item, asked: Asked) -> dict[tuple[str, str], Annunciation]:
        changes = {pair: self._pair(pair) for pair in combinations(sorted(item.answers), 2)}
        return {pair: asked.answer(one) for pair, one in changes.items() if one is not None}

    def _pair(self, pair: tuple[str, str]) -> Change | None:
        """Return the chart of two misconceptions at once, or None if they can't be composed."""
        if pair not in self._pairs:
            one, other = (self._library.beliefs[name] for name in pair)
            if one.rows & other.rows:
                self._pairs[pair] = self._composed(one, other)
            else:
                rows = {row: both.kernel.entries(row) for both in (one, other) for row in both.rows}
                self._pairs[pair] = self.charts.change(rows)
        return self._pairs[pair]

    def _composed(self, one: Belief, other: Belief) -> Change | None:
        try:
            both = self._library.believe(one.parts[0], other.parts[0])
        except PatchError:
            return None
        return self.charts.of(both.kernel, both.rows)


def flown_rules(draft: Draft) -> tuple[str, ...] | None:
    """Return the rules that a draft's flight fires, or None if it doesn't lead to the answer."""
    if draft.rules is not None:
        return draft.rules
    item, session = draft.item, draft.flown.session.fork()
    if play(item.stimulus, session) != item.true:
        return None
    if item.is_sequence:
        slowly = play_slowly(item.stimulus, draft.flown.session.fork())
        if slowly != item.true:
            return None
    return _rules(session)


def _rules(session: Session) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for record in session.trace.records:
        if record.refusal is not None:
            found[record.refusal.rule_id] = None
        found.update((fired.id, None) for fired in record.rules)
    return tuple(found)
