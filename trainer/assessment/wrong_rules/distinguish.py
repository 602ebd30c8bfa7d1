"""Can a wrong rule be told from the truth by any strip? Decided over all that is reachable.

The product of the true chart with the patched one: in every reachable configuration, for every
event and for the signals alone, all valuations at once, do both lead to the same annunciation?
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import dataclass

from trainer.assessment.wrong_rules.library import Library
from trainer.charts.cubes import FREE, Cube, meet
from trainer.charts.explore import Exploration, explore
from trainer.charts.guard import Configuration
from trainer.charts.machine import AUTOMATIC, ModeMachine, UnsettledError
from trainer.charts.spec import ChartSpec
from trainer.charts.table import Leaf, Table
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


def unseen(library: Library, names: Collection[str]) -> tuple[str, ...]:
    """Return those of some misconceptions that no strip ever tells from the truth.

    Args:
        library: The misconceptions of the installation; explored once, if there are any names.
        names: The ids to look at.
    """
    if not names:
        return ()
    machine = library.logic.machine
    product = Product(explore(machine), machine)
    beliefs = library.beliefs
    found: list[str] = []
    for name in names:
        # Where it never comes to rest it is told from the truth, if by no strip.
        with suppress(UnsettledError):
            if product.first_difference(beliefs[name].chart) is None:
                found.append(name)
    return tuple(found)


class Product:
    """Compares patched charts with the chart of one installation.

    Args:
        found: The explored installation.
        machine: Its machine.
    """

    def __init__(self, found: Exploration, machine: ModeMachine) -> None:
        self._found = found
        self._machine = machine
        self._table = Table(machine)
        self._shown: dict[Configuration, Annunciation] = {}

    def first_difference(self, patched: ChartSpec) -> Difference | None:
        """Return the nearest situation that tells the charts apart, or None if there is none.

        Raises:
            UnsettledError: Under the patched chart the logic never comes to rest.
        """
        table = Table(ModeMachine(patched))
        events = self._events_to_try(table)
        for configuration, rest in self._found.settled.items():
            leaves = list(table.settle(configuration, FREE))
            both = [
                common
                for leaf in leaves
                if not leaf.fired
                for cube in rest
                if (common := meet(leaf.cube, cube)) is not None
            ]
            if not both:
                continue
            found = self._compare(configuration, AUTOMATIC, leaves, None)
            for event in events if found is None else ():
                believed = list(table.send(configuration, FREE, event))
                found = self._compare(configuration, event, believed, both)
                if found is not None:
                    break
            if found is not None:
                return found
        return None

    def _events_to_try(self, table: Table) -> list[str]:
        """Events whose answers can differ: all of them if an automatic rule differs."""
        names = self._machine.chart.events
        true, believed = self._table.rows, table.rows
        rows = true.keys() | believed.keys()
        differing = {row[0] for row in rows if true.get(row) != believed.get(row)}
        if AUTOMATIC in differing:
            return list(names)
        refusals = [c.refusals.values() for c in (self._machine.chart, table.machine.chart)]
        for event in names:
            own, other = ([r.guard for r in rs if event in r.events] for rs in refusals)
            if own != other:
                differing.add(event)
        return [name for name in names if name in differing]

    def _compare(
        self,
        configuration: Configuration,
        event: str,
        believed: list[Leaf],
        rest: list[Cube] | None,
    ) -> Difference | None:
        send: Callable[[], list[Leaf]] = (
            (lambda: list(self._table.settle(configuration, FREE)))
            if event == AUTOMATIC
            else (lambda: list(self._table.send(configuration, FREE, event)))
        )
        for one in send():
            for other in believed:
                true, wrong = self._show(one.configuration), self._show(other.configuration)
                if true == wrong:
                    continue
                common = meet(one.cube, other.cube)
                if common is None:
                    continue
                if rest is None or any(meet(common, cube) is not None for cube in rest):
                    return Difference(configuration, event, common, true, wrong)
        return None

    def _show(self, configuration: Configuration) -> Annunciation:
        known = self._shown.get(configuration)
        if known is None:
            known = self._shown[configuration] = annunciate(self._machine, configuration)
        return known
