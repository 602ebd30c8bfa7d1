"""Answers -> installation file: YAML that keeps a person's comments and loads again.

A file is only put in place after the loader has accepted it, in one act, so that a crash or a
refused value never spoils what was there.
"""

from __future__ import annotations

import io
import os
import tempfile
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import YAMLError

from trainer.charts.installation import FORMAT, Installation, Provenance, load_installation
from trainer.charts.questionnaire import Answer, AnswerError, Answers, Question, questions_of
from trainer.charts.spec import ChartSpec
from trainer.errors import FileError, FileProblem

_HEAD = (
    "Written by the questionnaire of the program; it may be edited by hand.\n"
    "A value without 'state' is a placeholder until somebody has entered it with its source."
)


def installation_text(answers: Answers, generic: ChartSpec, old_text: str = "") -> str:
    """Return the file's text.

    Args:
        answers: What to write.
        generic: The chart that asks.
        old_text: The file as it was; its comments and order are kept.

    Raises:
        AnswerError: The old text isn't a YAML mapping.
    """
    yaml = _yaml()
    top = _old(yaml, old_text) if old_text.strip() else CommentedMap()
    if not old_text.strip():
        top.yaml_set_start_comment(_HEAD)
    top["format"] = FORMAT
    top["id"] = answers.id
    top["title"] = answers.title
    top["chart"] = answers.chart
    top["aircraft"] = answers.aircraft
    if answers.note or "note" in top:
        top["note"] = answers.note
    for kind, name in (("option", "options"), ("limit", "limits")):
        if not isinstance(top.get(name), CommentedMap):
            top[name] = CommentedMap()
        for question in questions_of(generic):
            if question.kind == kind and question.key in answers.values:
                _put(top[name], question, answers.answer(question))
    stream = io.StringIO()
    yaml.dump(top, stream)
    return stream.getvalue()


def save_installation(
    path: Path, answers: Answers, generic: ChartSpec, charts: Path, old_text: str | None = None
) -> Installation:
    """Write an installation and return it as the loader reads it back.

    Args:
        path: The file; an existing one keeps its comments.
        answers: What to write.
        generic: The chart that asks.
        charts: Folder with the charts.
        old_text: A text whose comments are kept; None: that of the file.

    Raises:
        FileError: The loader refuses it; what was there is untouched.
        AnswerError: The file can't be written.
    """
    try:
        if old_text is None:
            old_text = path.read_text(encoding="utf-8") if path.exists() else ""
        text = installation_text(answers, generic, old_text)
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(".tmp", f".{path.stem}-", path.parent)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
    except (OSError, UnicodeDecodeError) as error:
        raise AnswerError(f"{path}: not written ({error}); nothing is lost") from error
    temporary = Path(name)
    try:
        load_installation(temporary, charts)
        temporary.replace(path)
    except FileError as error:
        raise FileError([_named(one, path) for one in error.problems]) from error
    finally:
        temporary.unlink(missing_ok=True)
    return load_installation(path, charts)


def _named(problem: FileProblem, path: Path) -> FileProblem:
    return FileProblem(str(path), problem.line, problem.column, problem.found, problem.accepted)


def _yaml() -> YAML:
    yaml = YAML()
    yaml.width = 100
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml


def _old(yaml: YAML, text: str) -> CommentedMap:
    try:
        top = yaml.load(text)
    except YAMLError as error:
        raise AnswerError(f"the file to be changed isn't YAML: {error}") from error
    if not isinstance(top, CommentedMap):
        raise AnswerError("the file to be changed has no 'key: value' lines at its top")
    return top


def _put(section: CommentedMap, question: Question, answer: Answer) -> None:
    """Write one answer, changing as little of what stands there as is needed."""
    value = _number(answer.value) if question.kind == "limit" else answer.value
    fields = _fields(answer.provenance)
    old = section.get(question.id)
    if not fields and not isinstance(old, CommentedMap):
        section[question.id] = value
        return
    entry = old if isinstance(old, CommentedMap) else CommentedMap()
    entry["choice" if question.kind == "option" else "value"] = value
    for name in ("state", "source", "entered_by", "date", "verified_by", "unknown"):
        if name in fields:
            entry[name] = fields[name]
        else:
            entry.pop(name, None)
    if entry is not old:
        section[question.id] = entry


def _fields(where: Provenance) -> dict[str, Any]:
    """Return what is to be written of a provenance; nothing for a bare placeholder."""
    fields: dict[str, Any] = {
        "source": where.source, "entered_by": where.entered_by, "date": where.date,
        "verified_by": where.verified_by,
    }  # fmt: skip
    fields = {name: text.strip() for name, text in fields.items() if text.strip()}
    if where.is_unknown:
        fields["unknown"] = True
    if where.state != "placeholder" or fields:
        fields["state"] = where.state
    return fields


def _number(value: str | float) -> int | float:
    number = float(value)
    return int(number) if number.is_integer() else number
