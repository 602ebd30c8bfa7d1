"""Every small change of a chart: wrong rules that nobody wrote down, made by going through it.

They stand for what a member may believe that the library doesn't list. None is ever named to a
member: they are too many and too small for that. They make sure that every part of the logic is
asked about before a member is called sound, and they show where a rule must be wrong.

Three families, after the ways in which a rule can be misremembered: it leads elsewhere, it does
something more, it doesn't work in some mode. What it lacks altogether, what is carried over from
another key, and which condition is forgotten is in `candidates`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any as AnyType

from trainer.assessment.wrong_rules.candidates import (
    carried_over_rules,
    dropped_rules,
    forgotten_conditions,
)
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.row_index import Changed, RowIndex
from trainer.charts.kernel import ALWAYS, AUTOMATIC, Entry, Kernel, Overlay, Row, Tests, made_up
from trainer.charts.spec import ChartSpec, RegionSpec, RuleSpec

_MUTANT = "mutant: "
_MODES = ("engagement", "active", "armed")
"""Kinds of region whose state a rule may be thought to depend on."""
_SHOWN = (*_MODES, "alert")
"""Kinds of region that a rule may be thought to move."""


def unlisted_rules(library: Library) -> RowIndex:
    """Return all wrong rules made from a library's installation: its candidates and mutants."""
    chart = library.logic.installation.chart
    made = (*dropped_rules(chart), *forgotten_conditions(chart), *carried_over_rules(chart))
    candidates = Library(library.logic, {one.id: one for one in made}.values())
    return RowIndex(library.truth, {**candidates.index.charts, **mutants(library.truth, chart)})


def is_mutant(name: str) -> bool:
    """Return whether a wrong rule that isn't listed is a mutant, no candidate."""
    return name.startswith(_MUTANT)


def mutants(truth: Kernel, chart: ChartSpec) -> dict[str, Changed]:
    """Return the small changes of a chart by name.

    Args:
        truth: The chart compiled.
        chart: The specialised chart.
    """
    made = _Mutation(truth, chart)
    return {
        f"{_MUTANT}{name}": Changed(Overlay(truth, rows), frozenset(rows), when)
        for name, when, rows in (*made.elsewhere(), *made.more(), *made.idle())
        if rows
    }


Named = tuple[str, Tests | None, dict[Row, tuple[Entry, ...]]]
"""Name of a mutant, the guard without which it differs in nothing, and its changed rows."""


class _Mutation:
    def __init__(self, truth: Kernel, chart: ChartSpec) -> None:
        self._truth = truth
        self._chart = chart
        self._numbers = {name: number for number, name in enumerate(chart.regions)}
        self._automatic = [rule for rule in chart.rules.values() if not rule.events]

    def elsewhere(self) -> Iterator[Named]:
        """Yield each rule leading to each other state of its region."""
        for rule in self._chart.rules.values():
            guard = self._truth.guards[rule.id]
            for state in self._chart.regions[rule.region].states:
                if state != rule.target:
                    rows = {
                        row: _changed(entries, guard, leads_to=state)
                        for row, entries in self._rows(rule)
                    }
                    yield f"{rule.id} leads to {state}", guard, rows

    def more(self) -> Iterator[Named]:
        """Yield each event, and each rule that fires by itself, moving one region more."""
        for number, region in self._regions(_SHOWN):
            for state in region.states:
                others = [name for name in region.states if name != state]
                for event in self._chart.events:
                    rows = self._before(
                        event, number, others, Entry((ALWAYS,), state, made_up(region.id))
                    )
                    yield f"{event} brings {state}", None, rows
        for rule in self._automatic:
            number = self._numbers[rule.region]
            fires = self._also(self._truth.guards[rule.id], number, rule.sources)
            for number, region in self._regions(_SHOWN):
                for state in region.states if region.id != rule.region else ():
                    others = [name for name in region.states if name != state]
                    rows = self._before(
                        AUTOMATIC, number, others, Entry(fires, state, made_up(region.id))
                    )
                    yield f"{rule.id} brings {state}", fires, rows

    def _before(
        self, event: str, number: int, states: list[str], entry: Entry
    ) -> dict[Row, tuple[Entry, ...]]:
        rows = [(event, number, state) for state in states]
        return {row: (entry, *self._truth.entries(row)) for row in rows}

    def idle(self) -> Iterator[Named]:
        """Yield each event, and each rule that fires by itself, not working in one state."""
        by_event: dict[str, list[Row]] = {event: [] for event in self._chart.events}
        for row in self._truth.rows:
            by_event.get(row[0], []).append(row)
        for number, region in self._regions(_MODES):
            for state in region.states:
                left = tuple(name for name in region.states if name != state)
                for event, found in by_event.items():
                    rows = {row: self._limited_to(left, number, row) for row in found}
                    yield f"{event} idle in {state}", None, rows
                for rule in self._automatic:
                    rows = self._limited(rule, number, left)
                    yield f"{rule.id} idle in {state}", self._truth.guards[rule.id], rows

    def _limited(
        self, rule: RuleSpec, number: int, left: tuple[str, ...]
    ) -> dict[Row, tuple[Entry, ...]]:
        guard = self._truth.guards[rule.id]
        limited = self._also(guard, number, left)
        return {row: _changed(entries, guard, tests=limited) for row, entries in self._rows(rule)}

    def _regions(self, kinds: tuple[str, ...]) -> list[tuple[int, RegionSpec]]:
        found = self._chart.regions.values()
        return [(self._numbers[one.id], one) for one in found if one.kind in kinds]

    def _rows(self, rule: RuleSpec) -> Iterator[tuple[Row, tuple[Entry, ...]]]:
        for event in rule.events or (AUTOMATIC,):
            for source in rule.sources:
                row = (event, self._numbers[rule.region], source)
                yield row, self._truth.entries(row)

    def _limited_to(self, states: tuple[str, ...], number: int, row: Row) -> tuple[Entry, ...]:
        entries = self._truth.entries(row)
        return tuple(e._replace(tests=self._also(e.tests, number, states)) for e in entries)

    def _also(self, tests: Tests, number: int, states: tuple[str, ...]) -> Tests:
        """Return a guard that besides asks a region to be in one of these states."""
        barred = self._truth.barring(number, states)
        return tuple(test._replace(barred=test.barred | barred) for test in tests)


def _changed(entries: tuple[Entry, ...], guard: Tests, **values: AnyType) -> tuple[Entry, ...]:
    """Return a row's entries, those of one guard with other values."""
    return tuple(e._replace(**values) if e.tests is guard else e for e in entries)
