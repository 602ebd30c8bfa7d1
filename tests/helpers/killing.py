"""A program of its own that is killed in the middle of its work, as a power cut would."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import trainer

_ENVIRONMENT = {**os.environ, "PYTHONPATH": str(Path(trainer.__file__).parents[1])}


def told_until_killed(script: Path, *arguments: str | Path, wait_s: float) -> list[str]:
    """Start a script, kill it some time after its first line, return every whole line it said.

    Args:
        script: The Python file.
        arguments: What it is called with.
        wait_s: Time between its first line and its death [s].

    Raises:
        AssertionError: It died before it said anything.
    """
    command = [sys.executable, str(script), *map(str, arguments)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=_ENVIRONMENT) as process:
        assert process.stdout is not None
        try:
            first = process.stdout.readline()
            time.sleep(wait_s)
        finally:
            process.send_signal(signal.SIGKILL)
        # `communicate` would lose the lines that came together with the first.
        lines = (first + process.stdout.read()).splitlines(keepends=True)
    assert lines, f"{script.name} died before it began"
    return [line.rstrip("\n") for line in lines if line.endswith("\n")]
