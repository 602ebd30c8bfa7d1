"""What flying a lesson finds: what is wrong with it, and which wrong rules it would catch."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.app import Workspace
from trainer.assessment.answers.catches import catches
from trainer.assessment.wrong_rules.library import Library
from trainer.errors import FileError
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.lesson.review import review
from trainer.lesson.spec import Lesson
from trainer.ui.writing.writing import Problem, problem_of

SHOWN = 2
"""So many wrong rules are named in a line; the others stand in its tip."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of flying a lesson."""

    problems: tuple[Problem, ...]
    caught: tuple[str, ...]
    """The wrong rules that it would catch, as sentences."""
    rules: int
    """How many wrong rules there are for its aircraft."""

    @property
    def words(self) -> str:
        """What the lesson catches, in a line."""
        count = len(self.caught)
        line = f"Would catch {count} of {self.rules} wrong rules"
        return f"{line}: {' '.join(self.caught[:SHOWN])}" if count else f"{line}."

    @property
    def tip(self) -> str:
        """All that it catches, each in a line."""
        return "\n".join(self.caught)


def check_lesson(workspace: Workspace, lesson: Lesson, library: Library) -> Checked:
    """Fly a lesson and its small variations, and answer it under every wrong rule.

    Args:
        workspace: Where the aircraft are.
        lesson: The lesson.
        library: The misconceptions fitted to its aircraft; building it takes seconds.

    Raises:
        TrainerError: Its aircraft can't be used.
    """
    competencies = load_competencies(workspace.charts_folder / FILE_NAME)
    found = review(
        lesson, lambda start: workspace.begin(lesson.installation, start), tuple(competencies)
    )
    try:
        names = catches(workspace.start_lesson_without_trainee(lesson), library)
    except FileError:
        names = {}  # it doesn't fly to its end; the review says where
    sentences = tuple(library.misconceptions[name].sentence for name in names)
    return Checked(tuple(problem_of(one) for one in found), sentences, len(library.beliefs))
