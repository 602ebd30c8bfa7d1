"""Reading an attempt that somebody else wrote: fields checked, the verdict worked out again."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from trainer.assessment.answers.prediction import CONFIDENCES
from trainer.lesson.question import FORMS
from trainer.records.attempt import Attempt
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

_TEXT_FIELDS = (
    "id", "at_utc", "member", "lesson_id", "lesson_title", "installation_id", "prompt_kind",
    "question", "program_version",
)  # fmt: skip
_LATER_FIELDS = {"said": "", "expected": "", "item_id": "", "check_id": ""}
"""Fields that older programs don't write."""
_NAMES = tuple(field.name for field in fields(Attempt))


def attempt_from_json(data: object) -> Attempt:
    """Return the attempt of `Attempt.to_json`'s form, checked as a stranger's.

    Raises:
        InvalidRecordError: If a field is missing, unknown, of the wrong kind, or if the verdict
            does not follow from what was predicted and seen.
    """
    given = {**_LATER_FIELDS, **data} if isinstance(data, dict) else data
    values = dict(object_of("attempt", given, _NAMES))
    for name in _TEXT_FIELDS:
        require_text(name, values[name])
    for name in _LATER_FIELDS:
        if values[name] != "":
            require_name(name, values[name])
    require_moment("at_utc", values["at_utc"])
    if values["confidence"] not in CONFIDENCES:
        raise InvalidRecordError(f"attempt: confidence must be one of {', '.join(CONFIDENCES)}")
    require_whole("prompt_number", values["prompt_number"], 0, 100_000)
    taken_s = values["taken_s"]
    if type(taken_s) not in (int, float) or not 0.0 <= taken_s <= 1e7:
        raise InvalidRecordError("attempt: taken_s must be seconds from 0")
    values["taken_s"] = float(taken_s)
    values["wrong_cells"] = require_names("wrong_cells", values["wrong_cells"])
    values["rule_ids"] = require_names("rule_ids", values["rule_ids"])
    attempt = Attempt(**values)
    _require_verdict(attempt)
    return attempt


def _require_verdict(attempt: Attempt) -> None:
    """Refuse a verdict that contradicts what it is about."""
    try:
        _require_annunciation(attempt.before)
        predicted = _require_annunciation(attempt.predicted)
        actual = _require_annunciation(attempt.actual)
    except (KeyError, TypeError, AttributeError) as error:
        raise InvalidRecordError(f"attempt {attempt.id}: not an annunciation: {error}") from error
    if type(attempt.is_right) is not bool or attempt.is_right != (not attempt.wrong_cells):
        raise InvalidRecordError(f"attempt {attempt.id}: is_right contradicts wrong_cells")
    if _follows_from_words(attempt):
        return
    wrong = tuple(name for name in CELLS if predicted.cell(name) != actual.cell(name))
    if wrong != attempt.wrong_cells or attempt.said or attempt.expected:
        raise InvalidRecordError(f"attempt {attempt.id}: wrong_cells don't follow from the answer")


def _follows_from_words(attempt: Attempt) -> bool:
    """True for a verdict on a choice or number, as far as it can be worked out again.

    How near a number must be isn't recorded, so it is taken as it stands.
    """
    form = FORMS.get(attempt.prompt_kind, "strip")  # type: ignore[call-overload]
    if form == "strip" or attempt.wrong_cells not in ((), (form,)):
        return False
    if form == "choice" and attempt.said and attempt.expected:
        return attempt.is_right == (attempt.said == attempt.expected)
    return True


def _require_annunciation(data: dict[str, Any]) -> Annunciation:
    annunciation = Annunciation.from_json(data)
    if annunciation.to_json() != data:
        raise InvalidRecordError("attempt: an annunciation holds unknown or unsorted fields")
    for name in CELLS:
        content = annunciation.cell(name)
        for text in (content,) if isinstance(content, str) else content:
            require_name(name, text)
    return annunciation
