"""Why two installations differ at one point: which settings would have to be as in the other.

Decided by trying: a setting (an option or a limit) of the second ship is set as in the first, and
the same moment is run again. If the difference is gone, that setting is its cause. Where no
single setting does it, the smallest set found that does is the cause.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.joint import Joint, over_joint_signals, split_signals
from trainer.charts.kernel import AUTOMATIC, Kernel
from trainer.charts.shown import Shown, shown
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.charts.symbolic import Symbolic, Ways

Read = tuple[Shown | None, str]
"""What the strip shows afterwards, and the id of the refusal or an empty text.

As what is wanted, None for the strip means any: then only the answer to the key is compared.
"""


def differing_settings(first: Installation, second: Installation) -> tuple[str, ...]:
    """Return the settings that differ, as `option:NAME` or `limit:NAME`, options first."""
    options = (
        f"option:{name}"
        for name, value in first.options.items()
        if value.choice != second.options[name].choice
    )
    limits = (
        f"limit:{name}"
        for name, value in first.limits.items()
        if value.value != second.limits[name].value
    )
    return (*options, *limits)


def changes_logic(before: Installation, after: Installation) -> bool:
    """True if an edit changes more than words and where a value comes from."""
    return bool(differing_settings(before, after)) or before.aircraft != after.aircraft


def with_settings(
    installation: Installation, other: Installation, settings: tuple[str, ...]
) -> Installation:
    """Return the installation with some settings taken from another one of the same chart.

    Args:
        installation: Where the rest comes from.
        other: Where the named settings come from.
        settings: As `option:NAME` or `limit:NAME`.
    """
    options, limits = dict(installation.options), dict(installation.limits)
    for setting in settings:
        kind, name = setting.split(":", 1)
        if kind == "option":
            options[name] = other.options[name]
        else:
            limits[name] = other.limits[name]
    chart = specialise(installation.generic, {v.id: v.choice for v in options.values()})
    return replace(installation, options=options, limits=limits, chart=chart)


class Parting(NamedTuple):
    """A moment at which two ships part."""

    event: str
    """The event, or `automatic`."""
    configuration: Configuration
    """The second ship's, before it."""
    bits: int
    """One valuation of the joint signals."""
    wanted: Read
    """What the first ship reads afterwards."""


class Attribution:
    """Finds the causes of differences between two installations.

    Attributes:
        settings: Every setting that differs.
    """

    def __init__(self, first: Installation, second: Installation, joint: Joint) -> None:
        self._first, self._second, self._joint = first, second, joint
        self.settings = differing_settings(first, second)
        self._ships: dict[tuple[str, ...], _Ship] = {}

    def causes(self, partings: Sequence[Parting]) -> list[tuple[str, ...]]:
        """Return for each parting the settings behind it, sorted.

        Each is looked into by itself: two that part by the same rules may have other causes.
        """
        alone: list[list[str]] = [[] for _ in partings]
        columns = _Columns(partings)
        for setting in self.settings:
            for number in self._ship((setting,)).vanishing(columns):
                alone[number].append(setting)
        return [
            tuple(sorted(settings or self._together(parting)))
            for settings, parting in zip(alone, partings, strict=True)
        ]

    def _together(self, parting: Parting) -> list[str]:
        """Return the smallest set found that is the cause where no setting alone is."""
        needed = list(self.settings)
        for setting in self.settings:
            fewer = [other for other in needed if other != setting]
            if self._ship(tuple(fewer)).vanishes(parting):
                needed = fewer
        return needed

    def _ship(self, settings: tuple[str, ...]) -> _Ship:
        if settings not in self._ships:
            other = with_settings(self._second, self._first, settings)
            split = split_signals(self._first, other)
            chart = over_joint_signals(other.chart, split, self._joint)
            self._ships[settings] = _Ship(chart, self._second)
        return self._ships[settings]


