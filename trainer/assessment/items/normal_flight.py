"""The configurations that flying normally can reach: the exploration of a chart held to scenes.

Signals that are the same in every calm scene are written into the guards as constants, so that
an installation is explored in a second or two instead of half a minute.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from trainer.charts.explore import Exploration, explore
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, Any, ChartSpec, Guard, Not, Signal
from trainer.charts.specialise import simplify


def explore_with(chart: ChartSpec, constants: Mapping[str, bool]) -> Exploration:
    """Return the exploration of a chart some of whose signals never change.

    Args:
        chart: A specialised chart.
        constants: Signal -> the value that it has throughout.

    Raises:
        UnsettledError: Automatic rules that never come to rest.
    """

    def fixed(guard: Guard) -> Guard:
        return simplify(with_constants(guard, constants), chart.regions, chart)

    rules = {r.id: replace(r, guard=fixed(r.guard)) for r in chart.rules.values()}
    refusals = {r.id: replace(r, guard=fixed(r.guard)) for r in chart.refusals.values()}
    held = replace(
        chart,
        rules={name: rule for name, rule in rules.items() if rule.guard != Any()},
        refusals={name: one for name, one in refusals.items() if one.guard != Any()},
        invariants={},
    )
    return explore(ModeMachine(held))


def with_constants(guard: Guard, constants: Mapping[str, bool]) -> Guard:
    """Return a guard with the named signals replaced by always or never.

    Example:
        >>> with_constants(Not(Signal("servo_ok")), {"servo_ok": True})
        Not(part=All(parts=()))
    """
    match guard:
        case Signal(name):
            if name not in constants:
                return guard
            return All() if constants[name] else Any()
        case Not(part):
            return Not(with_constants(part, constants))
        case All(parts):
            return All(tuple(with_constants(part, constants) for part in parts))
        case Any(parts):
            return Any(tuple(with_constants(part, constants) for part in parts))
        case _:
            return guard
