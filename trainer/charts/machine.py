"""Runs a chart: one flat `transitions` machine for each region and a small coordinator.

`send(event)` settles, takes the event in one microstep, and settles again. In a microstep every
guard reads the configuration as it was before it, so region order decides nothing. Settling
fires automatic rules until none is enabled. The machine itself holds no state between calls:
a configuration and the signals go in, an outcome comes out, so forking a session costs nothing.

The only module that imports `transitions`; see DEVELOPERS.md for the library's traps.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any as AnyType

from transitions import Machine

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import CompiledGuard, Configuration, compile_guard
from trainer.charts.spec import ChartSpec, RefusalSpec, RuleSpec
from trainer.errors import TrainerError

AUTOMATIC = "automatic"
MAXIMUM_ROUNDS = 100

# An ignored trigger is normal here (most regions ignore most events); the library logs each one.
logging.getLogger("transitions").setLevel(logging.ERROR)


class UnsettledError(TrainerError):
    """Automatic rules that never come to rest.

    Attributes:
        loop: Ids of the rules that went on firing, in order.
    """

    def __init__(self, loop: tuple[str, ...]) -> None:
        self.loop = loop
        super().__init__(
            f"the logic didn't settle in {MAXIMUM_ROUNDS} rounds; rules that go on firing: "
            + ", ".join(loop)
        )


class UnknownEventError(TrainerError):
    """An event that the chart doesn't have, or that isn't fitted in this aircraft."""

    def __init__(self, event: str, accepted: Iterable[str]) -> None:
        self.event = event
        super().__init__(f"no event '{event}'; accepted: {', '.join(sorted(accepted))}")


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired, from where to where."""

    rule: RuleSpec
    left: str
    entered: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a settle or an event did.

    `microsteps` holds the rules of each microstep in firing order; `refusal` is set when the
    event was refused (then only rules of the settling before it have fired).

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> machine = ModeMachine(lamp())
        >>> outcome = machine.send(machine.initial, machine.bits(["powered"]), "press")
        >>> outcome.firings[0].rule.because
        'The key lights the lamp.'
    """

    configuration: Configuration
    microsteps: tuple[tuple[Firing, ...], ...]
    refusal: RefusalSpec | None = None

    @property
    def firings(self) -> tuple[Firing, ...]:
        """All rules that fired, in order."""
        return tuple(firing for step in self.microsteps for firing in step)


class _Region:
    """Model of one region for `transitions`: holds the state and notes which rule fired."""

    def __init__(self) -> None:
        self.state = ""
        self.fired: RuleSpec | None = None


class RuleCall:
    """What `transitions` calls for one rule: its guard before, a note of the firing after.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> machine = ModeMachine(lamp())
        >>> call = RuleCall(machine, 0, machine.chart.rules["fails"])
        >>> call.holds()  # in the snapshot: dark, and no power
        True
    """

    def __init__(self, machine: ModeMachine, index: int, rule: RuleSpec) -> None:
        self.rule = rule
        self._machine = machine
        self._model = machine.models[index]

    @cached_property
    def guard(self) -> CompiledGuard:
        """The rule's guard; compiled when it is first asked for, since many never are."""
        return self._machine.compile(self.rule.guard)

    def holds(self) -> bool:
        """True if the guard holds in the snapshot of the present microstep."""
        return self.guard(self._machine.snapshot, self._machine.snapshot_bits)

    def note(self) -> None:
        """Remember that this rule fired."""
        self._model.fired = self.rule


