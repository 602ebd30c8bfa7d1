"""A spread-out part of a long list for the normal run; the long tests go through the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pytest


def spread(
    values: Sequence[Any], every: int, words: Callable[[Any], str] | None = None
) -> list[Any]:
    """Return parameters, all but each so-many-th marked as long.

    Args:
        values: What a test goes through.
        every: The normal run takes one in so many, the first among them.
        words: Id of a parameter; None: as pytest makes it.
    """
    return [
        pytest.param(
            value,
            marks=[pytest.mark.long] if number % every else [],
            id=None if words is None else words(value),
        )
        for number, value in enumerate(values)
    ]
