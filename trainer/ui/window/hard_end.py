"""Ends that no handler meets, as when a library fails: what Python can still write is kept. No Qt.

While the window is open a file stands ready into which Python writes where every thread was. It is
turned into a report at the next start.
"""

from __future__ import annotations

import faulthandler
from contextlib import suppress
from pathlib import Path
from typing import IO

from trainer.trouble import FOLDER, save_report, without_names
from trainer.ui.lesson.moment import now_utc

FILE_NAME = "hard-end.txt"
_LONGEST = 100_000


class HardEnd:
    """Stands ready while its block runs.

    Attributes:
        report: The report of the last start's hard end; None: it ended as it should.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._path = folder / FOLDER / FILE_NAME
        self._file: IO[str] | None = None
        self.report: Path | None = None

    def __enter__(self) -> HardEnd:
        """Look for what the last start left, and stand ready."""
        self.report = self._taken_up()
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self._path.open("w", encoding="utf-8")
            faulthandler.enable(self._file)
        except (OSError, ValueError, RuntimeError):
            self._file = None  # a folder that can't be written to: the program goes on without
        return self

    def __exit__(self, *_: object) -> None:
        """The program ends as it should."""
        if self._file is not None:
            faulthandler.disable()
            self._file.close()
            with suppress(OSError):
                self._path.unlink()

    def _taken_up(self) -> Path | None:
        try:
            with self._path.open(encoding="utf-8", errors="replace") as file:
                text = file.read(_LONGEST)
        except OSError:
            return None
        if not text.strip():
            return None
        at_utc = now_utc()
        head = (
            f"Report on an end of the program that it could do nothing about\n\nfound: {at_utc}\n"
        )
        return save_report(self._folder, without_names(head + text, (), self._folder), at_utc)