class ModeMachine:
    """The executable form of a specialised chart. Reentrant use is not supported.

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

    def __init__(self, chart: ChartSpec) -> None:
        self.chart = chart
        self.region_ids: tuple[str, ...] = tuple(chart.regions)
        self.region_index: dict[str, int] = {r: i for i, r in enumerate(self.region_ids)}
        self.signal_bit: dict[str, int] = {s: i for i, s in enumerate(chart.signals)}
        self.initial: Configuration = tuple(r.initial for r in chart.regions.values())
        self.snapshot: Configuration = self.initial
        self.snapshot_bits = 0
        self.models = [_Region() for _ in self.region_ids]
        self._calls: dict[tuple[str, int, str], list[RuleCall]] = {}
        self.machines: list[AnyType] = self._build()
        self._refusals: dict[str, list[tuple[CompiledGuard, RefusalSpec]]] = {}
        for refusal in chart.refusals.values():
            guard = self.compile(refusal.guard)
            for event in refusal.events:
                self._refusals.setdefault(event, []).append((guard, refusal))

    def compile(self, guard: AnyType) -> CompiledGuard:
        """Return the guard as a function of (configuration, signal bits)."""
        return compile_guard(guard, self.region_index, self.signal_bit)

    def bits(self, signals: Iterable[str]) -> int:
        """Return the signal bits for the names of the signals that are true."""
        value = 0
        for name in signals:
            value |= 1 << self.signal_bit[name]
        return value

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
        steps: list[tuple[Firing, ...]] = []
        configuration = self._settle(configuration, bits, steps)
        return Outcome(configuration, tuple(steps))

    def send(
        self, configuration: Configuration, bits: int, event: str, *, settle_first: bool = True
    ) -> Outcome:
        """Settle, take one event unless it is refused, and settle again.

        Args:
            configuration: The configuration to start from.
            bits: The signals.
            event: The event.
            settle_first: False for a selector: turning it changes signals and raises the event in
                one act, so nothing may act on the new signals before the event has.

        Raises:
            UnknownEventError: The chart has no such event.
            UnsettledError: The rules don't come to rest.
        """
        if event not in self.chart.events:
            raise UnknownEventError(event, self.chart.events)
        steps: list[tuple[Firing, ...]] = []
        if settle_first:
            configuration = self._settle(configuration, bits, steps)
        refusal = self.refusal(configuration, bits, event)
        if refusal is not None:
            return Outcome(configuration, tuple(steps), refusal)
        configuration, fired = self.microstep(configuration, bits, event)
        if fired:
            steps.append(fired)
        configuration = self._settle(configuration, bits, steps)
        return Outcome(configuration, tuple(steps))

    def refusal(self, configuration: Configuration, bits: int, event: str) -> RefusalSpec | None:
        """Return the first refusal, in chart order, that stands against the event."""
        for guard, refusal in self._refusals.get(event, ()):
            if guard(configuration, bits):
                return refusal
        return None

    def microstep(
        self, configuration: Configuration, bits: int, event: str
    ) -> tuple[Configuration, tuple[Firing, ...]]:
        """Fire at most one rule in each region; all guards read the given configuration."""
        self.snapshot, self.snapshot_bits = configuration, bits
        fired: list[Firing] = []
        after = list(configuration)
        for index, state in enumerate(configuration):
            calls = self._calls.get((event, index, state), ())
            # Mostly no guard holds; the library takes long to find that out.
            if not any(call.guard(configuration, bits) for call in calls):
                continue
            model = self.models[index]
            model.state, model.fired = state, None
            model.trigger(event)  # type: ignore[attr-defined]
            if model.fired is not None:
                after[index] = model.state
                fired.append(Firing(model.fired, state, model.state))
        return tuple(after), tuple(fired)

    def _settle(
        self, configuration: Configuration, bits: int, steps: list[tuple[Firing, ...]]
    ) -> Configuration:
        for _ in range(MAXIMUM_ROUNDS):
            configuration, fired = self.microstep(configuration, bits, AUTOMATIC)
            if not fired:
                return configuration
            steps.append(fired)
        loop = {firing.rule.id: None for step in steps[-20:] for firing in step}
        raise UnsettledError(tuple(loop))

    def _build(self) -> list[AnyType]:
        machines = []
        for index, region in enumerate(self.chart.regions.values()):
            machine = Machine(
                model=self.models[index], states=list(region.states), initial=region.initial,
                auto_transitions=False, send_event=False, ignore_invalid_triggers=True,
            )  # fmt: skip
            machines.append(machine)
        for rule in ordered_rules(self.chart.rules):
            index = self.region_index[rule.region]
            call = RuleCall(self, index, rule)
            for event in rule.events or (AUTOMATIC,):
                machines[index].add_transition(
                    event, list(rule.sources), rule.target,
                    conditions=[call.holds], after=[call.note],
                )  # fmt: skip
                for source in rule.sources:
                    self._calls.setdefault((event, index, source), []).append(call)
        return machines
