"""Why two installations differ at one point: which settings would have to be as in the other.

Decided by trying: a setting (an option or a limit) of the second ship is set as in the first, and
the same moment is run again. If the difference is gone, that setting is its cause. Where no
single setting does it, the smallest set found that does is the cause.
"""

from __future__ import annotations

from dataclasses import replace

from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.joint import Joint, over_joint_signals, split_signals
from trainer.charts.machine import AUTOMATIC, ModeMachine
from trainer.charts.shown import Shown, shown
from trainer.charts.specialise import specialise

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


class Attribution:
    """Finds the causes of differences between two installations.

    Attributes:
        settings: Every setting that differs.
    """

    def __init__(self, first: Installation, second: Installation, joint: Joint) -> None:
        self._first, self._second, self._joint = first, second, joint
        self.settings = differing_settings(first, second)
        self._machines: dict[tuple[str, ...], ModeMachine] = {}
        self._names = tuple(second.chart.regions)

    def causes(
        self, event: str, configuration: Configuration, bits: int, wanted: Read
    ) -> tuple[str, ...]:
        """Return the settings behind a difference, sorted.

        Args:
            event: The event, or `automatic`.
            configuration: The second ship's, before it.
            bits: One valuation of the joint signals.
            wanted: What the first ship reads afterwards.
        """

        def vanishes(settings: tuple[str, ...]) -> bool:
            read = self._read(settings, event, configuration, bits)
            return read is not None and read[1] == wanted[1] and wanted[0] in (None, read[0])

        alone = [setting for setting in self.settings if vanishes((setting,))]
        if alone:
            return tuple(sorted(alone))
        needed = list(self.settings)
        for setting in self.settings:
            fewer = tuple(one for one in needed if one != setting)
            if vanishes(fewer):
                needed = list(fewer)
        return tuple(sorted(needed))

    def _read(
        self, settings: tuple[str, ...], event: str, configuration: Configuration, bits: int
    ) -> Read | None:
        """Return what the second ship would read with these settings, None if it has no such."""
        machine = self._machine(settings)
        here = self._carried(machine, configuration)
        if here is None or event not in (AUTOMATIC, *machine.chart.events):
            return None
        if event == AUTOMATIC:
            outcome = machine.settle(here, bits)
        else:
            is_selector = bool(machine.chart.events[event].changes)
            outcome = machine.send(here, bits, event, settle_first=not is_selector)
        after = shown(machine.chart, self._second.generic, outcome.configuration)
        return after, outcome.refusal.id if outcome.refusal is not None else ""

    def _carried(self, machine: ModeMachine, configuration: Configuration) -> Configuration | None:
        states = dict(zip(self._names, configuration, strict=True))
        here = []
        for region in machine.chart.regions.values():
            state = states.get(region.id, region.initial)
            if state not in region.states:
                return None
            here.append(state)
        return tuple(here)

    def _machine(self, settings: tuple[str, ...]) -> ModeMachine:
        if settings not in self._machines:
            other = with_settings(self._second, self._first, settings)
            split = split_signals(self._first, other)
            chart = over_joint_signals(other.chart, split, self._joint)
            self._machines[settings] = ModeMachine(chart)
        return self._machines[settings]
