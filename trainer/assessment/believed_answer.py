"""What somebody answers in a flown situation who holds a belief, of one or more wrong rules."""

from __future__ import annotations

from trainer.assessment.belief import Belief
from trainer.assessment.item import Stimulus
from trainer.assessment.library import Library
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

    def answer(self, belief: Belief, library: Library) -> Annunciation:
        """Return the answer under a belief; the true one if what is shown overrules it."""
        here, quick, show = self._here, belief.quick, library.logic.annunciation
        if not quick.is_at_rest(here, self._bits):
            return self._true
        if self._stimulus.kind == "wait":
            for bits in self._on_the_way:
                shown = show(quick.settle(here, bits))
                if shown != self._before:
                    return shown
            return self._before
        bits = self._on_the_way[0] if self._on_the_way else self._bits
        return show(quick.send(quick.settle(here, bits), bits, self._stimulus.key))


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
