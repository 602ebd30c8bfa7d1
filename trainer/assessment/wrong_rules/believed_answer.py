"""What somebody answers in a flown situation who holds a belief, of one or more wrong rules."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.assessment.items.item import Stimulus
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.row_index import RowIndex
from trainer.charts.kernel import (
    AUTOMATIC,
    REFUSALS,
    Kernel,
    Point,
    Row,
    UnsettledError,
    forced,
    rows_of,
)
from trainer.charts.spec import ChartSpec
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.faults import apply_fault
from trainer.session.selectors import apply_selection
from trainer.session.session import Session

_TRIED = 2
"""Other outcomes of a row that are tried."""


class FlownQuestion:
    """A stimulus in a flown situation, ready to be answered under any belief.

    Args:
        session: The session at the question; it isn't touched.
        stimulus: What happens.
        true: The true answer.
        on_the_way: The signals that the stimulus leads through, each change of them; None: flown
            here.
    """

    def __init__(
        self,
        session: Session,
        stimulus: Stimulus,
        true: Annunciation,
        on_the_way: Sequence[int] | None = None,
    ) -> None:
        self._here, self._bits = session.configuration, session.bits
        self._before, self._true = session.annunciation, true
        self._stimulus = stimulus
        self._on_the_way: Sequence[int] = ()
        fork = session.fork()
        if on_the_way is not None:
            self._on_the_way = on_the_way
        elif stimulus.kind == "wait":
            self._on_the_way = _signals_on_the_way(fork, stimulus)
        elif stimulus.kind == "set":
            apply_selection(fork.flight, stimulus.name, stimulus.value)
            self._on_the_way = [_signals_now(fork)]
        elif stimulus.kind == "fault":
            apply_fault(fork.flight, stimulus.name, on=True)
            self._on_the_way = [_signals_now(fork)]

    def moments(self, truth: Kernel) -> list[Point]:
        """Return the events with the configuration and the signals that they come in.

        A wait or a malfunction is one event: `automatic`, with the signals at its end.
        """
        if not self._stimulus.keys:
            bits = self._on_the_way[-1] if self._on_the_way else self._bits
            return [(AUTOMATIC, self._here, bits)]
        return [point for point in self._points(truth) if point[0] != AUTOMATIC]

    def answer(self, kernel: Kernel, library: Library) -> Annunciation:
        """Return the answer under a belief; the true one if what is shown overrules it.

        A belief under which the logic never comes to rest foresees nothing.
        """
        try:
            return self._answer(kernel, library)
        except UnsettledError:
            return self._true

    def _answer(self, kernel: Kernel, library: Library) -> Annunciation:
        here, show = self._here, library.logic.annunciation
        if not kernel.is_at_rest(here, self._bits):
            return self._true
        if self._stimulus.kind == "wait":
            for bits in self._on_the_way:
                shown = show(kernel.settle(here, bits).configuration)
                if shown != self._before:
                    return shown
            return self._before
        bits = self._on_the_way[0] if self._on_the_way else self._bits
        return show(kernel.send_all(here, bits, self._stimulus.events))

    def wrong_answers(self, charts: RowIndex, library: Library) -> dict[str, Annunciation]:
        """Return the answer under each of many charts, where it isn't the true one."""
        found: dict[str, Annunciation] = {}
        for name in charts.differing(self._points(library.truth)):
            answer = self.answer(charts.charts[name].kernel, library)
            if answer != self._true:
                found[name] = answer
        return found

    def exposed(self, library: Library) -> tuple[Row, ...]:
        """Return the rows of the chart that show in the answer: done otherwise, it's another strip.

        What a later key overwrites doesn't count.
        """
        truth = library.truth
        rows: dict[Row, str] = {}
        for point in self._points(truth):
            event, configuration, bits = point
            for row in rows_of(point):
                outcome = truth.outcome(row, configuration, bits)
                if outcome or event != AUTOMATIC:
                    rows.setdefault(row, outcome)
        shown = [row for row, outcome in rows.items() if self._shows(row, outcome, library)]
        if not self._stimulus.keys:
            # What might have changed by itself and didn't is asked about as well.
            shown.extend((AUTOMATIC, n, s) for n, s in enumerate(self._here))
        return tuple(dict.fromkeys(shown))

    def _shows(self, row: Row, outcome: str, library: Library) -> bool:
        truth = library.truth
        others = _others(row, outcome, truth.chart)
        return all(self.answer(forced(truth, row, to), library) != self._true for to in others)

    def _points(self, truth: Kernel) -> list[Point]:
        """Return the microsteps of the chart on the way."""
        if self._stimulus.kind == "wait":
            ways = self._on_the_way
            return [p for bits in ways for p in truth.points(self._here, bits, AUTOMATIC)]
        bits = self._on_the_way[0] if self._on_the_way else self._bits
        return truth.points_of_all(self._here, bits, self._stimulus.events)


def _signals_now(session: Session) -> int:
    return session.logic.signals.evaluate(session.flight, session.powered_s, session.bits)


def _signals_on_the_way(session: Session, stimulus: Stimulus) -> list[int]:
    points: list[int] = []
    bits = session.bits
    prompt = PromptPlay(Predict("next_change", "", stimulus.wait_s), session)
    while not prompt.is_over:
        prompt.step()
        if session.bits != bits:
            bits = session.bits
            points.append(bits)
    return points


def _others(row: Row, outcome: str, chart: ChartSpec) -> tuple[str, ...]:
    """Return what a row might lead to instead, at most two: nothing, and other states."""
    _, region, state = row
    if region == REFUSALS:
        return ("",) if outcome else ("believed",)
    states = tuple(chart.regions.values())[region].states
    elsewhere = tuple(name for name in states if name not in (state, outcome))
    return ("", *elsewhere)[:_TRIED] if outcome else elsewhere[:_TRIED]
