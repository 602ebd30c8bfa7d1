"""What somebody answers in a flown situation who holds a belief, of one or more wrong rules."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.assessment.items.item import Stimulus
from trainer.assessment.wrong_rules.row_index import RowIndex
from trainer.charts.kernel import AUTOMATIC, REFUSALS, Kernel, Point, Row, UnsettledError, forced
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.faults import apply_fault
from trainer.session.logic import Logic
from trainer.session.selectors import apply_selection
from trainer.session.session import Session

_TRIED = 2
"""Other outcomes of a row that are tried."""


class FlownQuestion:
    """A stimulus in a flown situation, ready to be answered under any belief.

    Args:
        logic: The installation's true logic.
        session: The session at the question; it isn't touched.
        stimulus: What happens.
        signals: The signals that it leads through, each change of them; see `signals_of`.
        true: The true answer, if it was flown; None: what the true chart leads to.
    """

    def __init__(
        self,
        logic: Logic,
        session: Session,
        stimulus: Stimulus,
        signals: Sequence[int],
        true: Annunciation | None = None,
    ) -> None:
        self._logic, self._truth = logic, logic.machine.kernel
        self._code, self._bits = self._truth.pack(session.configuration), session.bits
        self._before = session.annunciation
        self.stimulus, self._signals = stimulus, signals
        self.points = self._points()
        self.true = self._answer(self._truth) if true is None else true

    def _points(self) -> list[Point]:
        """Return the microsteps of the true chart on the way."""
        if self.stimulus.kind == "wait":
            ways = (self._truth.points(self._code, bits, (AUTOMATIC,)) for bits in self._signals)
            return [point for way in ways for point in way]
        return self._truth.points(self._code, self._at_once, self.stimulus.events)

    @property
    def _at_once(self) -> int:
        """The signals in the moment of a stimulus that takes no time."""
        return self._signals[0] if self._signals else self._bits

    @property
    def moments(self) -> list[Point]:
        """The events with the code and the signals that they come in.

        A wait or a malfunction is one event: `automatic`, with the signals at its end.
        """
        if not self.stimulus.keys:
            return [(AUTOMATIC, self._code, self._signals[-1] if self._signals else self._bits)]
        return [point for point in self.points if point[0] != AUTOMATIC]

    def denies(self, belief: Kernel) -> bool:
        """True if under a belief the situation wouldn't last: what is shown overrules it."""
        return not belief.rests(self._code, self._bits)

    def answer(self, belief: Kernel) -> Annunciation:
        """Return the answer under a belief; the true one if what is shown overrules it.

        A belief under which the logic never comes to rest foresees nothing.
        """
        if self.denies(belief):
            return self.true
        try:
            return self._answer(belief)
        except UnsettledError:
            return self.true

    def _answer(self, belief: Kernel) -> Annunciation:
        show = self._logic.shown
        if self.stimulus.kind == "wait":
            for bits in self._signals:
                shown = show(belief.lead(self._code, bits, (AUTOMATIC,)))
                if shown != self._before:
                    return shown
            return self._before
        return show(belief.lead(self._code, self._at_once, self.stimulus.events))

    def wrong_answers(self, charts: RowIndex) -> dict[str, Annunciation]:
        """Return the answer under each of many charts, where it isn't the true one."""
        names = charts.differing(self.points)
        answers = {name: self.answer(charts.charts[name].kernel) for name in names}
        return {name: answer for name, answer in answers.items() if answer != self.true}

    def exposed(self) -> tuple[Row, ...]:
        """Return the rows of the chart that show in the answer: done otherwise, it's another strip.

        What a later key overwrites doesn't count.
        """
        rows: dict[Row, str] = {}
        for point in self.points:
            for row, outcome in self._truth.outcomes(point):
                if outcome or point[0] != AUTOMATIC:
                    rows.setdefault(row, outcome)
        shown = [row for row, outcome in rows.items() if self._shows(row, outcome)]
        if not self.stimulus.keys:
            # What might have changed by itself and didn't is asked about as well.
            shown.extend(self._truth.rows_of(AUTOMATIC, self._code))
        return tuple(dict.fromkeys(shown))

    def _shows(self, row: Row, outcome: str) -> bool:
        others = self._others(row, outcome)
        return all(self.answer(forced(self._truth, row, to)) != self.true for to in others)

    def _others(self, row: Row, outcome: str) -> tuple[str, ...]:
        """Return what a row might lead to instead, at most two: nothing, and other states."""
        _, region, state = row
        if region == REFUSALS:
            return ("",) if outcome else ("believed",)
        states = self._truth.state_bits[region]
        elsewhere = tuple(name for name in states if name not in (state, outcome))
        return ("", *elsewhere)[:_TRIED] if outcome else elsewhere[:_TRIED]


def signals_of(session: Session, stimulus: Stimulus) -> tuple[int, ...]:
    """Return the signals that a stimulus leads through, each change of them; none for keys.

    Args:
        session: The session at the question; it isn't touched.
        stimulus: What happens.
    """
    fork = session.fork()
    if stimulus.kind == "wait":
        return _signals_on_the_way(fork, stimulus)
    if stimulus.kind == "set":
        apply_selection(fork.flight, stimulus.name, stimulus.value)
    elif stimulus.kind == "fault":
        apply_fault(fork.flight, stimulus.name, on=True)
    else:
        return ()
    return (fork.logic.signals.evaluate(fork.flight, fork.powered_s, fork.bits),)


def _signals_on_the_way(session: Session, stimulus: Stimulus) -> tuple[int, ...]:
    signals: list[int] = []
    bits = session.bits
    prompt = PromptPlay(Predict("next_change", "", stimulus.wait_s), session)
    while not prompt.is_over:
        prompt.step()
        if session.bits != bits:
            bits = session.bits
            signals.append(bits)
    return tuple(signals)
