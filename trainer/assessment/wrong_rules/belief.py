"""What somebody would answer who holds a wrong rule: the patched chart run on the same situation.

A member sees the true strip before answering. Where the wrong rule would already have changed
what is shown, what is shown overrules it, and the member answers as a sound one would.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, Overlay, Row, UnsettledError
from trainer.charts.spec import ChartSpec
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation
from trainer.session.logic import Logic
from trainer.session.session import Session


class Belief:
    """One or more misconceptions, held in one installation.

    Args:
        parts: The misconceptions; several are held at once.
        chart: The patched, specialised chart.
        logic: The installation's true logic.
    """

    def __init__(
        self, parts: tuple[Misconception, ...], chart: ChartSpec, logic: Logic, truth: Kernel
    ) -> None:
        self.parts = parts
        self.chart = chart
        self._truth_logic = logic
        self._truth = truth
        believed = Kernel(chart, truth)
        self.rows: frozenset[Row] = truth.differing_rows(believed)
        self.kernel = Overlay(truth, {row: believed.entries(row) for row in self.rows}, chart)

    @property
    def id(self) -> str:
        """Ids of the misconceptions, joined by a plus sign."""
        return "+".join(part.id for part in self.parts)

    @cached_property
    def logic(self) -> Logic:
        """The believed logic, to fly a session with."""
        return Logic(replace(self._truth_logic.installation, chart=self.chart), self.kernel)

    def answer(self, configuration: Configuration, bits: int, event: str) -> Configuration:
        """Return where an event (or `automatic`: the signals alone) leads in this belief.

        Args:
            configuration: What is shown, at rest (but for `automatic`).
            bits: The signals.
            event: The event.
        """
        if event == AUTOMATIC:
            return self.kernel.settle(configuration, bits).configuration
        is_believed = self.kernel.is_at_rest(configuration, bits)
        kernel = self.kernel if is_believed else self._truth
        return kernel.send_all(configuration, bits, (event,))

    def foresees(self, predict: Predict, session: Session) -> Annunciation | None:
        """Return the answer to a prompt of a strip kind, or None if what is shown overrules it.

        None as well where it never comes to rest.

        Args:
            predict: The prompt.
            session: The session at its moment; it isn't touched.
        """
        if not self.kernel.is_at_rest(session.configuration, session.bits):
            return None
        fork = session.fork()
        fork.logic = self.logic
        play = PromptPlay(predict, fork)
        try:
            while not play.is_over:
                play.step()
        except UnsettledError:
            return None  # under it the logic never comes to rest here, so it foresees nothing
        return play.answer.after
