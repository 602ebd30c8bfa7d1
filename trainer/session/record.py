"""Steps as values: what happened, who caused it, and which rules did it.

Explanation, trace, lessons and tests read these values; nothing listens through callbacks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.charts.guard import Configuration
from trainer.session.annunciation import Annunciation

Cause = Literal["pilot", "automatic", "reversion", "instructor"]


@dataclass(frozen=True, slots=True)
class FiredRule:
    """One rule that fired: which region it moved, why, and what stood when its guard held."""

    id: str
    region: str
    left: str
    entered: str
    because: str
    by: Cause
    event: str = ""
    """The event that it answered; empty: it fired by itself."""
    configuration: Configuration = ()
    """The states that its guard read, in region order; empty: not known."""
    bits: int = 0
    """The signals that its guard read, a bit for each in chart order."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """A pilot's event that the logic refused, with the reason shown to the pilot."""

    rule_id: str
    reason: str
    because: str


@dataclass(frozen=True, slots=True)
class StepRecord:
    """One settled step of the logic: an event, or a change that came by itself.

    `after` differs from `before`, or `refusal` is set, or nothing happened (`is_empty`).
    """

    t_s: float
    event: str
    """Event's name; for a change that came by itself the id of the rule that began it."""
    by: Cause
    before: Annunciation
    after: Annunciation
    rules: tuple[FiredRule, ...] = ()
    refusal: Refusal | None = None
    signals: tuple[str, ...] = ()
    """Signals that were true when the step began."""
    configuration: Configuration = ()
    """The states when the step began, in region order; empty: not known."""
    bits: int = 0
    """The signals when the step began, a bit for each in chart order."""

    @property
    def has_changed(self) -> bool:
        """True if the annunciation is different afterwards."""
        return self.before != self.after

    @property
    def is_empty(self) -> bool:
        """True if nothing happened: no rule fired, nothing refused."""
        return not self.rules and self.refusal is None
