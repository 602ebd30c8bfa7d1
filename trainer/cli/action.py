"""Commands with several actions below one name, and what those of records and reports share."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.output import Output
from trainer.errors import MissingFileError, TrainerError
from trainer.records.backup import backups_of
from trainer.records.club_book import ClubBook

Declare = Callable[[argparse.ArgumentParser], None]
Run = Callable[[argparse.Namespace, Output, Workspace], int]


@dataclass(frozen=True, slots=True)
class Action:
    """One action: its help, its arguments, and what it does."""

    help: str
    declare: Declare
    run: Run


def declare_actions(
    parser: argparse.ArgumentParser, actions: Mapping[str, Action]
) -> argparse._SubParsersAction[argparse.ArgumentParser]:
    """Declare each action with its arguments; `--json` may stand before or after it."""
    parts = parser.add_subparsers(metavar="ACTION", required=True)
    for name, action in actions.items():
        part = parts.add_parser(name, help=action.help, description=action.help)
        part.add_argument(
            "--json", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS
        )
        action.declare(part)
        part.set_defaults(run=action.run)
    return parts


def open_book(path: Path) -> ClubBook:
    """Open a book that is there already.

    Raises:
        MissingFileError: If there is none; a wrong name must not begin a new book.
        RecordsError: If it can't be used.
    """
    if not path.exists() and not backups_of(path):
        made = "a book made with 'mode-trainer records club new'"
        raise MissingFileError(path, "no such club book", made)
    return ClubBook.open(path)


def now_utc() -> str:
    """Return this moment as ISO 8601 in UTC."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def today() -> str:
    """Return the day in UTC."""
    return now_utc()[:10]


def end_of_day(text: str) -> str:
    """Return the last second of a day written as 2026-03-20.

    Raises:
        TrainerError: If it is no day.
    """
    try:
        return f"{date.fromisoformat(text)}T23:59:59Z"
    except ValueError as error:
        raise TrainerError(f"day {text!r}; accepted: a date as 2026-03-20") from error
