"""The trainee's strip designs: files in one folder, read, kept, brought in and handed on. No Qt."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from trainer.errors import TrainerError
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_design_file import dump_strip_design, load_strip_design

FOLDER = "strip-designs"


class DesignError(TrainerError):
    """A design that can't be kept or taken away."""


class DesignShelf:
    """Designs by name; the default is always there and never changes.

    Attributes:
        problems: What is wrong with files in the folder, found by the last `designs`.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder / FOLDER
        self.problems: list[str] = []

    def designs(self) -> list[StripDesign]:
        """Return the default and all readable designs, by name; each name once."""
        self.problems = []
        found = {DEFAULT_DESIGN.name: DEFAULT_DESIGN}
        for path in sorted(self._folder.glob("*.yaml")):
            try:
                design = load_strip_design(path)
            except TrainerError as error:
                self.problems.append(str(error))
                continue
            found.setdefault(design.name, design)
        default = found.pop(DEFAULT_DESIGN.name)
        return [default, *sorted(found.values(), key=lambda d: d.name.casefold())]

    def named(self, name: str) -> StripDesign:
        """Return the design of a name, or the default if there is none."""
        return next((d for d in self.designs() if d.name == name), DEFAULT_DESIGN)

    def keep(self, design: StripDesign) -> None:
        """Write a design; one of the same name is replaced.

        Raises:
            DesignError: It is named as the default, or the folder can't be written to.
        """
        if design.name == DEFAULT_DESIGN.name:
            raise DesignError(f"'{design.name}' is the default; give your own another name")
        self._write(self._path(design.name), design)

    def remove(self, name: str) -> None:
        """Take a design away; the default stays."""
        self._path(name).unlink(missing_ok=True)

    def bring_in(self, path: Path) -> StripDesign:
        """Read a design from elsewhere and keep it; its name gets a number if it is taken.

        Raises:
            FileError: The file isn't a design.
            MissingFileError: The file can't be read.
        """
        design = load_strip_design(path)
        design = renamed(design, self.free_name(design.name))
        self.keep(design)
        return design

    def hand_on(self, design: StripDesign, path: Path) -> None:
        """Write a design to a file of the trainee's choice."""
        self._write(path, design)

    def free_name(self, name: str) -> str:
        """Return a name that no design has yet: the name itself, or with a number."""
        taken = {design.name for design in self.designs()}
        number = 2
        candidate = name
        while candidate in taken:
            candidate = f"{name} {number}"
            number += 1
        return candidate

    def _path(self, name: str) -> Path:
        for path in sorted(self._folder.glob("*.yaml")):
            try:
                if load_strip_design(path).name == name:
                    return path
            except TrainerError:
                continue
        stem = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "design"
        path = self._folder / f"{stem}.yaml"
        number = 2
        while path.exists():
            path = self._folder / f"{stem}-{number}.yaml"
            number += 1
        return path

    def _write(self, path: Path, design: StripDesign) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(dump_strip_design(design), encoding="utf-8")
        except OSError as error:
            raise DesignError(f"{path}: not written ({error}); choose another folder") from error


def renamed(design: StripDesign, name: str) -> StripDesign:
    """Return the design under another name."""
    return replace(design, name=name)
