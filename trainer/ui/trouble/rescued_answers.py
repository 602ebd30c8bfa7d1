"""Answers that could not be stored: put aside in a file, taken back at the next start. No Qt."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path

from trainer.errors import TrainerError
from trainer.records.attempt import Attempt
from trainer.records.attempt_check import attempt_from_json
from trainer.text_file import read_text
from trainer.ui.lesson.recorder import Recorder

FILE_NAME = "answers-not-stored.jsonl"
MOST_BYTES = 50_000_000


def put_aside(folder: Path, attempts: Iterable[Attempt]) -> Path | None:
    """Write answers beside the store and return where; None if that fails too.

    Args:
        folder: The user's data folder.
        attempts: Answers that the store has not taken.
    """
    path = folder / FILE_NAME
    lines = [json.dumps(one.to_json(), ensure_ascii=False) for one in attempts]
    try:
        known = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("w", encoding="utf-8") as file:
            file.write("".join(f"{line}\n" for line in dict.fromkeys([*known, *lines])))
            file.flush()
            os.fsync(file.fileno())
    except (OSError, ValueError):
        return None
    return path


def take_back(folder: Path, recorder: Recorder) -> int:
    """Store the answers put aside and return how many; those that can't be stay in the file.

    Args:
        folder: The user's data folder.
        recorder: What stores them.
    """
    path = folder / FILE_NAME
    try:
        lines = read_text(path, MOST_BYTES).splitlines()
    except TrainerError:
        return 0
    left = []
    for line in lines:
        try:
            attempt = attempt_from_json(json.loads(line))
            recorder.keep(attempt)
            if attempt in recorder.waiting:
                left.append(line)
        except (ValueError, RecursionError, TrainerError):
            left.append(line)
    if not left:
        path.unlink(missing_ok=True)
    return len(lines) - len(left)
