"""Misconception file -> values. Every rule, state, event, signal and option is resolved here.

Format `misconception/1`; its JSON Schema lies beside this module. A patch that leaves the chart
as it was is refused: a wrong rule that changes nothing can't be held.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Any

from trainer.assessment.wrong_rules.misconception import (
    Add,
    ChooseOption,
    Drop,
    Misconception,
    Operation,
    Relax,
    Restrict,
    Retarget,
    apply,
)
from trainer.assessment.wrong_rules.patch_reader import PatchReader
from trainer.charts.loader import load_chart
from trainer.charts.spec import ChartSpec
from trainer.document import Mapping, near, read_document
from trainer.lesson.competency import FILE_NAME, load_competencies

FORMAT = "misconception/1"
OPERATIONS = (
    "drop_rules", "drop_refusals", "add_rule", "add_refusal", "copy_rule", "retarget",
    "restrict", "relax", "choose_option",
)  # fmt: skip


def load_misconceptions(
    path: Path,
    charts: Path,
    chart: ChartSpec | None = None,
    competencies: Collection[str] | None = None,
) -> tuple[Misconception, ...]:
    """Return the misconceptions of a file.

    Args:
        path: The file.
        charts: Folder with the chart files and the competencies, to resolve names.
        chart: The chart, if it is loaded already and is the one that the file names.
        competencies: Ids of the competencies, if they are loaded already.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: A file can't be read.
    """
    return read_misconceptions(read_document(path), charts, chart, competencies)


def read_misconceptions(
    top: Mapping,
    charts: Path,
    chart: ChartSpec | None = None,
    competencies: Collection[str] | None = None,
) -> tuple[Misconception, ...]:
    """Return the misconceptions of an open document; errors as `load_misconceptions`."""
    top.text("format", choices=[FORMAT])
    known = sorted(path.stem for path in charts.glob("*.yaml"))
    chart_id = top.text("chart", choices=known)
    top.document.raise_if_problems()
    if chart is None or chart.id != chart_id:
        chart = load_chart(charts / f"{chart_id}.yaml")
    if competencies is None:
        competencies = load_competencies(charts / FILE_NAME)
    entries = top.entries("misconceptions")
    found = [_misconception(entry, chart, competencies) for entry in entries]
    top.finish()
    seen: dict[str, int] = {}
    for one, entry in zip(found, entries, strict=True):
        if one.id in seen:
            entry.problem(f"id '{one.id}' already in line {seen[one.id]}", "an id of its own")
        seen[one.id] = one.line
    top.document.raise_if_problems()
    return tuple(found)


def _misconception(
    entry: Mapping, chart: ChartSpec, competencies: Collection[str]
) -> Misconception:
    name, sentence = entry.text("id"), entry.text("rule")
    evidence: Any = entry.text("evidence", choices=("documented", "derived"))
    source = entry.text("source", "")
    if evidence == "documented" and not source:
        entry.problem("documented without a source", "a line 'source: ...', or evidence: derived")
    reader = PatchReader(chart, name, sentence)
    before = len(entry.document.problems)
    operations = _operations(entry, chart, reader)
    competency = entry.text("competency", choices=sorted(competencies))
    one = Misconception(
        name, sentence, competency, evidence, source, operations, reader.options(entry),
        entry.text("lesson", ""), entry.document.path, entry.line,
    )  # fmt: skip
    entry.finish()
    if len(entry.document.problems) == before and not _changes(one, chart):
        entry.problem(f"the patch of '{name}' changes nothing", "a patch that changes a rule")
    return one


def _changes(one: Misconception, chart: ChartSpec) -> bool:
    if any(isinstance(operation, ChooseOption) for operation in one.operations):
        return True
    patched = chart
    for operation in one.operations:
        patched = apply(patched, operation)
    return (patched.rules, patched.refusals) != (chart.rules, chart.refusals)


def _operations(entry: Mapping, chart: ChartSpec, reader: PatchReader) -> tuple[Operation, ...]:
    found: list[Operation] = []
    steps = entry.entries("patch")
    if not steps and entry.has("patch"):
        entry.problem("an empty patch", "at least one of " + ", ".join(OPERATIONS), key="patch")
    for step in steps:
        keys = step.keys()
        if len(keys) != 1 or keys[0] not in OPERATIONS:
            accepted = near(keys[0] if keys else "", OPERATIONS)
            step.finish(keys)
            step.problem(f"a patch with keys {', '.join(keys) or 'none'}", f"one of {accepted}")
            continue
        operation = _operation(keys[0], step, chart, reader)
        if operation is not None:
            found.append(operation)
    return tuple(found)


def _operation(kind: str, step: Mapping, chart: ChartSpec, reader: PatchReader) -> Operation | None:
    if kind == "drop_rules":
        return Drop(rules=step.texts(kind, choices=chart.rules))
    if kind == "drop_refusals":
        return Drop(refusals=step.texts(kind, choices=chart.refusals))
    inner = step.mapping(kind)
    if inner is None:
        return None
    if kind == "choose_option":
        return reader.choice(inner)
    operation = _addition(kind, inner, reader) or _change(kind, inner, chart, reader)
    inner.finish()
    return operation


def _addition(kind: str, inner: Mapping, reader: PatchReader) -> Operation | None:
    if kind == "add_refusal":
        return Add(refusal=reader.refusal(inner))
    if kind not in ("add_rule", "copy_rule"):
        return None
    rule = reader.rule(inner) if kind == "add_rule" else reader.copy(inner)
    return Add(rule=rule)


def _change(kind: str, inner: Mapping, chart: ChartSpec, reader: PatchReader) -> Operation | None:
    if kind == "retarget":
        names = inner.texts("rules", choices=chart.rules)
        return Retarget(names, reader.target(inner, names))
    if kind == "restrict":
        return Restrict(reader.names(inner), reader.guard(inner))
    if kind == "relax":
        parts = [*chart.signals, *chart.regions]
        return Relax(reader.names(inner), frozenset(inner.texts("drop", choices=parts)))
    return None
