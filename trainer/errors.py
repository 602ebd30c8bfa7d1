"""Root of every error this package raises on purpose.

Owns the one base class and the one way a message about a file is worded. Callers catch
`TrainerError` at the edge (command line, window) and show `str(error)`; anything else is a bug.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

_MOST_TOLD = 100
"""Problems of one file that its message lists; `FileError.problems` has all."""


class TrainerError(Exception):
    """Base of all errors that a user can cause and mend."""


class StoppedError(TrainerError):
    """The user asked to stop; what was begun is not kept."""


@dataclass(frozen=True, slots=True)
class FileProblem:
    """One thing wrong in a file that a person wrote.

    Example:
        >>> str(FileProblem("lesson.yaml", 3, 7, "found 'hedaing'", "heading or course"))
        "lesson.yaml:3:7: found 'hedaing'; accepted: heading or course"
    """

    path: str
    line: int
    column: int
    found: str
    accepted: str = ""

    def __str__(self) -> str:
        tail = f"; accepted: {self.accepted}" if self.accepted else ""
        return f"{self.path}:{self.line}:{self.column}: {self.found}{tail}"


class FileError(TrainerError):
    """A file that can't be used, with every problem found in it.

    Attributes:
        problems: One entry for each problem, in file order.
    """

    def __init__(self, problems: list[FileProblem]) -> None:
        self.problems = tuple(problems)
        lines = [str(problem) for problem in problems[:_MOST_TOLD]]
        if len(problems) > _MOST_TOLD:
            lines.append(f"and {len(problems) - _MOST_TOLD} more problems in {problems[0].path}")
        super().__init__("\n".join(lines))


class MissingFileError(TrainerError):
    """A named file or resource that is not there or can't be read."""

    def __init__(self, path: str | Path, why: str, accepted: str = "") -> None:
        self.path = str(path)
        tail = f"; accepted: {accepted}" if accepted else ""
        super().__init__(f"{path}: {why}{tail}")
