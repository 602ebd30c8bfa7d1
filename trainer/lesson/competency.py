"""Competencies: what a member must be able to do, with objectives, rules and published basis."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.charts.spec import ChartSpec
from trainer.document import Mapping, read_document

FORMAT = "competencies/1"
FILE_NAME = "competencies.yaml"


@dataclass(frozen=True, slots=True)
class Competency:
    """One thing to be able to do."""

    id: str
    title: str
    objectives: tuple[str, ...]
    rules: tuple[str, ...]
    """Ids of rules and refusals of the generic chart that it needs; any option."""
    basis: str
    """The published ground, with keys of the sources; empty if there is none."""
    line: int = 0


def load_competencies(path: Path, chart: ChartSpec | None = None) -> dict[str, Competency]:
    """Return the competencies of a file, by id, in file order.

    Args:
        path: The file.
        chart: The generic chart whose rules may be named; None: not checked.

    Raises:
        FileError: Something in the file isn't accepted.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    section = top.mapping("competencies")
    known = None if chart is None else [*chart.rules, *chart.refusals]
    children = section.children() if section is not None else ()
    if section is not None and not children:
        section.problem("no competencies", "at least one")
    found = {name: _competency(name, entry, known) for name, entry in children}
    top.finish()
    top.document.raise_if_problems()
    return found


def _competency(name: str, entry: Mapping, known: list[str] | None) -> Competency:
    objectives = entry.texts("objectives")
    if entry.has("objectives") and not objectives:
        entry.problem("no objectives", "at least one line", key="objectives")
    competency = Competency(
        name, entry.text("title"), objectives, entry.texts("rules", choices=known),
        entry.text("basis", ""), entry.line,
    )  # fmt: skip
    entry.finish()
    return competency
