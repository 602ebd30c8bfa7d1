"""Does a lesson's condition hold now?"""

from __future__ import annotations

from trainer.lesson.loader import ALTITUDE_QUANTITY
from trainer.lesson.spec import Condition
from trainer.session.annunciation import Annunciation
from trainer.session.quantities import measure
from trainer.session.session import Session


def is_met(condition: Condition, session: Session, before: Annunciation) -> bool:
    """Return True if every part of the condition that is set holds.

    Args:
        condition: The condition.
        session: The session to look at.
        before: The annunciation when the waiting began, for `change`.
    """
    shown = session.annunciation
    active = (shown.lateral.active, shown.vertical.active)
    armed = (*shown.lateral.armed, *shown.vertical.armed)
    return (
        (not condition.change or shown != before)
        and all(mode in active for mode in condition.active)
        and all(mode in armed for mode in condition.armed)
        and condition.engagement in (None, shown.engagement)
        and condition.alert in (None, shown.alert)
        and (condition.signal is None or condition.signal in session.signal_names())
        and all(_quantity(session, name) > value for name, value in condition.above)
        and all(_quantity(session, name) < value for name, value in condition.below)
    )


def _quantity(session: Session, name: str) -> float:
    if name == ALTITUDE_QUANTITY:
        return session.flight.altitude_ft
    return measure(name, session.flight, session.powered_s)
