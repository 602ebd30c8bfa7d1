"""Which ends of one ship can happen under the same signals as which ends of the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trainer.charts.cubes import Cube, meet
from trainer.charts.table import Leaf

Meeting = tuple[Cube, Leaf, Leaf]
_FEW = 100
"""Below so many pairs, building arrays takes longer than looking at each pair."""
_WIDEST_CUBE_BITS = 62
"""Signals that fit into a signed 64-bit integer with room to spare."""


def meetings(mine: Sequence[Leaf], theirs: Sequence[Leaf]) -> list[Meeting]:
    """Return every pair of ends that have a valuation in common, with their common cube.

    Args:
        mine: Ends of the first ship; their cubes exclude each other.
        theirs: Ends of the second, over the same signals; likewise.
    """
    if _are_alike(mine, theirs):
        # Ends of one ship exclude each other, so only equal ones can meet.
        return [(one.cube, one, other) for one, other in zip(mine, theirs, strict=True)]
    if len(mine) * len(theirs) < _FEW or _widest(mine, theirs) > _WIDEST_CUBE_BITS:
        return [
            (cube, one, other)
            for one in mine
            for other in theirs
            if (cube := meet(one.cube, other.cube)) is not None
        ]
    left = np.array([leaf.cube for leaf in mine], dtype=np.int64)
    right = np.array([leaf.cube for leaf in theirs], dtype=np.int64)
    apart = (left[:, None, 0] & right[None, :, 1]) | (left[:, None, 1] & right[None, :, 0])
    found: list[Meeting] = []
    for i, j in np.argwhere(apart == 0).tolist():
        one, other = mine[i], theirs[j]
        cube = (one.cube[0] | other.cube[0], one.cube[1] | other.cube[1])
        found.append((cube, one, other))
    return found


def _widest(mine: Sequence[Leaf], theirs: Sequence[Leaf]) -> int:
    return max(max(leaf.cube).bit_length() for leaf in (*mine, *theirs))


def _are_alike(mine: Sequence[Leaf], theirs: Sequence[Leaf]) -> bool:
    return len(mine) == len(theirs) and all(
        one.cube == other.cube and one.configuration == other.configuration
        for one, other in zip(mine, theirs, strict=True)
    )
