"""What takes long to compute, made once for all processes of a test run and kept in its folder.

The folder is the run's own, so nothing of an earlier program is believed. Where `FOLDER_VARIABLE`
is set before a run starts, what is kept stays there for the next run of the same program.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FOLDER_VARIABLE = "MODE_TRAINER_TEST_FOLDER"


def kept_in_run(name: str, compute: Callable[[], Any]) -> Any:
    """Return what a process of this run has computed under a name, or compute and keep it.

    Args:
        name: What it is, with all that it follows from.
        compute: Makes it; its value has to survive pickling.
    """
    folder = os.environ.get(FOLDER_VARIABLE)
    if folder is None:  # outside of a test run
        return compute()
    path = Path(folder) / f"{name}.pickle"
    with _locked(path.with_suffix(".lock")):
        if path.exists():
            return pickle.loads(path.read_bytes())
        value = compute()
        draft = path.with_suffix(f".{os.getpid()}")
        draft.write_bytes(pickle.dumps(value, pickle.HIGHEST_PROTOCOL))
        draft.replace(path)
        return value


@contextmanager
def _locked(path: Path) -> Generator[None]:
    """Let one process at a time make a thing; the lock of one that dies is released with it."""
    try:
        import fcntl
    except ImportError:  # no such locks here: at worst two processes make the same thing
        yield
        return
    with path.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
