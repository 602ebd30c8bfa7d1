"""What is to be painted in one cell of a strip: chips with their words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.strip_words import QUIET_STATES, StripWords

ChipKind = Literal["active", "armed", "alert", "plain"]
Verdict = Literal["", "right", "wrong"]


@dataclass(frozen=True, slots=True)
class Chip:
    """One word on the strip and how it is set off."""

    kind: ChipKind
    label: str
    short: str


def chips_of(cell: str, value: str | tuple[str, ...], words: StripWords) -> tuple[Chip, ...]:
    """Return the chips of a cell; none for a cell that shows nothing.

    Example:
        >>> chips_of("alert", "quiet", StripWords({}))
        ()
    """
    if isinstance(value, tuple):
        return tuple(Chip("armed", words.label(cell, m), words.short(cell, m)) for m in value)
    if value in QUIET_STATES:
        return ()
    return (Chip(_kind_of(cell, value), words.label(cell, value), words.short(cell, value)),)


@dataclass(frozen=True, slots=True)
class CellPicture:
    """Everything that decides how a cell looks, beside the design."""

    title: str
    chips: tuple[Chip, ...] = ()
    is_unset: bool = False
    """The trainee hasn't said anything for this cell yet."""
    is_changed: bool = False
    """It changed by itself a moment ago, without a key."""
    is_along: bool = False
    """It changed a moment ago with a key that didn't ask for it."""
    is_pulse_on: bool = True
    verdict: Verdict = ""
    has_focus: bool = False
    is_blank: bool = False
    """Nothing stands in it, not even a dash: room to write, on paper."""


def is_pulse_on(elapsed_s: float, *, is_still: bool) -> bool:
    """Return whether the heavy border of an uncommanded change is at its full weight.

    One pulse a second, half of it on; `is_still` (reduced motion) keeps it on.

    Source:
        [DSP-04] not more than three flashes in any one second.
    """
    return is_still or elapsed_s % 1.0 < 0.5


def _kind_of(cell: str, value: str) -> ChipKind:
    if cell in ("alert", "protection"):
        return "alert"
    return "plain" if value == "no_guidance" else "active"
