"""Plays what is done in a difference on one ship."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.assessment.differences.differences import FlownSide
from trainer.assessment.items.item import Begin
from trainer.lesson.answer import PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.logic import Logic
from trainer.session.session import Session


@dataclass(frozen=True, slots=True)
class Ship:
    """One ship: its logic and how its flights begin."""

    logic: Logic
    begin: Begin

    @property
    def name(self) -> str:
        """The installation's id."""
        return self.logic.installation.id


@dataclass(frozen=True, slots=True)
class Played:
    """What a ship did, the session after it, and the signals on which it acted."""

    side: FlownSide
    session: Session
    bits: int


def play_stimulus(session: Session, stimulus: Predict) -> Played:
    """Return what a stimulus leads to, played on a fork."""
    fork = session.fork()
    play = PromptPlay(stimulus, fork)
    bits = fork.bits if stimulus.kind == "after_set" else session.bits
    while not play.is_over:
        play.step()
    answer = play.answer
    refusals = [record.refusal for record in answer.records if record.refusal is not None]
    sentences = [fired.because for record in answer.records for fired in record.rules]
    refusal = refusals[0] if refusals else None
    if refusal is not None:
        sentences = [refusal.because]
    side = FlownSide(
        answer.after, answer.rule_ids, refusal.reason if refusal else "",
        refusal.rule_id if refusal else "", sentences[0] if sentences else "",
    )  # fmt: skip
    return Played(side, fork, bits)
