"""Lessons as lines of words. No Qt here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trainer.lesson.spec import Lesson
    from trainer.records.attempt import Attempt

EMPTY_WORDS = (
    "No lessons found.\n\nLessons are files in the folder 'lessons'. 'Free practice' works without"
    " any."
)


def by_aircraft(lessons: Iterable[Lesson]) -> dict[str, list[tuple[int, Lesson]]]:
    """Return the lessons by installation, the first one's first, each with its number in all."""
    groups: dict[str, list[tuple[int, Lesson]]] = {}
    for number, lesson in enumerate(lessons, 1):
        groups.setdefault(lesson.installation, []).append((number, lesson))
    return groups


def lesson_line(number: int, lesson: Lesson) -> str:
    """Return a lesson's line in the list."""
    return f"{number}  {lesson.title}"


def lesson_details(lesson: Lesson, aircraft: str) -> str:
    """Return what a lesson is about, in paragraphs."""
    parts = [lesson.summary] if lesson.summary else []
    if lesson.objectives:
        parts.append("\n".join(f"•  {objective}" for objective in lesson.objectives))
    parts.append(f"Aircraft: {aircraft}\n{minutes_words(lesson.minutes)}")
    return "\n\n".join(parts)


def minutes_words(minutes: float) -> str:
    """Return how long a lesson takes.

    Example:
        >>> minutes_words(1.0), minutes_words(4.0)
        ('About 1 minute', 'About 4 minutes')
    """
    return f"About {minutes:g} minute{'' if minutes == 1 else 's'}"


Answers = Mapping[str, Mapping[int, bool]]
"""Lesson -> number of the question -> whether its newest answer is right."""


def newest_answers(attempts: Iterable[Attempt]) -> Answers:
    """Return the newest answer to each question; `attempts` are the newest first."""
    found: dict[str, dict[int, bool]] = {}
    for one in attempts:
        found.setdefault(one.lesson_id, {}).setdefault(one.prompt_number, one.is_right)
    return found


def lesson_mark(lesson: Lesson, answers: Answers, due: Mapping[str, str] | None = None) -> str:
    """Return how far a lesson is, in words; empty if it wasn't tried and isn't asked for.

    Args:
        lesson: The lesson.
        answers: The newest answers.
        due: Lesson -> day by which the club asks for it.
    """
    mine, asked = answers.get(lesson.id, {}), _question_count(lesson)
    if not mine:
        return f"assigned, due {due[lesson.id]}" if due and lesson.id in due else ""
    right = sum(mine.values())
    if len(mine) < asked:
        return f"begun, {len(mine)} of {asked}"
    return "\N{CHECK MARK} all right" if right == len(mine) else f"tried, {right} of {asked} right"


def next_in_hand(lessons: Sequence[Lesson], last: str, answers: Answers) -> str:
    """Return the lesson to take up: the last one if it isn't over, else the next not yet tried."""
    places = [place for place, lesson in enumerate(lessons) if lesson.id == last]
    if not places:
        return last
    place = places[0]
    if len(answers.get(last, {})) < _question_count(lessons[place]):
        return last
    around = (*lessons[place + 1 :], *lessons[:place])
    return next((one.id for one in around if one.id not in answers), last)


def _question_count(lesson: Lesson) -> int:
    # Late: the window paints its first page before anything of a lesson or a flight is loaded.
    from trainer.lesson.spec import Predict

    return sum(isinstance(step, Predict) for step in lesson.steps)


def lesson_record(lesson_id: str, attempts: Iterable[Attempt]) -> str:
    """Return how the trainee did in a lesson so far."""
    mine = [attempt for attempt in attempts if attempt.lesson_id == lesson_id]
    if not mine:
        return "Not tried yet"
    right = sum(attempt.is_right for attempt in mine)
    return f"{len(mine)} answer{'s' if len(mine) > 1 else ''} so far, {right} right"
