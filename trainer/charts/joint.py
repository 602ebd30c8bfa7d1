"""Two installations over one set of signals, so that both can be walked side by side.

Signals that mean the same in both are shared. A signal whose numbers differ (a minimum height of
800 ft in one ship, 1,000 ft in the other) becomes two, tied by what is physically so: above the
higher number is above the lower one too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.charts.installation import Installation
from trainer.charts.kernel import Kernel
from trainer.charts.spec import (
    All,
    Any,
    ChartSpec,
    Guard,
    InvariantSpec,
    Not,
    RefusalSpec,
    RuleSpec,
    Signal,
    SignalSpec,
)
from trainer.errors import TrainerError

SECOND = "@second"
"""Ending of the second installation's own version of a signal."""


class NotComparableError(TrainerError):
    """Two installations of different charts: their words don't mean the same."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Both kernels over the same signal bits."""

    first: Kernel
    second: Kernel
    split: tuple[str, ...]
    """Signals whose numbers differ."""

    def disagreeing(self, bits: int) -> tuple[str, ...]:
        """Return the split signals that are true in one ship and false in the other."""
        bit = self.first.signal_bit
        return tuple(
            name for name in self.split if (bits >> bit[name] ^ bits >> bit[name + SECOND]) & 1
        )


def join(first: Installation, second: Installation) -> Joint:
    """Return both installations over one set of signals.

    Raises:
        NotComparableError: They don't come from the same chart.
    """
    if first.generic.id != second.generic.id:
        raise NotComparableError(
            f"{first.id} uses chart {first.generic.id}, {second.id} uses {second.generic.id}; "
            "accepted: two installations of the same chart"
        )
    split = split_signals(first, second)
    signals = dict(first.chart.signals)
    for name in split:
        signals[name + SECOND] = _second_version(first.chart.signals[name], split)
    for name in split:
        _tie(signals, name, first, second)
    mine = replace(first.chart, signals=signals)
    theirs = replace(_renamed(second.chart, frozenset(split)), signals=signals)
    return Joint(Kernel(mine), Kernel(theirs), split)


def split_signals(first: Installation, second: Installation) -> tuple[str, ...]:
    """Return the signals whose numbers differ between two installations of one chart."""
    return tuple(
        name
        for name, spec in first.chart.signals.items()
        if _band(spec, first) != _band(second.chart.signals[name], second)
    )


def over_joint_signals(chart: ChartSpec, split: tuple[str, ...], joint: Joint) -> ChartSpec:
    """Return a chart over the joint signals, reading the second version of the split ones."""
    return replace(_renamed(chart, frozenset(split)), signals=joint.first.chart.signals)


def _band(spec: SignalSpec, installation: Installation) -> tuple[float, float]:
    return spec.on.of(installation), spec.off.of(installation)


def _second_version(spec: SignalSpec, split: tuple[str, ...]) -> SignalSpec:
    def version(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name + SECOND if name in split else name for name in names)

    return replace(
        spec,
        id=spec.id + SECOND,
        implies=version(spec.implies),
        excludes=version(spec.excludes),
    )


def _tie(
    signals: dict[str, SignalSpec], name: str, first: Installation, second: Installation
) -> None:
    """Add the implication between both versions of a signal, where their bands allow one."""
    spec = first.chart.signals[name]
    mine, theirs = _band(spec, first), _band(second.chart.signals[name], second)
    sign = 1.0 if spec.sense == "above" else -1.0
    stricter = all(sign * a >= sign * b for a, b in zip(mine, theirs, strict=True))
    looser = all(sign * a <= sign * b for a, b in zip(mine, theirs, strict=True))
    if stricter:
        one = signals[name]
        signals[name] = replace(one, implies=(*one.implies, name + SECOND))
    elif looser:
        other = signals[name + SECOND]
        signals[name + SECOND] = replace(other, implies=(*other.implies, name))


def _renamed(chart: ChartSpec, split: frozenset[str]) -> ChartSpec:
    rules: dict[str, RuleSpec] = {
        one.id: replace(one, guard=_rename(one.guard, split)) for one in chart.rules.values()
    }
    refusals: dict[str, RefusalSpec] = {
        one.id: replace(one, guard=_rename(one.guard, split)) for one in chart.refusals.values()
    }
    invariants: dict[str, InvariantSpec] = {}
    return replace(chart, rules=rules, refusals=refusals, invariants=invariants)


def _rename(guard: Guard, split: frozenset[str]) -> Guard:
    match guard:
        case Signal(name):
            return Signal(name + SECOND) if name in split else guard
        case Not(part):
            return Not(_rename(part, split))
        case All(parts):
            return All(tuple(_rename(part, split) for part in parts))
        case Any(parts):
            return Any(tuple(_rename(part, split) for part in parts))
        case _:
            return guard
