"""What may follow when a lesson is over, or has gone another way. No Qt here."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trainer.ui.lesson.practice import Practice

FLY_AGAIN = "Fly again"
NEXT = "Next lesson"
CHOOSE = "Choose a lesson"
WRITE = "Back to writing"
BEGIN_AGAIN = "Begin again"


def steps_after(practice: Practice) -> tuple[str, str]:
    """Return the main step after a lesson, and the other one: what was wrong is flown again."""
    onward = NEXT if practice.has_next else CHOOSE
    if practice.is_preview:
        onward = WRITE
    is_all_right = all(outcome.score.is_right for outcome in practice.flyer.outcomes)
    is_clean = is_all_right and practice.strayed is None
    return (onward, FLY_AGAIN) if is_clean or practice.is_preview else (FLY_AGAIN, onward)
