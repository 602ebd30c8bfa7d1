"""A lesson that plays by itself, over and over, for the preview of a strip design. No Qt here."""

from __future__ import annotations

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Tutor
from trainer.session.annunciation import Annunciation

_HOLD_S = 1.5
_MOST_AT_ONCE_S = 2.0


class DemoFlight:
    """Plays a lesson; each question is passed after a moment, and the end leads to the start."""

    def __init__(self, tutor: Tutor) -> None:
        self._tutor = tutor
        self._held_s = 0.0

    @property
    def annunciation(self) -> Annunciation:
        """What the strip reads."""
        return self._tutor.session.annunciation

    @property
    def marks(self) -> frozenset[str]:
        """Cells that changed by themselves."""
        return frozenset(self._tutor.session.marks)

    def advance(self, dt_s: float) -> None:
        """Let simulated time run."""
        tutor = self._tutor
        if tutor.phase in ("running", "revealing"):
            tutor.advance(min(dt_s, _MOST_AT_ONCE_S))
            return
        self._held_s += dt_s
        if self._held_s < _HOLD_S:
            return
        self._held_s = 0.0
        if tutor.phase == "asking":
            tutor.answer(Prediction(self.annunciation, "guess"))
        elif tutor.phase == "explained":
            tutor.proceed()
        else:
            tutor.restart()
