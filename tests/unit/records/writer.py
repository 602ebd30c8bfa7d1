"""Add attempts for ever and say each one's id once it is acknowledged: made to be killed."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

from trainer.records.attempt import attempt_from_json
from trainer.records.store import Store


def main(path: Path, prefix: str, template: str) -> None:
    """Write until killed."""
    attempt = attempt_from_json(json.loads(template))
    store = Store.open(path)
    number = 0
    while True:
        number += 1
        store.add(replace(attempt, id=f"{prefix}-{number}"))
        sys.stdout.write(f"{prefix}-{number}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3])
