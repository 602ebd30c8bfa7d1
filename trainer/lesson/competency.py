"""Competencies: what a member must be able to do, with objectives and published basis.

Which rules belong to one is said by the chart: each rule and refusal names its competency.
"""

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
    basis: str
    """The published ground, with keys of the sources; empty if there is none."""
    line: int = 0


def load_competencies(path: Path, chart: ChartSpec | None = None) -> dict[str, Competency]:
    """Return the competencies of a file, by id, in file order.

    Args:
        path: The file.
        chart: The generic chart, each of whose competencies must be there; None: not checked.

    Raises:
        FileError: Something in the file isn't accepted.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    section = top.mapping("competencies")
    children = section.children() if section is not None else ()
    if section is not None and not children:
        section.problem("no competencies", "at least one")
    found = {name: _competency(name, entry) for name, entry in children}
    if section is not None and chart is not None:
        for name in chart.competencies:
            if name not in found:
                section.problem(f"no '{name}', which the chart '{chart.id}' names", f"{name}: ...")
    top.finish()
    top.document.raise_if_problems()
    return found


def _competency(name: str, entry: Mapping) -> Competency:
    objectives = entry.texts("objectives")
    if entry.has("objectives") and not objectives:
        entry.problem("no objectives", "at least one line", key="objectives")
    competency = Competency(
        name, entry.text("title"), objectives, entry.text("basis", ""), entry.line
    )
    entry.finish()
    return competency
