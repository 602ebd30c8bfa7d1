"""Whose answers are on this computer, in words: for a name that was just changed. No Qt here."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.errors import TrainerError
from trainer.records.store import Store
from trainer.ui.lesson.recorder import Recorder

CHANGE_WORDS = "The field 'Your name' on the page Lessons (F2) says whose are shown."
NAME_MOST = 60
"""Most characters of a name."""
TOO_LONG = f"A name has at most {NAME_MOST} characters: the rest isn't taken."
_MOST_NAMED = 3


def answer_counts(store: Store) -> dict[str, int]:
    """Return how many answers stand under each name."""
    rows = store.database.read("SELECT member, count(*) FROM attempt GROUP BY member")
    return {str(name): int(count) for name, count in rows}


def others_words(counts: Mapping[str, int], member: str) -> str:
    """Say what stands under other names; empty if nothing.

    Example:
        >>> others_words({"Me": 7, "Robin": 1}, "Robin").partition(".")[0]
        "7 answers stand under 'Me'"
    """
    others = [(name, count) for name, count in counts.items() if name != member]
    if not others:
        return ""
    others.sort(key=lambda one: -one[1])
    told = [f"{_answers(count)} under '{name}'" for name, count in others[:_MOST_NAMED]]
    if len(others) > _MOST_NAMED:
        told.append(f"more under {len(others) - _MOST_NAMED} other names")
    first, *rest = told
    stand = " stands under" if others[0][1] == 1 else " stand under"
    words = ", ".join((first.replace(" under", stand, 1), *rest))
    return f"{words}. {CHANGE_WORDS}"


def beside_words(recorder: Recorder, member: str) -> tuple[str, str]:
    """Say what a page of a member doesn't show: of an open check, and under other names."""
    try:
        store = recorder.opened()
        return store.kept_back_words(member), others_words(answer_counts(store), member)
    except TrainerError:
        return "", ""  # the page itself says what is wrong with the file


def due_lessons(recorder: Recorder, member: str) -> dict[str, str]:
    """Return the lessons that a club has assigned to a member, each with its due day."""
    try:
        store = recorder.opened()
        if not store.database.read("SELECT 1 FROM assignment LIMIT 1"):
            return {}  # as with most: what reads assignments isn't loaded for the first page
        from trainer.records.assignment import lessons_due

        return lessons_due(store, member)
    except TrainerError:
        return {}  # the page itself says what is wrong with the file


def named_words(recorder: Recorder, member: str) -> str:
    """Say that answers are kept under another name from now on, and what stands elsewhere."""
    others = beside_words(recorder, member)[1]
    return f"You are now '{member}': answers are kept under this name. {others}".strip()


def _answers(count: int) -> str:
    return "1 answer" if count == 1 else f"{count} answers"
