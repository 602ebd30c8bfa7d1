"""A lesson file that can't be used. No Qt here; nothing heavy, the first page needs it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BrokenLesson:
    """A lesson file that can't be used, and why."""

    name: str
    message: str
