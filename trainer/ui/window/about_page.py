"""The page 'About' of the guide: version, cautions, licence, and the libraries' licences. No Qt.

Written when it is shown, from what is installed.
"""

from __future__ import annotations

from pathlib import Path

import trainer
from trainer.parts import parts, versions

ABOUT = "about.md"
TITLE = "About this program"
CAUTIONS = (
    "**A training aid, not an approved device. No time may be logged with it.**",
    "The aircraft's own flight manual supplement, local rules and a licensed flight instructor"
    " decide. Limits and options are placeholders until an instructor has entered and signed"
    " them. The ships, beacons and the airfield that come with the program are invented.",
    "It never uses the network: nothing is sent, and nothing is looked for.",
)


def about_text(folder: Path) -> str:
    """Return the page as Markdown.

    Args:
        folder: The user's data folder.
    """
    machine = versions()
    licence = (Path(trainer.__file__).parent / "LICENSE.txt").read_text(encoding="utf-8")
    rows = "\n".join(
        f"| {part.name} | {part.version} | {_cell(part.licence)} | {_cell(part.summary)} |"
        for part in parts()
    )
    return "\n\n".join(
        (
            f"# {TITLE}",
            f"Mode trainer, version {machine['program']}, on Python {machine['Python']},"
            f" {machine['system']}.",
            *CAUTIONS,
            "## Your data",
            f"Answers, preferences, lessons and aircraft of your own are kept in `{folder}`."
            " A report on a mistake of the program is saved in its folder `trouble`; it holds no"
            " names, and it goes nowhere unless you send it.",
            "## Licence",
            *licence.strip().split("\n\n"),
            "## Libraries and their licences",
            "As each library itself tells them.",
            f"| library | version | licence | what it is |\n|---|---|---|---|\n{rows}",
        )
    )


def _cell(words: str) -> str:
    return " ".join(words.replace("|", "/").split())
