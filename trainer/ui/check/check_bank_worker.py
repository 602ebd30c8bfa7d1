"""Computes an item bank in a process of its own, so that the window stays quick. No Qt here.

The other process is a plain `python -m` of this module: it needs nothing of the program that
started it, and says how far it is line by line.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import trainer
from trainer.errors import StoppedError, TrainerError

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.assessment.items.bank import Bank
    from trainer.assessment.wrong_rules.library import Library

_MODULE = "trainer.ui.check.check_bank_worker"
_EVERY_S = 0.2
_NEWS_EACH = 0.005
"""News are told when so much more is done."""
_UNEXPECTED = "finding the items ended unexpectedly: try again"


@dataclass(frozen=True, slots=True)
class BankNews:
    """How far the bank has come.

    Attributes:
        elapsed_s: Time since it was begun [s].
        done: What part of it is done, from 0.0 to 1.0.
    """

    elapsed_s: float
    done: float


def compute_bank(
    workspace: Workspace,
    name: str,
    tell: Callable[[BankNews], None],
    is_stopped: Callable[[], bool],
) -> tuple[Library, Bank]:
    """Return an installation's bank, from the disk or computed in another process.

    Args:
        workspace: The installations; called from a thread that isn't the window's.
        name: Id of the installation.
        tell: Given the news some times a second.
        is_stopped: True once the user wants no more of it.

    Raises:
        StoppedError: It was stopped; nothing is kept of it.
        TrainerError: It can't be computed; the message says why.
    """
    kept = workspace.kept_bank(name)
    if kept is not None:
        return kept
    folders = (workspace.charts_folder, workspace.lessons_folder, workspace.user_folder)
    process = _start(folders, name)
    assert process.stdout is not None
    lines: queue.Queue[str] = queue.Queue()
    reader = threading.Thread(target=_read, args=(process.stdout, lines), daemon=True)
    reader.start()
    try:
        _follow(lines, tell, is_stopped)
    finally:
        process.kill()
        process.wait()
        reader.join()
        process.stdout.close()
    # If the file couldn't be kept, this computes it once more here.
    return workspace.bank(name)


def _start(folders: tuple[Path, ...], name: str) -> subprocess.Popen[str]:
    home = str(Path(trainer.__file__).parents[1])
    paths = os.pathsep.join(part for part in (home, os.environ.get("PYTHONPATH", "")) if part)
    try:
        return subprocess.Popen(  # noqa: S603 - this program itself, with its own folders
            [sys.executable, "-m", _MODULE, *map(str, folders), name],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            text=True, env={**os.environ, "PYTHONPATH": paths},
        )  # fmt: skip
    except OSError as error:
        raise TrainerError(f"the items can't be found: {error}") from error


def _follow(
    lines: queue.Queue[str],
    tell: Callable[[BankNews], None],
    is_stopped: Callable[[], bool],
) -> None:
    began_s, done = time.monotonic(), 0.0
    while True:
        if is_stopped():
            raise StoppedError("stopped: nothing was begun")
        try:
            said = _news(lines.get(timeout=_EVERY_S))
        except queue.Empty:
            said = {}
        if said.get("done"):
            return
        if "problem" in said:
            raise TrainerError(str(said["problem"]))
        done = said.get("part", done)
        tell(BankNews(time.monotonic() - began_s, done))


def _read(stdout: IO[str], lines: queue.Queue[str]) -> None:
    for line in stdout:
        lines.put(line)
    lines.put("")


def _news(line: str) -> dict[str, Any]:
    """Return what a line says; the end of them before all is done is trouble."""
    if not line:
        raise TrainerError(_UNEXPECTED)
    try:
        said = json.loads(line)
    except ValueError:
        return {}
    return said if isinstance(said, dict) else {}


def main(arguments: list[str]) -> None:
    """Compute the bank of an installation: charts, lessons, user data, id."""
    from trainer.app import Workspace

    *folders, name = arguments

    def say(**news: object) -> None:
        sys.stdout.write(json.dumps(news) + "\n")
        sys.stdout.flush()

    told = -1.0

    def watch(part: float) -> None:
        nonlocal told
        if part >= told + _NEWS_EACH or part == 1.0:
            told = part
            say(part=part)

    try:
        Workspace(*map(Path, folders)).bank(name, watch)
    except TrainerError as error:
        say(problem=str(error))
    else:
        say(done=True)


if __name__ == "__main__":
    main(sys.argv[1:])
