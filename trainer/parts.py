"""What the program is made of: its version, and each library with its version and licence.

Read from what is installed when it is asked for, so it can't fall out of date.
"""

from __future__ import annotations

import platform
import re
import sys
import tomllib
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

NAME = "mode-logic-trainer"
_UNTOLD = "not told by the library"
_TOP = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


@dataclass(frozen=True, slots=True)
class Part:
    """A library that the program needs."""

    name: str
    version: str
    licence: str
    summary: str


def program_version() -> str:
    """Return the version of the program, or `checkout` where it isn't installed."""
    found = _found(NAME)
    return found.version if found is not None else "checkout"


def parts() -> tuple[Part, ...]:
    """Return the libraries that the program needs, and those that they need, by name."""
    found: dict[str, Part] = {}
    waiting = [NAME]
    while waiting:
        for name in _needed_by(waiting.pop()):
            if name.lower() in found:
                continue
            one = _found(name)
            if one is None:  # a platform or an extra that isn't here
                continue
            found[name.lower()] = Part(
                _field(one, "Name") or name, one.version, licence_of(one),
                _field(one, "Summary"),
            )  # fmt: skip
            waiting.append(name)
    return tuple(found[name] for name in sorted(found))


def versions() -> dict[str, str]:
    """Return the versions of the program, of what it runs on and of its libraries."""
    return {
        "program": program_version(),
        "Python": platform.python_version(),
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
        **{part.name: part.version for part in parts()},
    }


def licence_of(library: Distribution) -> str:
    """Return the name of a library's licence as the library itself gives it."""
    metadata = library.metadata
    if expression := _field(library, "License-Expression"):
        return expression
    kinds = [
        words.rsplit(" :: ", 1)[1]
        for words in metadata.get_all("Classifier") or ()
        if words.startswith("License :: ") and words.count(" :: ") > 1
    ]
    if kinds:
        return ", ".join(dict.fromkeys(kinds))
    first = _field(library, "License").strip().splitlines()[:1]
    return first[0] if first else _UNTOLD


def _field(library: Distribution, name: str) -> str:
    """Return a field of a library's metadata; empty if it isn't there, which newer Pythons mind."""
    return next(iter(library.metadata.get_all(name) or ()), "")


def _needed_by(name: str) -> list[str]:
    """Return the names that a library asks for, without those of its extras."""
    library = _found(name)
    if library is not None:
        wanted = library.requires or []
    else:
        wanted = _needed_by_checkout() if name == NAME else []
    needed = []
    for line in wanted:
        requirement, _, marker = line.partition(";")
        match = _TOP.match(requirement.strip())
        is_for_windows = "win32" in marker or "Windows" in marker
        if match and "extra" not in marker and (not is_for_windows or sys.platform == "win32"):
            needed.append(match.group())
    return needed


def _needed_by_checkout() -> list[str]:
    """Return the same for the program itself where it runs without being installed."""
    try:
        text = (Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8")
        return list(tomllib.loads(text)["project"]["dependencies"])
    except (OSError, ValueError, KeyError):
        return []


def _found(name: str) -> Distribution | None:
    try:
        return distribution(name)
    except PackageNotFoundError:
        return None
