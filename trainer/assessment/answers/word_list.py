"""Words one after the other, as a sentence has them."""

from __future__ import annotations

from collections.abc import Sequence


def word_list(words: Sequence[str], last: str = "and") -> str:
    """Return words with commas between them, and a word of its own before the last.

    Example:
        >>> word_list(["heading"]), word_list(["course", "path", "altitude"], last="or")
        ('heading', 'course, path or altitude')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
