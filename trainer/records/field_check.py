"""Checks of single fields that come from a file someone else wrote."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

from trainer.records.error import InvalidRecordError

MAX_TEXT = 2000
"""Longest text accepted in a field [characters]."""
MAX_NAME = 200
"""Longest name or identity accepted [characters]."""


# One form only, so that moments are in order wherever their texts are.
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|\+00:00)", re.ASCII)


def object_of(title: str, data: object, names: tuple[str, ...]) -> dict[str, Any]:
    """Return `data` as an object with exactly the fields `names`."""
    if not isinstance(data, dict):
        raise InvalidRecordError(f"{title} must be an object; found {type(data).__name__}")
    if set(data) != set(names):
        odd = ", ".join(sorted(str(name) for name in set(data) ^ set(names)))
        raise InvalidRecordError(f"{title}: fields missing or unknown: {odd[:200]}")
    return data


def require_text(name: str, value: object, longest: int = MAX_TEXT) -> str:
    """Return a text that is not blank.

    Raises:
        InvalidRecordError: If it is none, blank, or longer than `longest` [characters].

    Example:
        >>> require_text("note", "Armed is not active.")
        'Armed is not active.'
    """
    if not isinstance(value, str):
        raise InvalidRecordError(f"{name} must be a text; found {type(value).__name__}")
    if not value.strip():
        raise InvalidRecordError(f"the {name} is empty: write 1 to {longest} characters")
    if len(value) > longest:
        raise InvalidRecordError(
            f"the {name} is too long: it has {len(value)} characters; at most {longest} are kept"
        )
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise InvalidRecordError(f"{name} holds characters that are not text") from error
    return value


def require_name(name: str, value: object) -> str:
    """Return a name or identity: one printable line."""
    text = require_text(name, value, MAX_NAME)
    if not text.isprintable():
        raise InvalidRecordError(f"{name} must be one line of printable characters")
    return text


def require_names(name: str, value: object, most: int = 1000) -> tuple[str, ...]:
    """Return a list of names."""
    if not isinstance(value, list) or len(value) > most:
        raise InvalidRecordError(f"{name} must be a list of at most {most} names")
    return tuple(require_name(name, item) for item in value)


def require_whole(name: str, value: object, least: int, most: int) -> int:
    """Return a whole number between two bounds, both included."""
    if type(value) is not int or not least <= value <= most:
        raise InvalidRecordError(f"{name} must be a whole number from {least} to {most}")
    return value


def require_moment(name: str, value: object) -> str:
    """Return a moment in ISO 8601, UTC."""
    text = require_name(name, value)
    moment_of(text, name)
    return text


def moment_of(text: str, name: str = "moment") -> datetime:
    """Return the moment that an ISO 8601 text names.

    Raises:
        InvalidRecordError: If it is none, or not in UTC.
    """
    if not _MOMENT.fullmatch(text):
        raise InvalidRecordError(
            f"{name} must be a moment in UTC such as 2026-03-01T18:05:09Z; found {text[:40]!r}"
        )
    try:
        return datetime.fromisoformat(text).astimezone(UTC)
    except ValueError as error:
        raise InvalidRecordError(f"{name}: there is no such moment: {text[:40]!r}") from error
