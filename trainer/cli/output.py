"""How commands speak: JSON Lines or plain lines on stdout, messages on stderr, exit codes."""

from __future__ import annotations

import json
import sys
from typing import Any

DONE, FINDINGS, UNUSABLE, BROKEN = 0, 1, 2, 3


class Output:
    """Writes a command's results."""

    def __init__(self, *, as_json: bool) -> None:
        self.as_json = as_json

    def emit(self, data: dict[str, Any], text: str) -> None:
        """Write one result: the object with --json, else the text."""
        print(json.dumps(data, allow_nan=False) if self.as_json else text)

    @staticmethod
    def message(text: str) -> None:
        """Write a message for a person to stderr."""
        print(text, file=sys.stderr)
