"""The user's own lessons: their folder, saving, packs, and a draft that survives a crash. No Qt."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from trainer.charts.carried import OwnAircraft
from trainer.charts.spec import ChartSpec
from trainer.errors import MissingFileError, TrainerError
from trainer.lesson.pack import Pack, install_pack, read_pack, write_pack
from trainer.lesson.spec import Lesson
from trainer.text_file import MAXIMUM_BYTES, read_text, write_whole
from trainer.ui.trouble.broken_lesson import BrokenLesson

FOLDER = "lessons"
DRAFT = "lesson-draft.json"
_LONGEST_STEM = 60


def stem_of(title: str) -> str:
    """Return a plain file name for a title.

    Example:
        >>> stem_of("Up, and level: 1st!"), stem_of("???")
        ('up-and-level-1st', 'my-lesson')
    """
    plain = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:_LONGEST_STEM].strip("-")
    return plain or "my-lesson"


class UserLessons:
    """The lessons in one folder of the user's."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / FOLDER
        self._draft = folder / DRAFT

    @property
    def paths(self) -> tuple[Path, ...]:
        """The lesson files, by name."""
        return tuple(sorted(self.folder.glob("*.yaml")))

    def read(self, load: Callable[[Path], Lesson]) -> tuple[list[Lesson], list[BrokenLesson]]:
        """Return the lessons, and the files that aren't any with the reason."""
        lessons, broken = [], []
        for path in self.paths:
            try:
                lessons.append(load(path))
            except TrainerError as error:
                broken.append(BrokenLesson(path.stem, str(error)))
        return lessons, broken

    def text(self, path: Path) -> str:
        """Return a lesson's text.

        Raises:
            MissingFileError: It can't be read.
        """
        return read_text(path, accepted="a UTF-8 text")

    def free_stem(self, title: str) -> str:
        """Return a file name for a title that no lesson has yet."""
        stem, number = stem_of(title), 1
        while (self.folder / f"{_numbered(stem, number)}.yaml").exists():
            number += 1
        return _numbered(stem, number)

    def save(self, stem: str, text: str) -> Path:
        """Write a lesson, whole or not at all; one of the same name is replaced.

        Raises:
            MissingFileError: It can't be written.
        """
        path = self.folder / f"{stem}.yaml"
        _write(path, text)
        return path

    def keep_draft(self, data: Mapping[str, Any]) -> None:
        """Keep unsaved work.

        Raises:
            MissingFileError: It can't be written.
        """
        _write(self._draft, json.dumps(dict(data)))

    def draft(self) -> dict[str, Any] | None:
        """Return the unsaved work of the last sitting, or None."""
        try:
            data = json.loads(read_text(self._draft, 20 * MAXIMUM_BYTES))
        except (TrainerError, ValueError, RecursionError):
            return None
        return data if isinstance(data, dict) and isinstance(data.get("text"), str) else None

    def drop_draft(self) -> None:
        """Forget the unsaved work: it has been saved."""
        self._draft.unlink(missing_ok=True)

    def export_pack(
        self,
        title: str,
        target: Path,
        load: Callable[[Path], Lesson],
        carried_text: Callable[[str], str],
    ) -> int:
        """Write all lessons as a pack and return how many; errors as `write_pack`.

        Args:
            title: Title of the pack.
            target: The pack.
            load: Returns the lesson of a file.
            carried_text: Returns the file of an aircraft that goes with the lessons, or nothing.
        """
        paths = self.paths
        if not paths:
            raise MissingFileError(self.folder, "there are no lessons to pack", "a saved lesson")
        flown = dict.fromkeys(one.installation for one in self.read(load)[0])
        write_pack(title, paths, target, {name: carried_text(name) for name in flown})
        return len(paths)

    def import_pack(
        self,
        path: Path,
        charts: dict[str, ChartSpec],
        own: OwnAircraft,
        may_replace: Callable[[Pack], bool],
    ) -> Pack | None:
        """Check a pack and put its lessons and aircraft here; errors as `install_pack`.

        Args:
            path: The pack.
            charts: Specialised chart of each installation, by installation id.
            own: Where its aircraft are put.
            may_replace: Asked if an aircraft would take the place of one of the user's.

        Returns:
            The pack; None if nothing was taken since nothing may be replaced.
        """
        seen = read_pack(path, charts, own)
        if seen.replacing and not may_replace(seen):
            return None
        return install_pack(path, self.folder, charts, own, may_replace=bool(seen.replacing))


def _numbered(stem: str, number: int) -> str:
    return stem if number == 1 else f"{stem}-{number}"


def _write(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise MissingFileError(path, f"can't be written ({error.strerror})") from error
    write_whole(path, text.encode())
