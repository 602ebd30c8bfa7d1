"""An aircraft's file that came with somebody else's: checked whole, then put among one's own.

An assignment and a lesson pack carry the aircraft that the program doesn't bring itself. Nothing is
written here but an installation that the loader has accepted, under its own id, in one folder.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from trainer.charts.installation import Installation, read_installation
from trainer.document import parse_document
from trainer.errors import MissingFileError, TrainerError
from trainer.text_file import read_bytes, write_whole

KEPT = "replaced"
"""Folder beside the files, for those that another one has taken the place of."""
Standing = Literal["new", "same", "replaces"]
# A plain file name on every system: no dot, no separator, nothing a shell or a disk reads into.
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,80}")


class CarriedError(TrainerError):
    """An aircraft that isn't taken; nothing has been written."""


@dataclass(frozen=True, slots=True)
class OwnAircraft:
    """Where the user's own aircraft are, and what their files are checked against."""

    charts: Path
    """Folder with the program's charts and installations."""
    folder: Path
    """Folder with the user's installations."""

    def look(self, installation_id: str, text: str, source: str) -> Carried:
        """Return a carried aircraft after checking all of it; nothing is written.

        Args:
            installation_id: Id that it must have.
            text: Text of the whole installation file.
            source: Where it came from, for messages.

        Raises:
            CarriedError: Its id is no plain name, or is taken by an aircraft of the program.
            FileError: The loader doesn't accept it.
            MissingFileError: The file of the same id that is there can't be read.

        Example:
            >>> from trainer.resources import resource_folder
            >>> charts = resource_folder("statecharts")
            >>> text = "{format: installation/1, id: ours, title: Ours, chart: generic,"
            >>> text += "aircraft: light_single, options: {}, limits: {}}"
            >>> OwnAircraft(charts, Path("/none")).look("ours", text, "a pack").words
            "brings the aircraft 'Ours' (ours), which is put among your own"
        """
        if not _ID.fullmatch(installation_id):
            raise CarriedError(
                f"{source}: aircraft id '{installation_id:.100}'; accepted: letters, digits, - _"
            )
        where = f"{source}!{installation_id}.yaml"
        fit = read_installation(parse_document(text, where), self.charts)
        if fit.id != installation_id:
            raise CarriedError(f"{where}: id '{fit.id:.100}'; accepted: '{installation_id}'")
        if (self.charts / "installations" / f"{installation_id}.yaml").exists():
            raise CarriedError(
                f"{where}: '{installation_id}' is an aircraft of this program here; accepted: an"
                " id of its own (is one program newer? then use the same version on both)"
            )
        path = self.folder / f"{installation_id}.yaml"
        standing: Standing = "new"
        if path.exists():
            standing = "same" if read_bytes(path) == text.encode() else "replaces"
        return Carried(self, fit, text, source, standing)


@dataclass(frozen=True, slots=True)
class Carried:
    """A checked aircraft that came with a file of somebody else's."""

    own: OwnAircraft
    installation: Installation
    text: str
    source: str
    standing: Standing
    """Whether its id is free here, there with this content, or with another content."""

    @property
    def words(self) -> str:
        """What taking it changes here."""
        named = f"the aircraft '{self.installation.title}' ({self.installation.id})"
        return {
            "new": f"brings {named}, which is put among your own",
            "same": f"brings {named}, which is among your own already",
            "replaces": f"brings {named}, which takes the place of your own of that id with other"
            f" content; yours is kept as a copy in the folder '{self.own.folder.name}/{KEPT}'",
        }[self.standing]

    def put(self) -> Path | None:
        """Put it among the user's aircraft; return the copy of the one it replaces, or None.

        Raises:
            CarriedError: What is there has changed since it was looked at.
            MissingFileError: It can't be written; what was there is untouched.
        """
        fit = self.installation
        if self.own.look(fit.id, self.text, self.source).standing != self.standing:
            raise CarriedError(f"'{fit.id}' has changed here meanwhile: look at the file again")
        if self.standing == "same":
            return None
        path = self.own.folder / f"{fit.id}.yaml"
        try:
            kept = _keep(path) if self.standing == "replaces" else None
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, self.text.encode())
        except OSError as error:
            raise MissingFileError(path, f"can't be written ({error.strerror})") from error
        return kept


def _keep(path: Path) -> Path:
    """Copy a file into the folder of those replaced, under the first number that is free."""
    data, folder = read_bytes(path), path.parent / KEPT
    folder.mkdir(exist_ok=True)
    number = 1
    while (copy := folder / f"{path.stem}-{number}.yaml").exists() or copy.is_symlink():
        number += 1
    write_whole(copy, data)
    return copy
