"""What somebody answers in a flown situation who holds a belief, of one or more wrong rules."""

from __future__ import annotations

from trainer.assessment.item import Stimulus
from trainer.assessment.library import Library
from trainer.assessment.quick_chart import REFUSALS, Point, QuickChart, rows_of
from trainer.charts.machine import AUTOMATIC, UnsettledError
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.selectors import apply_selection
from trainer.session.session import Session


class FlownQuestion:
    """A stimulus in a flown situation, ready to be answered under any belief.

    Args:
        session: The session at the question; it isn't touched.
        stimulus: What happens.
        true: The true answer.
    """

    def __init__(self, session: Session, stimulus: Stimulus, true: Annunciation) -> None:
        self._here, self._bits = session.configuration, session.bits
        self._before, self._true = session.annunciation, true
        self._stimulus = stimulus
        self._on_the_way: list[int] = []
        fork = session.fork()
        if stimulus.kind == "wait":
            self._on_the_way = _signals_on_the_way(fork, stimulus)
        elif stimulus.kind == "set":
            apply_selection(fork.flight, stimulus.name, stimulus.value)
            signals = session.logic.signals
            self._on_the_way = [signals.evaluate(fork.flight, fork.powered_s, fork.bits)]

    def answer(self, quick: QuickChart, library: Library) -> Annunciation:
        """Return the answer under a belief; the true one if what is shown overrules it.

        A belief under which the logic never comes to rest foresees nothing.
        """
        try:
            return self._answer(quick, library)
        except UnsettledError:
            return self._true

    def _answer(self, quick: QuickChart, library: Library) -> Annunciation:
        here, show = self._here, library.logic.annunciation
        if not quick.is_at_rest(here, self._bits):
            return self._true
        if self._stimulus.kind == "wait":
            for bits in self._on_the_way:
                shown = show(quick.settle(here, bits))
                if shown != self._before:
                    return shown
            return self._before
        bits = self._on_the_way[0] if self._on_the_way else self._bits
        return show(quick.send_all(quick.settle(here, bits), bits, self._stimulus.keys))

    def wrong_answers(self, library: Library) -> dict[str, Annunciation]:
        """Return the answer under each belief of a library, where it isn't the true one."""
        found: dict[str, Annunciation] = {}
        for name in library.differing(self._points(library.truth)):
            answer = self.answer(library.beliefs[name].quick, library)
            if answer != self._true:
                found[name] = answer
        return found

    def touches(self, library: Library) -> frozenset[str]:
        """Return what of the logic the true answer depends on, see `Item.touches`."""
        found: set[str] = set()
        for point in self._points(library.truth):
            event, configuration, bits = point
            for row in rows_of(point):
                outcome = library.truth.outcome(row, configuration, bits)
                if row[1] == REFUSALS or event == AUTOMATIC:
                    if outcome:
                        found.add(f"{event}/{row[1]}/{row[2]}/{outcome}")
                else:
                    found.add(f"{event}/{row[1]}/{row[2]}")
        return frozenset(found)

    def _points(self, truth: QuickChart) -> list[Point]:
        """Return the microsteps of the chart on the way."""
        if self._stimulus.kind == "wait":
            ways = self._on_the_way
            return [p for bits in ways for p in truth.points(self._here, bits, AUTOMATIC)]
        bits = self._on_the_way[0] if self._on_the_way else self._bits
        return truth.points_of_all(self._here, bits, self._stimulus.keys)


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
