"""What an open question hides, in words. No Qt here."""

from __future__ import annotations

HIDE_LABELS = {
    "plan": "the plan",
    "profile": "the profile",
    "attitude": "the attitude",
    "numbers": "the numbers",
    "strip": "the strip",
}
"""What a question can hide, in words; the names are those of a lesson file."""


def hidden_words(names: tuple[str, ...]) -> str:
    """Return what an open question hides, in a sentence.

    Example:
        >>> hidden_words(("plan", "strip"))
        'Hidden while the question is open: the plan, the strip.'
    """
    if not names:
        return ""
    return f"Hidden while the question is open: {', '.join(HIDE_LABELS[name] for name in names)}."
