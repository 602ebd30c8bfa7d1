"""How far a long piece of work has come: phases of known weight, in each of which things count."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

T = TypeVar("T")

Watch = Callable[[float], None]
"""Told what part of all work is done, from 0.0 to 1.0; what it raises ends the work."""

Each = Callable[[Sequence[T]], Iterator[T]]
"""Goes through things one after the other, and may tell of it."""


class Phases:
    """Tells a watcher what part of the work is done; it never goes back.

    Args:
        watch: Told before each thing.
        weights: What each phase weighs, in the order in which they come.

    Example:
        >>> told = []
        >>> phases = Phases(told.append, {"first": 1, "second": 3})
        >>> list(phases.each("first")("ab")), list(phases.each("second")("cd"))
        (['a', 'b'], ['c', 'd'])
        >>> told
        [0.0, 0.125, 0.25, 0.625]
    """

    def __init__(self, watch: Watch, weights: Mapping[str, float]) -> None:
        self._watch = watch
        self._shares: dict[str, tuple[float, float]] = {}
        done, total = 0.0, sum(weights.values())
        for name, weight in weights.items():
            self._shares[name] = (done / total, weight / total)
            done += weight

    def each(self, name: str) -> Callable[[Sequence[T]], Iterator[T]]:
        """Return what goes through the things of a phase, telling of each."""
        begin, share = self._shares[name]

        def go(things: Sequence[T]) -> Iterator[T]:
            for number, thing in enumerate(things):
                self._watch(begin + share * number / len(things))
                yield thing

        return go


def each_untold(things: Sequence[T]) -> Iterator[T]:
    """Go through things without telling anybody."""
    return iter(things)
