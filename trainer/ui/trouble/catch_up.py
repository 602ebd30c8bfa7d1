"""Brings a fresh run of what was flown to where it was, for after a mistake. No Qt here."""

from __future__ import annotations

from trainer.assessment.answers.tutor import Tutor
from trainer.session.session import STEP_S

_LONGEST_S = 7200.0
"""More of a lesson than this is not flown again."""


def catch_up(tutor: Tutor, old: Tutor) -> None:
    """Fly a fresh run to where the old one stood, with the answers given there.

    Keys that the trainee pressed between prompts are not pressed again, so it may come to the
    prompt by another way; it never goes past the first prompt that wasn't answered.

    Args:
        tutor: The fresh run, at its start.
        old: The run that met the mistake; nothing of it is changed.
    """
    given = [one.prediction for one in old.outcomes]
    ends_s = min(old.session.t_s - STEP_S / 2, _LONGEST_S)
    while tutor.session.t_s < ends_s or len(tutor.outcomes) < len(given):
        before = (tutor.session.t_s, tutor.phase, tutor.step_index)
        if tutor.phase == "asking":
            if len(tutor.outcomes) >= len(given):
                return
            tutor.answer(given[len(tutor.outcomes)])
        elif tutor.phase == "explained":
            tutor.proceed()
        else:
            tutor.advance(STEP_S)
        if (tutor.session.t_s, tutor.phase, tutor.step_index) == before:
            return
