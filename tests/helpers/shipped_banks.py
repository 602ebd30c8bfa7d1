"""Makes the item banks that are shipped with the program: `python -m tests.helpers.shipped_banks`.

To be run after a change of the charts, the misconceptions, an installation of the program, or of
the code that makes items; two tests say when.
"""

from __future__ import annotations

import sys
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.items.bank import Bank
from trainer.records.check_bank_file import bank_path, shipped_key, write_bank


def shipped_names() -> list[str]:
    """Return the ids of the program's own installations."""
    folder = Workspace().charts_folder / "installations"
    return sorted(path.stem for path in folder.glob("*.yaml"))


def make_shipped(name: str) -> Bank:
    """Return the bank of one of the program's installations, made anew."""
    return Workspace().made_bank(name)


def write_shipped(name: str, charts: Path) -> None:
    """Make the bank of one of the program's installations and put it beside the charts."""
    source = charts / "installations" / f"{name}.yaml"
    write_bank(bank_path(charts, name), shipped_key(charts, source), make_shipped(name))


if __name__ == "__main__":
    for one in sys.argv[1:] or shipped_names():
        write_shipped(one, Workspace().charts_folder)
        sys.stdout.write(f"{one}: made\n")
