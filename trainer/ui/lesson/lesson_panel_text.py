"""What the lesson panel shows at an instant, as a value. No Qt here."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.ui.lesson.comparison import ComparedCell


@dataclass(frozen=True, slots=True)
class LessonText:
    """Everything the panel shows."""

    title: str = ""
    progress: str = ""
    narration: str = ""
    question: str = ""
    hint: str = ""
    verdict: str = ""
    is_right: bool = True
    cells: tuple[ComparedCell, ...] = ()
    reasons_title: str = "Why"
    reasons: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    """What the reasons rest on, in small words."""
    rules: str = ""
    """The ids of the rules behind the reasons, for whoever looks one up in the chart."""
    next_step: str = ""
    """Words of the main button; empty: no button."""
    other_step: str = ""
    """Words of the button above it; empty: no button."""
    notice: str = ""
    """What is to be known before anything else is read."""
