"""A step of the logic by its definition, read off the chart with no kernel in it; random sends.

Slow and plain on purpose: what the kernel, the library and the cubes do is held to this.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from tests.helpers.charts import HEALTHY, make_possible
from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, evaluate
from trainer.charts.kernel import AUTOMATIC, REFUSALS, Entry, Row, Test, UnsettledError
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec, Guard

Holds = Callable[[dict[str, str], frozenset[str]], bool]
Send = tuple[Configuration, int, str]
"""A configuration, the signals and an event (or `automatic`)."""

HAPPENING = (
    "altitude_distant", "altitude_capture_reached", "course_capture_reached",
    "captured_altitude_reached", "glidepath_reached", "below_glidepath", "underspeed_reached",
)  # fmt: skip
APPROACH = (
    "course_signal_valid", "source_is_approach", "source_has_glidepath", "glidepath_signal_valid",
)  # fmt: skip


class Definition:
    """What a chart does by the words of its rulebook.

    Args:
        chart: The specialised chart.
        changed: Rows that somebody believes to lead elsewhere, with what stands in them.
    """

    def __init__(
        self, chart: ChartSpec, changed: Mapping[Row, tuple[Entry, ...]] | None = None
    ) -> None:
        self.chart = chart
        self._signals = tuple(chart.signals)
        self._states = [(r.id, state) for r in chart.regions.values() for state in r.states]
        self._rows: dict[Row, list[tuple[Holds, str]]] = {}
        index = {name: number for number, name in enumerate(chart.regions)}
        for rule in ordered_rules(chart.rules):
            for event in rule.events or (AUTOMATIC,):
                for source in rule.sources:
                    row = self._rows.setdefault((event, index[rule.region], source), [])
                    row.append((_holding(rule.guard), rule.target))
        for refusal in chart.refusals.values():
            for event in refusal.events:
                row = self._rows.setdefault((event, REFUSALS, ""), [])
                row.append((_holding(refusal.guard), refusal.id))
        for place, entries in (changed or {}).items():
            self._rows[place] = [(self._any(entry.tests), entry.leads_to) for entry in entries]

    def _any(self, tests: tuple[Test, ...]) -> Holds:
        def holds(states: dict[str, str], true: frozenset[str]) -> bool:
            return any(self._test_holds(test, states, true) for test in tests)

        return holds

    def _test_holds(self, test: Test, states: dict[str, str], true: frozenset[str]) -> bool:
        barred = [pair for bit, pair in enumerate(self._states) if test.barred >> bit & 1]
        asked = [(bit, name) for bit, name in enumerate(self._signals) if test.mask >> bit & 1]
        return not any(states[region] == state for region, state in barred) and all(
            (name in true) == bool(test.value >> bit & 1) for bit, name in asked
        )

    def outcome(self, row: Row, configuration: Configuration, bits: int) -> str:
        """Return what the first entry of a row that holds leads to, or an empty text."""
        states = dict(zip(self.chart.regions, configuration, strict=True))
        true = frozenset(name for bit, name in enumerate(self._signals) if bits >> bit & 1)
        return next((to for holds, to in self._rows.get(row, ()) if holds(states, true)), "")

    def step(self, configuration: Configuration, bits: int, event: str) -> Configuration | None:
        """Return the configuration after a microstep, or None if no rule fires."""
        moves = [
            self.outcome((event, index, state), configuration, bits)
            for index, state in enumerate(configuration)
        ]
        if not any(moves):
            return None
        return tuple(to or state for to, state in zip(moves, configuration, strict=True))

    def settle(self, configuration: Configuration, bits: int) -> Configuration:
        """Return the configuration at rest."""
        passed = {configuration}
        while (after := self.step(configuration, bits, AUTOMATIC)) is not None:
            if after in passed:
                raise UnsettledError(("by its definition",))
            passed.add(after)
            configuration = after
        return configuration

    def send(
        self, configuration: Configuration, bits: int, event: str, *, settle_first: bool = True
    ) -> tuple[Configuration, str]:
        """Return the configuration after an event, and the refusal's id or an empty text."""
        if event == AUTOMATIC:
            return self.settle(configuration, bits), ""
        if settle_first:
            configuration = self.settle(configuration, bits)
        refusal = self.outcome((event, REFUSALS, ""), configuration, bits)
        if not refusal:
            configuration = self.step(configuration, bits, event) or configuration
        return self.settle(configuration, bits), refusal


def _holding(guard: Guard) -> Holds:
    return lambda states, true: evaluate(guard, states, true)


def sends(machine: ModeMachine, count: int, seed: int) -> Iterator[Send]:
    """Yield sends as a random walk meets them: mostly healthy, mostly with something happening.

    Every sixth asks what the signals alone do. Each walk begins anew after some hundred steps.
    """
    chance, chart = random.Random(seed), machine.chart
    events = list(chart.events)
    rare = [name for name in chart.signals if name not in {*HEALTHY, *HAPPENING, *APPROACH}]
    here = machine.initial
    for number in range(count):
        if number % 300 == 0:
            here = machine.initial
        names = {name for name in HEALTHY if chance.random() < 0.99}
        names |= {name for name in APPROACH if chance.random() < 0.9}
        names |= {name for name in HAPPENING if chance.random() < 0.3}
        names |= {name for name in rare if chance.random() < 0.15}
        bits = machine.bits(make_possible(chart, names & set(chart.signals)))
        event = AUTOMATIC if number % 6 == 0 else chance.choice(events)
        yield here, bits, event
        here = sent(machine, (here, bits, event)).configuration


def sent(machine: ModeMachine | Any, send: Send) -> Any:
    """Return the outcome of a send by a machine or a kernel; a selector acts before settling."""
    configuration, bits, event = send
    if event == AUTOMATIC:
        return machine.settle(configuration, bits)
    settle_first = not machine.chart.events[event].changes
    return machine.send(configuration, bits, event, settle_first=settle_first)
