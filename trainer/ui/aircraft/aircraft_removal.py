"""Taking an aircraft of the user's out of use: what hangs on it, and where its file goes. No Qt."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import TrainerError
from trainer.ui.aircraft.aircraft_shelf import AircraftShelf
from trainer.ui.lesson.user_lessons import UserLessons

REMOVED = "removed"
"""Folder beside the files, for those taken out of use: nothing is lost by a wrong press."""
_MOST = 5
"""Lessons told by name."""


class RemovalError(TrainerError):
    """An aircraft that stays where it is."""


def hanging_words(shelf: AircraftShelf, lessons: UserLessons, name: str) -> str:
    """Return what happens if an aircraft is taken out of use, a line for each thing."""
    lines = []
    if name in shelf.drafts():
        lines.append("Its unsaved answers are thrown away.")
    if name in shelf.workspace.installation_paths:
        folder = shelf.workspace.user_installations / REMOVED
        lines.append(f"Its file is kept in {folder}; put it back by hand to have it again.")
        flown = [
            one.title for one in lessons.read(shelf.workspace.lesson)[0] if one.installation == name
        ]
        if flown:
            more = [f"and {len(flown) - _MOST} more"] if len(flown) > _MOST else []
            named = "\n".join(f"\N{BULLET} {one}" for one in [*flown[:_MOST], *more])
            lines.append(f"These lessons of yours fly it and can't be flown any more:\n{named}")
        lines.append(
            "Answers, checks and what the club's book says of members in it stay on record, but no"
            " check in it can be begun on this computer."
        )
    return "\n\n".join(lines)


def remove_aircraft(shelf: AircraftShelf, name: str) -> Path | None:
    """Take an aircraft of the user's out of use; return where its file is now, None if it had none.

    Raises:
        RemovalError: It comes with the program, or its file can't be moved; nothing has changed.
    """
    workspace, kept = shelf.workspace, None
    path = workspace.installation_paths.get(name)
    if path is not None:
        if not shelf.is_own(name):
            raise RemovalError(f"'{name}' comes with the program and stays")
        try:
            kept = _free_place(path)
            kept.parent.mkdir(exist_ok=True)
            path.rename(kept)
        except OSError as error:
            raise RemovalError(f"{path}: not taken away ({error}); it stays") from error
    draft = shelf.drafts().get(name)
    if draft is not None:
        shelf.drop(draft)
    workspace.reload_installations()
    return kept


def _free_place(path: Path) -> Path:
    folder, number = path.parent / REMOVED, 1
    while (place := folder / f"{path.stem}-{number}.yaml").exists() or place.is_symlink():
        number += 1
    return place
