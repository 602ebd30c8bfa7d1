"""The configurations that flying normally can reach: the exploration of a chart held to scenes.

Signals that are the same in every calm scene are written into the guards as constants, so that
an installation is explored in a second or two instead of half a minute. So are those that can't
have been otherwise on the way into a scene: without an approach tuned nobody flies one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from trainer.charts.conflicts import signal_constraints
from trainer.charts.explore import Exploration, explore
from trainer.charts.kernel import Kernel
from trainer.charts.spec import All, Any, ChartSpec, Guard, Not, Signal
from trainer.charts.specialise import simplify
from trainer.session.session import Session

_OF_THE_SOURCE = ("source_is_approach", "source_has_glidepath")
"""Quantities that follow from what is tuned: tuning something else drops what was flown by it."""
_OF_NEARNESS = (
    "course_intercept_margin", "glidepath_deviation_abs", "altitude_capture_margin_ft",
)  # fmt: skip
"""Quantities that say that a capture begins. Far from there nothing can have been captured, nor be
followed still: who follows it is at it."""


def held_in(session: Session, *, is_first_climb: bool = False) -> dict[str, bool]:
    """Return the signals that can't have been otherwise on the way into a flight.

    Args:
        session: At the moment of the question, in whatever modes.
        is_first_climb: True if it was never higher before.
    """
    chart, signal_bit = session.installation.chart, session.logic.machine.signal_bit
    is_tuned = bool(session.references.source_id)
    # As if each had been true before: a mode may last as far as its signal lingers.
    lasting = session.logic.signals.evaluate(session.flight, session.powered_s, -1)
    held: dict[str, bool] = {}
    for name, spec in chart.signals.items():
        value = bool(lasting >> signal_bit[name] & 1)
        is_far = spec.quantity in _OF_NEARNESS and not value
        is_too_high = is_first_climb and spec.quantity == "height_ft" and spec.sense == "above"
        if spec.quantity in _OF_THE_SOURCE or is_far or (is_too_high and not value):
            held[name] = value
        elif spec.quantity == "course_valid" and not is_tuned:
            held[name] = False
    implies, _ = signal_constraints(chart)
    for name, others in implies.items():
        if any(held.get(other) is False for other in others):
            held[name] = False
    return held


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
    return explore(Kernel(held))


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
