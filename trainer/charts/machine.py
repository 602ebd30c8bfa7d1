"""The logic as a live session runs it: the kernel decides, `transitions` fires.

One flat `transitions` machine for each region, made once and never changed by firing: each rule is
fired on a small model of its own, and the guards read the configuration and the signals from the
event's arguments. So one machine serves any number of sessions and threads. What the library fired
must be what the kernel decided; if ever it isn't, that is a mistake of the program and is raised.

The only module that imports `transitions`; see DEVELOPERS.md for the library's traps.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any as AnyType

from transitions import EventData, Machine

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, Firing, Kernel, Microstep, Outcome, Tests, holds
from trainer.charts.spec import ChartSpec, RuleSpec
from trainer.errors import TrainerError

# An ignored trigger is normal here (most regions ignore most events); the library logs each one.
logging.getLogger("transitions").setLevel(logging.ERROR)


class ModeMachine:
    """The executable form of a specialised chart; it keeps nothing between calls.

    Args:
        chart: The chart.
        believed: A kernel that decides in place of the chart's own, for what somebody takes the
            chart for. That is computed and never lived, so the library has nothing to fire.

    Attributes:
        kernel: The chart in numbers, for bulk work.
        machines: The library's machine of each region.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> machine = ModeMachine(lamp())
        >>> powered = machine.bits(["powered"])
        >>> lit = machine.send(machine.initial, powered, "press")
        >>> lit.configuration, [firing.rule.id for firing in lit.firings]
        (('lit',), ['lights'])
        >>> machine.send(machine.initial, 0, "press").refusal.reason
        'No power'
        >>> machine.settle(lit.configuration, 0).configuration  # the power goes
        ('none',)
    """

    def __init__(self, chart: ChartSpec, believed: Kernel | None = None) -> None:
        self.chart = chart
        self.kernel = believed or Kernel(chart)
        self.region_ids: tuple[str, ...] = tuple(chart.regions)
        self.region_index = self.kernel.region_index
        self.signal_bit = self.kernel.signal_bit
        self.initial = self.kernel.initial
        self.bits = self.kernel.bits
        self.machines: tuple[AnyType, ...] = () if believed else _machines(self.kernel)

    def signal_names(self, bits: int) -> tuple[str, ...]:
        """Return the names of the true signals, in chart order."""
        return tuple(name for name, bit in self.signal_bit.items() if bits >> bit & 1)

    def configuration(self, states: Mapping[str, str]) -> Configuration:
        """Return a configuration from region -> state; other regions are initial.

        Raises:
            TrainerError: A region or state that the chart doesn't have.
        """
        chosen = list(self.initial)
        for region_id, state in states.items():
            region = self.chart.regions.get(region_id)
            if region is None:
                known = ", ".join(self.chart.regions)
                raise TrainerError(f"no region '{region_id}'; accepted: {known}")
            if state not in region.states:
                known = ", ".join(region.states)
                raise TrainerError(f"no state '{state}' in region '{region_id}'; accepted: {known}")
            chosen[self.region_index[region_id]] = state
        return tuple(chosen)

    def settle(self, configuration: Configuration, bits: int) -> Outcome:
        """Fire automatic rules until none is enabled.

        Raises:
            UnsettledError: The rules don't come to rest.
        """
        return self._fired(self.kernel.settle(configuration, bits), bits)

    def send(
        self, configuration: Configuration, bits: int, event: str, *, settle_first: bool = True
    ) -> Outcome:
        """Settle, take one event unless it is refused, and settle again; see `Kernel.send`."""
        decided = self.kernel.send(configuration, bits, event, settle_first=settle_first)
        return self._fired(decided, bits)

    def _fired(self, decided: Outcome, bits: int) -> Outcome:
        """Fire what the kernel decided and return it.

        Raises:
            RuntimeError: The library fires something else.
        """
        if not self.machines:
            return decided
        for step in decided.steps:
            for firing in step.firings:
                index = self.region_index[firing.rule.region]
                if self.fire(index, firing.left, step, bits) != firing:
                    raise RuntimeError(f"'{firing.rule.id}' was decided and not fired")
        return decided

    def fire(self, index: int, state: str, step: Microstep, bits: int) -> Firing | None:
        """Let the library fire a region's rule in a microstep; None if it fires none.

        Args:
            index: The region's number.
            state: Its state.
            step: The event, and the code of the configuration before it.
            bits: The signals.
        """
        event = self.machines[index].events.get(step.event)
        model: AnyType = _Model(state)
        if event is None or not event.trigger(model, code=step.code, bits=bits):
            return None
        return Firing(model.rule, state, model.state) if model.rule is not None else None


class _Model:
    """One region in one microstep: its state, and afterwards the rule that fired."""

    def __init__(self, state: str) -> None:
        self.state = state
        self.rule: RuleSpec | None = None


class _Rule:
    """What `transitions` calls for one rule: its guard before, a note of the firing after."""

    def __init__(self, rule: RuleSpec, tests: Tests) -> None:
        self._rule, self._tests = rule, tests

    def holds(self, event: EventData) -> bool:
        return holds(self._tests, event.kwargs["code"], event.kwargs["bits"])

    def note(self, event: EventData) -> None:
        model: AnyType = event.model
        model.rule = self._rule


def _machines(kernel: Kernel) -> tuple[AnyType, ...]:
    machines = tuple(
        Machine(
            model=None,
            states=list(region.states),
            initial=region.initial,
            auto_transitions=False,
            send_event=True,
            ignore_invalid_triggers=True,
        )
        for region in kernel.chart.regions.values()
    )
    for rule in ordered_rules(kernel.chart.rules):
        call = _Rule(rule, kernel.guards[rule.id])
        for event in rule.events or (AUTOMATIC,):
            machines[kernel.region_index[rule.region]].add_transition(
                event,
                list(rule.sources),
                rule.target,
                conditions=[call.holds],
                after=[call.note],
            )
    return machines
