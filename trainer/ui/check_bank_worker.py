"""Computes an item bank in a process of its own, so that the window stays quick. No Qt here."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import TrainerError

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.assessment.bank import Bank
    from trainer.assessment.library import Library

_EVERY_S = 0.2
_NEWS_EACH = 50


class StoppedError(TrainerError):
    """The user has asked to stop."""


@dataclass(frozen=True, slots=True)
class BankNews:
    """How far the bank has come.

    Attributes:
        elapsed_s: Time since it was begun [s].
        flights: Situations flown so far.
    """

    elapsed_s: float
    flights: int


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
    context = multiprocessing.get_context("spawn")
    news, told = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(folders, name, told), daemon=True)
    process.start()
    told.close()
    try:
        _follow(news, tell, is_stopped)
    finally:
        process.terminate()
        process.join()
        news.close()
    # If the file couldn't be kept, this computes it once more here.
    return workspace.bank(name)


def _follow(
    news: Connection, tell: Callable[[BankNews], None], is_stopped: Callable[[], bool]
) -> None:
    began_s, flights = time.monotonic(), 0
    while True:
        if is_stopped():
            raise StoppedError("stopped: nothing was begun")
        if news.poll(_EVERY_S):
            try:
                said = news.recv()
            except EOFError:
                raise TrainerError("finding the items ended unexpectedly: try again") from None
            if said is None:
                return
            if isinstance(said, str):
                raise TrainerError(said)
            flights = said
        tell(BankNews(time.monotonic() - began_s, flights))


def _work(folders: tuple[Path, Path, Path], name: str, told: Connection) -> None:
    from trainer.app import Workspace

    def watch(flights: int) -> None:
        if flights % _NEWS_EACH == 0:
            told.send(flights)

    try:
        Workspace(*folders).bank(name, watch)
    except TrainerError as error:
        told.send(str(error))
    else:
        told.send(None)
