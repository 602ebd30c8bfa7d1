"""What people type for a lesson, a ship or a file, and what it means.

What is there under that name wins: then the program's own lessons by id, number or the beginning
of the id, and the ships by id.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from os.path import isdir, isfile
from pathlib import Path

from trainer.document import near
from trainer.errors import MissingFileError, TrainerError
from trainer.flying import FlyingWorkspace

_SUFFIX = ".yaml"
_MOST_NAMES = 5
"""Lessons listed after the nearest one: there are dozens."""
SHIP_OPTIONS = ("--ship", "--installation")
"""The second is the older spelling."""


def named_file(word: str) -> Path | None:
    """Return the file that a word names as it stands, or as an id that lacks its ending."""
    # Not by Path.is_file: a name that no file can have would be a mistake of the program there.
    return next((Path(name) for name in (word, word + _SUFFIX) if isfile(name)), None)


def add_ship(parser: argparse.ArgumentParser, words: str) -> None:
    """Declare one ship, named as it stands or by the older option."""
    parser.add_argument("ship", nargs="?", metavar="SHIP", help=words)
    parser.add_argument("--installation", metavar="SHIP", help="older spelling of SHIP")


def chosen_ship(arguments: argparse.Namespace, workspace: FlyingWorkspace, usual: str = "") -> str:
    """Return the id of the ship that `add_ship` was given.

    Args:
        arguments: What was typed.
        workspace: Where ships are found.
        usual: Id of the ship that is meant if none is named; empty: one has to be.

    Raises:
        TrainerError: None is named, two are, or there is none of that name.
    """
    typed = [word for word in (arguments.ship, arguments.installation) if word is not None]
    if len(typed) > 1:
        raise TrainerError(f"two ships, '{typed[0]}' and '{typed[1]}'; accepted: one")
    if not typed and not usual:
        known = ", ".join(workspace.installation_paths)
        raise TrainerError(f"no ship is named; accepted: {known}, or a file")
    return ship_id(typed[0], workspace) if typed else usual


def ship_id(word: str, workspace: FlyingWorkspace) -> str:
    """Return the id of a ship that was typed as its id or its file.

    Raises:
        FileError: The file isn't accepted.
        MissingFileError: There is none of that name.
    """
    path = named_file(word)
    if path is not None:
        return workspace.take_installation(path)
    known = list(workspace.installations)
    if word not in known:
        where = workspace.installation_paths.get(word)
        if where in workspace.user_problems:
            raise TrainerError(workspace.user_problems[where])
        accepted = f"{near(Path(word).stem, known)}, or a file"
        raise MissingFileError(word, "no such installation or file", accepted)
    return word


def ship_ids(words: Sequence[str], workspace: FlyingWorkspace) -> list[str]:
    """Return the ids of ships that are put side by side; errors as `ship_id`.

    Raises:
        TrainerError: Two files give the same id, so that nothing could tell the ships apart.
    """
    ids: list[str] = []
    sources: dict[str, Path] = {}
    for word in words:
        found = ship_id(word, workspace)
        source = workspace.installation_paths.get(found, Path()).resolve()
        if sources.setdefault(found, source) != source:
            raise TrainerError(
                f"{word}: the id '{found}' a second time, with another file; accepted: ships with"
                " ids of their own, or compare A --edited FILE"
            )
        ids.append(found)
    return ids


def lesson_path(word: str, workspace: FlyingWorkspace) -> Path:
    """Return the file of a lesson that was typed as a file, an id, a number or an id's beginning.

    Raises:
        MissingFileError: There is none of that name.
        TrainerError: Several lessons begin so.
    """
    path = named_file(word)
    if path is not None:
        return path
    known = {path.stem: path for path in workspace.lesson_paths}
    name = Path(word).name.removesuffix(_SUFFIX)
    if name == word.removesuffix(_SUFFIX):
        fitting = _fitting(name, known)
        if len(fitting) == 1:
            return known[fitting[0]]
        if fitting:
            raise TrainerError(
                f"{word}: several lessons begin so; accepted: {', '.join(fitting[:_MOST_NAMES])}"
                f"{', ...' if len(fitting) > _MOST_NAMES else ''}"
            )
    accepted = f"a file, or a lesson's id or number: {near(name, known, _MOST_NAMES)}"
    found = "a folder" if isdir(word) else "no such file or lesson"
    raise MissingFileError(word, found, accepted)


def lesson_paths(words: Iterable[str], workspace: FlyingWorkspace) -> list[Path]:
    """Return the files of lessons, of which a folder may hold many; errors as `lesson_path`."""
    found: list[Path] = []
    for word in words:
        if isdir(word):
            found += sorted(Path(word).glob(f"*{_SUFFIX}"))
        else:
            found.append(lesson_path(word, workspace))
    return found


def any_path(word: str, workspace: FlyingWorkspace) -> Path:
    """Return a file or folder, or the file of the ship or the lesson that is called so.

    Raises:
        MissingFileError: There is none of that name.
        TrainerError: Several lessons begin so.
    """
    if isdir(word):
        return Path(word)
    return (
        named_file(word) or workspace.installation_paths.get(word) or lesson_path(word, workspace)
    )


def _fitting(name: str, known: Iterable[str]) -> list[str]:
    """Return the lessons that a name stands for: itself, else by number, else by beginning."""
    ids = list(known)
    if name in ids:
        return [name]
    if name.isdecimal():
        by_number = [one for one in ids if one.split("-")[0].lstrip("0") == name.lstrip("0")]
        if by_number:
            return by_number
    return [one for one in ids if name and one.startswith(name)]
