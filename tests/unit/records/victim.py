"""A process made to be killed: it works for ever and says what has been acknowledged.

Usage: victim.py add STORE PREFIX TEMPLATE | import BOOK KEY FILES | migrate STORE TEMPLATE-FILE
"""

from __future__ import annotations

import json
import shutil
import sys
from dataclasses import replace
from pathlib import Path

from trainer.records.attempt_check import attempt_from_json
from trainer.records.club_book import ClubBook
from trainer.records.club_import import import_results
from trainer.records.store import Store

NOW = "2026-03-10T12:00:00Z"


def say(word: str) -> None:
    """Acknowledge, at once."""
    sys.stdout.write(f"{word}\n")
    sys.stdout.flush()


def add(path: Path, prefix: str, template: str) -> None:
    """Add attempts and say each one's id."""
    attempt = attempt_from_json(json.loads(template))
    store = Store.open(path)
    say("begun")
    number = 0
    while True:
        number += 1
        store.add(replace(attempt, id=f"{prefix}-{number}"))
        say(f"{prefix}-{number}")


def take(path: Path, key: str, folder: str) -> None:
    """Import the result files of a folder and say each one taken."""
    book = ClubBook.open(path)
    say("begun")
    files = sorted(Path(folder).iterdir())
    import_results(
        book,
        files,
        bytes.fromhex(key),
        NOW,
        lambda one: say(one.path.name) if not one.refusal else None,
    )
    say("finished")


def migrate(path: Path, old: str) -> None:
    """Put an old file in place and open it, again and again; say when it is open."""
    number = 0
    while True:
        number += 1
        one = path.with_name(f"{number}-{path.name}")
        shutil.copyfile(old, one)
        say(f"at {one.name}")
        Store.open(one).close()
        say(f"open {one.name}")


if __name__ == "__main__":
    work = {"add": add, "import": take, "migrate": migrate}[sys.argv[1]]
    work(Path(sys.argv[2]), *sys.argv[3:])
