"""A mistake of the program's own: a report that its user may send. No Qt here.

A report holds what went wrong and where in the program, the versions, and what was done last. It
holds no values of variables and no names: members' names and the user's folders are taken out.
"""

from __future__ import annotations

import os
import re
import traceback
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

FOLDER = "trouble"
MOST_REPORTS = 20
"""The oldest go first."""
_SHORTEST_NAME = 2
_PACKAGE = Path(__file__).resolve().parent.parent
_LONGEST_MESSAGE = 2000


@dataclass(frozen=True, slots=True)
class Trouble:
    """One mistake, taken down at once: nothing of the frames it came from is kept."""

    kind: str
    message: str
    where: str
    """In which part of the program: window, worker, command."""
    place: str
    """File and line in which it was raised; the same mistake comes from the same place."""
    traceback: str

    @property
    def words(self) -> str:
        """The mistake in one line."""
        first = (self.message.strip().splitlines() or [""])[0][:200]
        return f"{self.kind}: {first}" if first else self.kind


def trouble_of(error: BaseException, where: str) -> Trouble:
    """Take down an exception.

    Args:
        error: The exception, with its traceback.
        where: In which part of the program it was met.
    """
    frames = traceback.extract_tb(error.__traceback__)
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else "nowhere"
    try:
        message = str(error)[:_LONGEST_MESSAGE]
    except Exception:  # an exception that can't even say what it is
        message = "(it has no words)"
    try:
        text = "".join(traceback.format_exception(error))
    except Exception:  # the same, while its traceback is written
        text = "".join(traceback.format_list(frames))
    return Trouble(type(error).__name__, message, where, place, text)


def report_text(
    trouble: Trouble,
    at_utc: str,
    *,
    events: Iterable[str] = (),
    names: Iterable[str] = (),
    folder: Path | None = None,
    versions: Mapping[str, str] | None = None,
) -> str:
    """Return the report on a mistake.

    Args:
        trouble: The mistake.
        at_utc: When it was met.
        events: What was done last, oldest first.
        names: What must not stand in it: names of members.
        folder: The user's data folder, which is not named either.
        versions: What the program runs on; see `trainer.parts.versions`.
    """
    lines = [
        "Report on a mistake of the program", "",
        "No names of members and no answers are in it. Nothing is sent by itself.", "",
        f"when: {at_utc}", f"where: {trouble.where}", f"what: {trouble.words}", "",
        trouble.traceback.rstrip(), "", "What was done last:",
        *(f"  {event}" for event in events), "", "Versions:",
        *(f"  {name}: {words}" for name, words in (versions or {}).items()), "",
    ]  # fmt: skip
    return without_names("\n".join(lines), names, folder)


def without_names(text: str, names: Iterable[str], folder: Path | None = None) -> str:
    """Return a text with folders of the user's and the given names taken out.

    Example:
        >>> without_names("no member 'Robin Vale'", ["Robin Vale"])
        "no member '<name>'"
    """
    home = Path.home()
    folders = [(str(folder), "<data>")] if folder is not None else []
    folders += [(str(_PACKAGE), "<program>"), (str(home), "~")]
    for path, mark in folders:
        if len(path) > 1:
            text = text.replace(path, mark)
    taken = {name.strip() for name in (*names, home.name) if len(name.strip()) >= _SHORTEST_NAME}
    for name in sorted(taken - {"root", "Me"}, key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "<name>", text, flags=re.IGNORECASE)
    return text


def save_report(folder: Path, text: str, at_utc: str) -> Path | None:
    """Write a report into a data folder and return where; None if it can't be written.

    Args:
        folder: The user's data folder.
        text: The report.
        at_utc: When the mistake was met; it gives the file's name.
    """
    plain = re.sub(r"[^0-9TZ]", "", at_utc)
    try:
        home = folder / FOLDER
        home.mkdir(parents=True, exist_ok=True)
        there = [path.stem.rpartition("-")[2] for path in home.glob(f"report-{plain}-*.txt")]
        first = 1 + max((int(number) for number in there if number.isdecimal()), default=0)
        for number in range(first, first + 100):
            path = home / f"report-{plain}-{number:04d}.txt"
            with suppress(FileExistsError), path.open("x", encoding="utf-8") as file:
                file.write(text.encode("utf-8", "backslashreplace").decode())
                file.flush()
                os.fsync(file.fileno())
                _drop_old(home)
                return path
    except OSError:
        return None
    return None


def _drop_old(home: Path) -> None:
    for path in sorted(home.glob("report-*.txt"))[:-MOST_REPORTS]:
        path.unlink(missing_ok=True)
