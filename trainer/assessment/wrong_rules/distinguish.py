"""Can a wrong rule be told from the truth by any strip? Decided over all that is reachable.

The product of the true chart with the patched one: in every reachable configuration, for every
event and for the signals alone, all valuations at once, do both lead to the same annunciation?
"""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from trainer.assessment.wrong_rules.library import Library
from trainer.charts.cubes import Cube
from trainer.charts.explore import Exploration, explore
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Kernel, UnsettledError
from trainer.charts.spec import ChartSpec
from trainer.charts.symbolic import Array, Meetings, Rests, Symbolic, Ways, met_by
from trainer.session.annunciation import Annunciation
from trainer.session.logic import annunciate


@dataclass(frozen=True, slots=True)
class Difference:
    """A situation in which the two charts show different strips afterwards."""

    configuration: Configuration
    event: str
    cube: Cube
    true: Annunciation
    believed: Annunciation


UNSEEN = "no strip of this aircraft ever tells it from the truth"
_AT_ONCE = 250
"""Configurations that are looked at together."""


def unseen(library: Library, names: Collection[str]) -> tuple[str, ...]:
    """Return those of some misconceptions that no strip ever tells from the truth.

    Args:
        library: The misconceptions of the installation; explored once, if there are any names.
        names: The ids to look at.
    """
    if not names:
        return ()
    product = Product(explore(library.truth), library.truth)
    alike: list[str] = []
    for name in names:
        # Where it never comes to rest it is told from the truth, if by no strip.
        with suppress(UnsettledError):
            if product.first_difference(library.beliefs[name].chart) is None:
                alike.append(name)
    return tuple(alike)


class Product:
    """Compares patched charts with the chart of one installation.

    Args:
        explored: The explored installation.
        truth: Its kernel.
    """

    def __init__(self, explored: Exploration, truth: Kernel) -> None:
        self._settled = explored.settled
        self._truth = truth
        self._symbolic = Symbolic(truth)
        self._shown: dict[Configuration, int] = {}
        self._strips: dict[Annunciation, int] = {}

    def first_difference(self, patched: ChartSpec) -> Difference | None:
        """Return the nearest situation that tells the charts apart, or None if there is none.

        Raises:
            UnsettledError: Under the patched chart the logic never comes to rest.
        """
        kernel = Kernel(patched)
        believed, events = Symbolic(kernel), self._events_to_try(kernel)
        configurations = list(self._settled)
        for first in range(0, len(configurations), _AT_ONCE):
            batch = configurations[first : first + _AT_ONCE]
            difference = self._first_of(batch, believed, events)
            if difference is not None:
                return difference
        return None

    def _events_to_try(self, believed: Kernel) -> list[str]:
        """Events whose answers can differ: all of them if an automatic rule differs."""
        differing = {row[0] for row in self._truth.differing_rows(believed)}
        events = self._truth.chart.events
        return [name for name in events if AUTOMATIC in differing or name in differing]

    def _first_of(
        self, batch: list[Configuration], believed: Symbolic, events: list[str]
    ) -> Difference | None:
        places = np.array([believed.place(configuration) for configuration in batch])
        starts = self._symbolic.start(batch)
        settled = met_by(places, self._symbolic.settle(starts), believed.settle)
        is_quiet = (settled.mine.fired == 0) & (settled.theirs.fired == 0)
        rests = Rests(settled.take(is_quiet).theirs, len(batch))
        # Where the belief is nowhere at rest, what is shown overrules it at once.
        common = rests.common()
        common.place = starts.place[common.origin]
        lasting = settled.take(np.isin(settled.mine.origin, common.origin))
        nearest = self._nearest(AUTOMATIC, lasting, believed, batch)
        for event in events:
            ways = self._symbolic.send(event, common, wanted=rests.met)

            def met(other: Ways, ways: Ways = ways) -> Array:
                return rests.met(replace(other, origin=ways.origin[other.origin]))

            both = met_by(places, ways, partial(believed.send, event, wanted=met))
            other = self._nearest(event, both, believed, batch)
            if other is not None and (nearest is None or other[0] < nearest[0]):
                nearest = other
        return None if nearest is None else nearest[1]

    def _nearest(
        self, event: str, meetings: Meetings, believed: Symbolic, batch: list[Configuration]
    ) -> tuple[int, Difference] | None:
        """Return the first configuration of a batch that an event tells apart, and how."""
        mine, theirs = meetings.mine, meetings.theirs
        apart = np.flatnonzero(
            self._read(self._symbolic, mine.place) != self._read(believed, theirs.place)
        )
        if not len(apart):
            return None
        row = int(apart[np.argmin(mine.origin[apart])])
        origin, strips = int(mine.origin[row]), list(self._strips)
        true = strips[int(self._read(self._symbolic, mine.place[[row]])[0])]
        wrong = strips[int(self._read(believed, theirs.place[[row]])[0])]
        return origin, Difference(batch[origin], event, theirs.cube(row), true, wrong)

    def _read(self, symbolic: Symbolic, places: Array) -> Array:
        """Return the number of the strip that each place shows."""
        unique, inverse = np.unique(places, return_inverse=True)
        numbers = [self._strip(symbolic.configuration(place)) for place in unique.tolist()]
        return np.array(numbers, dtype=np.int64)[inverse]

    def _strip(self, configuration: Configuration) -> int:
        known = self._shown.get(configuration)
        if known is None:
            strip = annunciate(self._truth.chart, configuration)
            known = self._shown[configuration] = self._strips.setdefault(strip, len(self._strips))
        return known
