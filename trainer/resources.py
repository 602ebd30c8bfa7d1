"""Finds charts and lessons: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import MissingFileError

_PACKAGE = Path(__file__).resolve().parent


def resource_folder(name: str) -> Path:
    """Return the folder `statecharts` or `lessons` that belongs to this program.

    Raises:
        MissingFileError: The installation is damaged: the folder is in neither place.

    Example:
        >>> resource_folder("lessons").name
        'lessons'
    """
    for base in (_PACKAGE / "data", _PACKAGE.parent):
        folder = base / name
        if folder.is_dir():
            return folder
    raise MissingFileError(name, "folder not found beside or in the program", "install it again")


def guide_folder() -> Path:
    """Return the folder with the pages of the user guide.

    Example:
        >>> (guide_folder() / "index.md").is_file()
        True
    """
    return _PACKAGE / "guide"
