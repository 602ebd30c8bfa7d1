"""A chart compiled for bulk work on single valuations: what does this key do here, and now?

Does exactly what `charts.machine` does (a test compares them) without the machinery behind it,
so that a member's belief costs microseconds. Also tells which rows of the chart an answer
depends on, so that beliefs that touch none of them need no run of their own.
"""

from __future__ import annotations

from collections.abc import Mapping

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import CompiledGuard, Configuration, compile_guard
from trainer.charts.machine import AUTOMATIC, MAXIMUM_ROUNDS, UnsettledError
from trainer.charts.spec import ChartSpec

Row = tuple[str, int, str]
"""Event or `automatic`, region's number, state."""

REFUSALS = -1
"""Stands for a region's number in the row of an event's refusals."""


class QuickChart:
    """A specialised chart as rows of compiled guards.

    Args:
        chart: The specialised chart.
        signal_bit: Bit of each signal, as in the machine's.
    """

    def __init__(self, chart: ChartSpec, signal_bit: Mapping[str, int]) -> None:
        self.chart = chart
        region_index = {name: index for index, name in enumerate(chart.regions)}
        self.initial: Configuration = tuple(r.initial for r in chart.regions.values())
        self._rows: dict[Row, list[tuple[CompiledGuard, str]]] = {}
        self._texts: dict[Row, tuple[object, ...]] = {}
        self._refusals: dict[str, list[tuple[CompiledGuard, str]]] = {}
        for rule in ordered_rules(chart.rules):
            index = region_index[rule.region]
            guard = compile_guard(rule.guard, region_index, signal_bit)
            for event in rule.events or (AUTOMATIC,):
                for source in rule.sources:
                    row = (event, index, source)
                    self._rows.setdefault(row, []).append((guard, rule.target))
                    text = (rule.guard, rule.target, rule.effects)
                    self._texts[row] = (*self._texts.get(row, ()), text)
        for refusal in chart.refusals.values():
            guard = compile_guard(refusal.guard, region_index, signal_bit)
            for event in refusal.events:
                self._refusals.setdefault(event, []).append((guard, refusal.id))
                row = (event, REFUSALS, "")
                self._texts[row] = (*self._texts.get(row, ()), refusal.guard)

    def differing_rows(self, other: QuickChart) -> frozenset[Row]:
        """Return the rows in which two charts of the same shape differ."""
        rows = self._texts.keys() | other._texts.keys()
        return frozenset(r for r in rows if self._texts.get(r) != other._texts.get(r))

    def settle(self, configuration: Configuration, bits: int) -> Configuration:
        """Return the configuration at rest.

        Raises:
            UnsettledError: It never comes to rest.
        """
        for _ in range(MAXIMUM_ROUNDS):
            after = self._microstep(configuration, bits, AUTOMATIC)
            if after is None:
                return configuration
            configuration = after
        raise UnsettledError(("a believed rule",))

    def send(self, configuration: Configuration, bits: int, event: str) -> Configuration:
        """Return the configuration after an event in a configuration at rest, settled again."""
        for guard, _ in self._refusals.get(event, ()):
            if guard(configuration, bits):
                return configuration
        after = self._microstep(configuration, bits, event)
        return configuration if after is None else self.settle(after, bits)

    def refusal(self, configuration: Configuration, bits: int, event: str) -> str:
        """Return the id of the refusal that stands against an event, or an empty text."""
        for guard, name in self._refusals.get(event, ()):
            if guard(configuration, bits):
                return name
        return ""

    def is_at_rest(self, configuration: Configuration, bits: int) -> bool:
        """True if no automatic rule is enabled."""
        return self._microstep(configuration, bits, AUTOMATIC) is None

    def rows_read(self, configuration: Configuration, bits: int, event: str) -> frozenset[Row]:
        """Return every row that the answer to an event (or `automatic`) depends on.

        The rows of rest before the event are left out: a belief that isn't at rest in what is
        shown is overruled by what is shown.
        """
        rows: set[Row] = set()
        here = configuration
        if event != AUTOMATIC:
            rows.add((event, REFUSALS, ""))
            if self.refusal(configuration, bits, event):
                return frozenset(rows)
            rows.update((event, index, state) for index, state in enumerate(here))
            here = self._microstep(here, bits, event) or here
        for _ in range(MAXIMUM_ROUNDS):
            rows.update((AUTOMATIC, index, state) for index, state in enumerate(here))
            after = self._microstep(here, bits, AUTOMATIC)
            if after is None:
                return frozenset(rows)
            here = after
        raise UnsettledError(("a rule of the chart",))

    def _microstep(
        self, configuration: Configuration, bits: int, event: str
    ) -> Configuration | None:
        """Return the configuration after one microstep, or None if no rule fires."""
        after: list[str] | None = None
        rows = self._rows
        for index, state in enumerate(configuration):
            row = rows.get((event, index, state))
            if row is None:
                continue
            for guard, target in row:
                if guard(configuration, bits):
                    if after is None:
                        after = list(configuration)
                    after[index] = target
                    break
        return None if after is None else tuple(after)
