"""A habit carried from one ship to another: the logic of the first, answering in the second.

Whoever knows the first ship sees the strip of the second, and foresees what the first would do
from there. Where the first ship couldn't show that strip at rest, what is seen overrules the
habit, and it foresees nothing of its own.
"""

from __future__ import annotations

from trainer.charts.guard import Configuration
from trainer.lesson.answer import Answer, PromptPlay
from trainer.lesson.spec import Predict
from trainer.session.logic import Logic
from trainer.session.session import Session


def foreseen_by_habit(known: Logic, session: Session, stimulus: Predict) -> Answer | None:
    """Return what somebody foresees who knows another ship, None if it has no such strip.

    Args:
        known: The logic of the ship that the member knows.
        session: A session of the other ship, at the question; it isn't touched.
        stimulus: What is done then, as a prompt of a strip kind.
    """
    here = _carried(known, session)
    if here is None:
        return None
    fork = session.fork()
    fork.logic = known
    fork.configuration = here
    fork.annunciation = known.annunciation(here)
    fork.bits = known.signals.evaluate(fork.flight, fork.powered_s, session.bits)
    if known.machine.settle(here, fork.bits).microsteps:
        return None
    if stimulus.kind == "after_key" and stimulus.key not in known.installation.chart.events:
        return None
    play = PromptPlay(stimulus, fork)
    while not play.is_over:
        play.step()
    return play.answer


def _carried(known: Logic, session: Session) -> Configuration | None:
    """Return the known ship's configuration that shows the same strip, if it has one."""
    states = dict(zip(session.installation.chart.regions, session.configuration, strict=True))
    here = []
    for region in known.installation.chart.regions.values():
        state = states.pop(region.id, region.initial)
        if state not in region.states:
            return None
        here.append(state)
    regions = session.installation.chart.regions
    if any(state != regions[name].initial for name, state in states.items()):
        return None
    return tuple(here)
