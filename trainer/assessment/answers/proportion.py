"""Shares of small numbers, with the interval that says how little they may mean."""

from __future__ import annotations

import math

Z_95 = 1.959963984540054
"""Two-sided 95 % point of the normal distribution."""


def wilson_interval(right: int, count: int) -> tuple[float, float]:
    """Return the 95 % Wilson score interval of a share.

    Args:
        right: How many were right.
        count: How many there were.

    Returns:
        Lower and upper end, from 0 to 1; (0, 1) if there were none.

    Source:
        [WILSON] Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212, the score interval without
        continuity correction; checked against scipy by tests/unit/assessment/test_proportion.py.

    Example:
        >>> tuple(round(end, 3) for end in wilson_interval(8, 10))
        (0.49, 0.943)
    """
    if count == 0:
        return 0.0, 1.0
    share, z2 = right / count, Z_95 * Z_95
    middle = share + z2 / (2 * count)
    spread = Z_95 * math.sqrt(share * (1 - share) / count + z2 / (4 * count * count))
    scale = 1 + z2 / count
    return max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale)
