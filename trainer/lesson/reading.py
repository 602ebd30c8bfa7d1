"""How hard a text is to read, from the lengths of its words and sentences."""

from __future__ import annotations

import re
from dataclasses import dataclass

_SENTENCE_END = re.compile(r"(?<=[.!?])[\"')\]]*\s+")
_WORD = re.compile(r"[^\W_](?:[^\W_]|['’,.](?=[^\W_]))*", re.UNICODE)


@dataclass(frozen=True, slots=True)
class Reading:
    """The measure of a text."""

    grade: float
    """School year for which the text is about right; 0.0 for an empty text."""
    longest_words: int


def measure(text: str) -> Reading:
    """Return the reading level of a text.

    The automated readability index: 4.71 characters per word + 0.5 words per sentence - 21.43.

    Source:
        [ARI-1967] Smith and Senter, Automated Readability Index, AMRL-TR-66-220 (from memory).

    Example:
        >>> measure("The cat sat. The dog ran.").longest_words
        3
    """
    sentences = [part for part in _SENTENCE_END.split(text.strip()) if _WORD.search(part)]
    words = [word for part in sentences for word in _WORD.findall(part)]
    if not words:
        return Reading(0.0, 0)
    characters = sum(sum(c.isalnum() for c in word) for word in words)
    grade = 4.71 * characters / len(words) + 0.5 * len(words) / len(sentences) - 21.43
    return Reading(grade, max(len(_WORD.findall(part)) for part in sentences))