class _Columns:
    """Partings by their event, as columns, and each configuration once."""

    def __init__(self, partings: Sequence[Parting]) -> None:
        self.partings = partings
        numbers: dict[Configuration, int] = {}
        rows: dict[str, list[tuple[int, int, int]]] = {}
        for number, (event, configuration, bits, _) in enumerate(partings):
            place = numbers.setdefault(configuration, len(numbers))
            rows.setdefault(event, []).append((number, place, bits))
        self.configurations = tuple(numbers)
        self.by_event = {
            event: tuple(np.array(column) for column in zip(*found, strict=True))
            for event, found in rows.items()
        }
        """Event -> number of each parting, of its configuration, and its signal bits."""


class _Ship:
    """The second ship with some settings of the first, over the joint signals."""

    def __init__(self, chart: ChartSpec, second: Installation) -> None:
        self._kernel = Kernel(chart)
        self._symbolic = Symbolic(self._kernel)
        self._generic = second.generic
        self._regions = tuple(second.chart.regions)
        self._shown: dict[Configuration, Shown] = {}
        self._events = frozenset((AUTOMATIC, *chart.events))

    def vanishing(self, columns: _Columns) -> list[int]:
        """Return the numbers of the partings that aren't any in this ship, all run at once."""
        carried = [self._carried(configuration) for configuration in columns.configurations]
        places = np.array([-1 if c is None else self._symbolic.place(c) for c in carried])
        full = (1 << len(self._kernel.signal_bit)) - 1
        gone: list[int] = []
        for event, (numbers, configurations, bits) in columns.by_event.items():
            if event not in self._events:
                continue
            there = np.flatnonzero(places[configurations] >= 0)
            began = self._symbolic.start_at(places[configurations[there]])
            began.true, began.false = bits[there], bits[there] ^ full
            ends = self._ends(event, began)
            rows = (ends.origin.tolist(), ends.place.tolist(), ends.refusal.tolist())
            for origin, place, refusal in zip(*rows, strict=True):
                number = int(numbers[there[origin]])
                wanted, wanted_refusal = columns.partings[number].wanted
                refused = self._symbolic.refusals[refusal].id if refusal >= 0 else ""
                if refused == wanted_refusal and (
                    wanted is None or wanted == self._read(self._symbolic.configuration(place))
                ):
                    gone.append(number)
        return gone

    def _ends(self, event: str, ways: Ways) -> Ways:
        if event == AUTOMATIC:
            return self._symbolic.settle(ways)
        if self._kernel.chart.events[event].changes:
            return self._symbolic.send(event, ways, at_rest=False)
        return self._symbolic.send(event, self._symbolic.settle(ways))

    def vanishes(self, parting: Parting) -> bool:
        """Return whether one parting isn't any in this ship."""
        event, configuration, bits, (wanted, wanted_refusal) = parting
        here = self._carried(configuration)
        if here is None or event not in self._events:
            return False
        if event == AUTOMATIC:
            outcome = self._kernel.settle(here, bits)
        else:
            is_selector = bool(self._kernel.chart.events[event].changes)
            outcome = self._kernel.send(here, bits, event, settle_first=not is_selector)
        refused = outcome.refusal.id if outcome.refusal is not None else ""
        after = self._read(outcome.configuration)
        return refused == wanted_refusal and wanted in (None, after)

    def _read(self, configuration: Configuration) -> Shown:
        known = self._shown.get(configuration)
        if known is None:
            known = shown(self._kernel.chart, self._generic, configuration)
            self._shown[configuration] = known
        return known

    def _carried(self, configuration: Configuration) -> Configuration | None:
        """Return the second ship's configuration in this one, None if it has no such state."""
        states = dict(zip(self._regions, configuration, strict=True))
        here = []
        for region in self._kernel.chart.regions.values():
            state = states.get(region.id, region.initial)
            if state not in region.states:
                return None
            here.append(state)
        return tuple(here)
