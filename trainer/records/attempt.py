"""One answer to one prompt, as it is stored, exported and exchanged."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import Any

from trainer.assessment.prediction import CONFIDENCES, Confidence
from trainer.records.error import InvalidRecordError
from trainer.records.field_check import (
    object_of,
    require_moment,
    require_name,
    require_names,
    require_text,
    require_whole,
)
from trainer.session.annunciation import CELLS, Annunciation


@dataclass(frozen=True, slots=True)
class Attempt:
    """One answer recorded: what was asked, predicted and seen."""

    id: str
    """Unique text, made by the caller; the same id is never stored twice."""
    at_utc: str
    """Moment of the answer, ISO 8601 in UTC, for example 2026-03-01T18:05:09Z."""
    member: str
    lesson_id: str
    lesson_title: str
    installation_id: str
    prompt_number: int
    """Place of the prompt in its lesson, from 1."""
    prompt_kind: str
    question: str
    before: dict[str, Any]
    """Annunciation at the prompt, in `Annunciation.to_json` form; so are the next two."""
    predicted: dict[str, Any]
    actual: dict[str, Any]
    wrong_cells: tuple[str, ...]
    is_right: bool
    confidence: Confidence
    rule_ids: tuple[str, ...]
    """Rules that fired between prompt and outcome: what the prompt was about."""
    taken_s: float
    """Time from prompt to answer [s]."""
    program_version: str

    @property
    def is_sure_and_wrong(self) -> bool:
        """True for the answers that matter most to the instructor."""
        return self.confidence == "sure" and not self.is_right

    def to_json(self) -> dict[str, Any]:
        """Return the attempt as JSON values; `attempt_from_json` is its inverse."""
        data = asdict(self)
        data["wrong_cells"] = list(self.wrong_cells)
        data["rule_ids"] = list(self.rule_ids)
        return data


_TEXT_FIELDS = (
    "id",
    "at_utc",
    "member",
    "lesson_id",
    "lesson_title",
    "installation_id",
    "prompt_kind",
    "question",
    "program_version",
)
_NAMES = tuple(field.name for field in fields(Attempt))


def attempt_from_json(data: object) -> Attempt:
    """Return the attempt of `to_json`'s form, checked as a stranger's.

    Raises:
        InvalidRecordError: If a field is missing, unknown, of the wrong kind, or if the verdict
            does not follow from the two annunciations.
    """
    values = dict(object_of("attempt", data, _NAMES))
    for name in _TEXT_FIELDS:
        require_text(name, values[name])
    require_moment("at_utc", values["at_utc"])
    if values["confidence"] not in CONFIDENCES:
        raise InvalidRecordError(f"attempt: confidence accepted: {', '.join(CONFIDENCES)}")
    require_whole("prompt_number", values["prompt_number"], 0, 100_000)
    taken_s = values["taken_s"]
    if type(taken_s) not in (int, float) or not 0.0 <= taken_s <= 1e7:
        raise InvalidRecordError("attempt: taken_s accepted: seconds from 0")
    values["taken_s"] = float(taken_s)
    values["wrong_cells"] = require_names("wrong_cells", values["wrong_cells"])
    values["rule_ids"] = require_names("rule_ids", values["rule_ids"])
    attempt = Attempt(**values)
    _require_verdict(attempt)
    return attempt


def _require_verdict(attempt: Attempt) -> None:
    """Refuse a verdict that contradicts the annunciations it is about."""
    try:
        _require_annunciation(attempt.before)
        predicted = _require_annunciation(attempt.predicted)
        actual = _require_annunciation(attempt.actual)
    except (KeyError, TypeError, AttributeError) as error:
        raise InvalidRecordError(f"attempt {attempt.id}: not an annunciation: {error}") from error
    wrong = tuple(name for name in CELLS if predicted.cell(name) != actual.cell(name))
    if wrong != attempt.wrong_cells or type(attempt.is_right) is not bool:
        raise InvalidRecordError(f"attempt {attempt.id}: wrong_cells don't follow from the strips")
    if attempt.is_right != (not wrong):
        raise InvalidRecordError(f"attempt {attempt.id}: is_right contradicts wrong_cells")


def _require_annunciation(data: dict[str, Any]) -> Annunciation:
    annunciation = Annunciation.from_json(data)
    if annunciation.to_json() != data:
        raise InvalidRecordError("attempt: an annunciation holds unknown or unsorted fields")
    for name in CELLS:
        content = annunciation.cell(name)
        for text in (content,) if isinstance(content, str) else content:
            require_name(name, text)
    return annunciation
