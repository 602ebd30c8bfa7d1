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
        for setting in self.settings:
            ends = self._ship((setting,)).led(partings)
            for parting, read, settings in zip(partings, ends, alone, strict=True):
                if _vanishes(read, parting):
                    settings.append(setting)
        return [
            tuple(sorted(settings or self._together(parting)))
            for settings, parting in zip(alone, partings, strict=True)
        ]

    def _together(self, parting: Parting) -> list[str]:
        """Return the smallest set found that is the cause where no setting alone is."""
        needed = list(self.settings)
        for setting in self.settings:
            fewer = [other for other in needed if other != setting]
            if _vanishes(self._ship(tuple(fewer)).read(parting), parting):
                needed = fewer
        return needed

    def _ship(self, settings: tuple[str, ...]) -> _Ship:
        if settings not in self._ships:
            other = with_settings(self._second, self._first, settings)
            split = split_signals(self._first, other)
            chart = over_joint_signals(other.chart, split, self._joint)
            self._ships[settings] = _Ship(chart, self._second)
        return self._ships[settings]


class _Ship:
    """The second ship with some settings of the first, over the joint signals."""

    def __init__(self, chart: ChartSpec, second: Installation) -> None:
        self._kernel = Kernel(chart)
        self._symbolic = Symbolic(self._kernel)
        self._generic = second.generic
        self._regions = tuple(second.chart.regions)
        self._shown: dict[Configuration, Shown] = {}
        self._known: dict[Configuration, tuple[Configuration, int] | None] = {}
        self._events = frozenset((AUTOMATIC, *chart.events))

    def led(self, partings: Sequence[Parting]) -> list[Read | None]:
        """Return what each parting leads to, all at once; None if this ship has no such."""
        reads: list[Read | None] = [None] * len(partings)
        by_event: dict[str, list[tuple[int, int]]] = {}
        for number, parting in enumerate(partings):
            here = self._carried(parting)
            if here is not None:
                by_event.setdefault(parting.event, []).append((number, here[1]))
        full = (1 << len(self._kernel.signal_bit)) - 1
        for event, begun in by_event.items():
            places = np.array([place for _, place in begun])
            bits = (partings[number].bits for number, _ in begun)
            cubes = [(true, full & ~true) for true in bits]
            ends = self._ends(event, self._symbolic.start_at(places, cubes))
            rows = (ends.origin.tolist(), ends.place.tolist(), ends.refusal.tolist())
            for origin, place, refusal in zip(*rows, strict=True):
                refused = self._symbolic.refusals[refusal].id if refusal >= 0 else ""
                after = self._read(self._symbolic.configuration(place))
                reads[begun[origin][0]] = (after, refused)
        return reads

    def _ends(self, event: str, ways: Ways) -> Ways:
        if event == AUTOMATIC:
            return self._symbolic.settle(ways)
        if self._kernel.chart.events[event].changes:
            return self._symbolic.send(event, ways, at_rest=False)
        return self._symbolic.send(event, self._symbolic.settle(ways))

    def read(self, parting: Parting) -> Read | None:
        """Return what one parting leads to; None if this ship has no such."""
        carried, event = self._carried(parting), parting.event
        if carried is None:
            return None
        here, _ = carried
        if event == AUTOMATIC:
            outcome = self._kernel.settle(here, parting.bits)
        else:
            is_selector = bool(self._kernel.chart.events[event].changes)
            outcome = self._kernel.send(here, parting.bits, event, settle_first=not is_selector)
        refused = outcome.refusal.id if outcome.refusal is not None else ""
        return self._read(outcome.configuration), refused

    def _read(self, configuration: Configuration) -> Shown:
        known = self._shown.get(configuration)
        if known is None:
            known = shown(self._kernel.chart, self._generic, configuration)
            self._shown[configuration] = known
        return known

    def _carried(self, parting: Parting) -> tuple[Configuration, int] | None:
        """Return where a parting begins in this ship, None if it has no such state or event."""
        if parting.event not in self._events:
            return None
        if parting.configuration not in self._known:
            here = self._translated(parting.configuration)
            known = None if here is None else (here, self._symbolic.place(here))
            self._known[parting.configuration] = known
        return self._known[parting.configuration]

    def _translated(self, configuration: Configuration) -> Configuration | None:
        states = dict(zip(self._regions, configuration, strict=True))
        here = []
        for region in self._kernel.chart.regions.values():
            state = states.get(region.id, region.initial)
            if state not in region.states:
                return None
            here.append(state)
        return tuple(here)


def _vanishes(read: Read | None, parting: Parting) -> bool:
    wanted = parting.wanted
    return read is not None and read[1] == wanted[1] and wanted[0] in (None, read[0])
