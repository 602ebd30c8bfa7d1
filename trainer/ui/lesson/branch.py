"""Flying on from an earlier moment, as a new branch in free practice. No Qt here."""

from __future__ import annotations

from collections.abc import Callable

from trainer.lesson.recording import situation_of
from trainer.lesson.spec import Inject
from trainer.session.faults import SLIPS, STUCK, faults_of
from trainer.session.session import Session
from trainer.ui.lesson.practice import Answered, Practice
from trainer.ui.practice.free_flight import FreeFlight

Keep = Callable[[Answered, FreeFlight], None]


def branched(old: Practice, start: Session, keep: Keep) -> Practice:
    """Return a practice that goes on from a session of another one, which stays as it is.

    Args:
        old: What was flown.
        start: Its session at the moment to go on from, with its trace.
        keep: Stores an answer.
    """
    deeds = [deed for deed in old.deeds if deed.t_s <= start.t_s - old.began_s]
    return _branch(old, start, keep, len(deeds), is_undo=False)


def undone(old: Practice, keep: Keep) -> Practice | None:
    """Return a practice that goes on from just before the last thing done; None: there is none."""
    before = old.undo_point
    if before is None:
        return None
    start = old.log.session_before(old.session, before)
    return _branch(old, start, keep, before.deeds, is_undo=True)


def _branch(old: Practice, start: Session, keep: Keep, deeds: int, *, is_undo: bool) -> Practice:
    flyer = FreeFlight(start.fork)
    flyer.session.trace = start.trace
    if isinstance(old.flyer, FreeFlight):
        flyer.drill_rate, flyer.verify = old.flyer.drill_rate, old.flyer.verify
        flyer.outcomes = old.flyer.outcomes
    made = Practice(flyer, lambda answered: keep(answered, flyer))
    for sample in start.trace.samples:
        made.track.add(sample)
    made.start, made.began_s = old.start, old.began_s
    made.deeds = old.deeds[:deeds]
    if made.start is None:
        made.start, made.began_s, made.deeds = situation_of(start), start.t_s, []
    made.log.adopt(old.log, start.t_s, is_undo=is_undo)
    if flyer.verify is not None:
        flyer.verify.withdraw(flyer.session)
        _mend(flyer.session, made)
    return made


def _mend(session: Session, made: Practice) -> None:
    """Take out what the verify drill had put in at that moment; what the trainee did stays."""
    own = {deed.what.fault for deed in made.deeds if isinstance(deed.what, Inject)}
    if made.start is not None:
        own |= set(made.start.faults)
    for fault in faults_of(session.flight):
        if fault.startswith((STUCK, SLIPS)) and fault not in own:
            session.inject(fault, False)
