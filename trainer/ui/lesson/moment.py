"""This moment, as it is written in records and reports. No Qt here."""

from __future__ import annotations

from datetime import UTC, datetime


def now_utc() -> str:
    """Return the moment as ISO 8601 in UTC."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
