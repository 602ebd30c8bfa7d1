"""A declared flight profile: how often things happen in ordinary flying, as data.

It weighs differences between installations: which would be met often, which hardly ever. The
numbers are declared by whoever writes the file, not measured; they serve to order a list.
"""

from __future__ import annotations

from collections.abc import Mapping as MappingType
from dataclasses import dataclass
from pathlib import Path

from trainer.charts.compare import Difference
from trainer.charts.guard import signals_in
from trainer.charts.installation import Installation
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.shown import Shown
from trainer.charts.spec import ChartSpec, SignalSpec
from trainer.document import Mapping, near, read_document

FORMAT = "flight_profile/1"
FILE_NAME = "flight_profile.yaml"

Shares = MappingType[str, float]


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase of a flight.

    Attributes:
        id: Its name.
        label: Its name in words.
        states: Region -> state -> share of the phase in which it is shown; from 0 to 1.
        events: Event -> how often in this phase of one flight.
        changes: Signal -> how often it changes in this phase of one flight.
        ranges: Quantity -> lowest and highest value, all between equally likely.
        signals: Signal -> probability of being true, where no range says so.
    """

    id: str
    label: str
    states: MappingType[str, Shares]
    events: Shares
    changes: Shares
    ranges: MappingType[str, tuple[float, float]]
    signals: Shares

    def share(self, before: Shown) -> float:
        """Return in which share of the phase a strip is shown, regions taken as independent."""
        share = 1.0
        for region, state in before:
            if region in self.states:
                share *= self.states[region].get(state, 0.0)
        return share


@dataclass(frozen=True, slots=True)
class FlightProfile:
    """Phases that make up one ordinary flight."""

    title: str
    path: str
    phases: tuple[Phase, ...]

    def likeliness(self, before: Shown, event: str) -> float:
        """Return how often an event meets a strip, in the phase in which it does so most.

        For what comes by itself, in which share of its likeliest phase the strip is shown.
        """
        return max(
            phase.share(before) * (1.0 if event == AUTOMATIC else phase.events.get(event, 0.0))
            for phase in self.phases
        )

    def per_hundred_flights(
        self, difference: Difference, first: Installation, second: Installation
    ) -> float:
        """Return how often a difference would be met in a hundred flights, roughly.

        Args:
            difference: One kind of difference.
            first: The first ship.
            second: The second.
        """
        signals = _signals(difference, first.generic)
        total = 0.0
        for phase in self.phases:
            rate = _rate(phase, difference.event, signals)
            if rate > 0.0:
                shown = sum(phase.share(before) for before in difference.befores)
                total += rate * min(shown, 1.0) * _chance(phase, signals, first, second)
        return 100.0 * total


def _signals(one: Difference, generic: ChartSpec) -> frozenset[str]:
    """Return the signals that the rules read which act in one ship and not in the other."""
    if one.first.refusal != one.second.refusal:
        refusals = [name for name in (one.first.refusal, one.second.refusal) if name]
        guards = [generic.refusals[name].guard for name in refusals]
    else:
        mine, theirs = one.first.rules, one.second.rules
        names = [name for name in mine if name not in theirs][:1]
        names += [name for name in theirs if name not in mine][:1]
        guards = [generic.rules[name].guard for name in names]
    return frozenset().union(*(signals_in(guard) for guard in guards))


def _rate(phase: Phase, event: str, signals: frozenset[str]) -> float:
    """Return how often it begins: for what comes by itself, as often as its rarest signal."""
    if event != AUTOMATIC:
        return phase.events.get(event, 0.0)
    rates = [phase.changes[name] for name in signals if name in phase.changes]
    return min(rates, default=0.0)


def _chance(
    phase: Phase, signals: frozenset[str], first: Installation, second: Installation
) -> float:
    """Return the probability that limits and signals stand so that the ships part."""
    chance = 1.0
    for name in sorted(signals):
        spec = first.chart.signals[name]
        span = phase.ranges.get(spec.quantity)
        mine, theirs = (spec.on.of(ship) for ship in (first, second))
        if span is None or mine == theirs:
            continue
        low, high = sorted((mine, theirs))
        inside = max(0.0, min(high, span[1]) - max(low, span[0]))
        chance *= inside / (span[1] - span[0])
    for name, probability in phase.signals.items():
        if name in signals:
            chance *= probability
    return chance


def load_profile(path: Path, chart: ChartSpec) -> FlightProfile:
    """Return the flight profile of a file.

    Args:
        path: The file.
        chart: The generic chart whose words it uses.

    Raises:
        FileError: Something in the file isn't accepted.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    title = top.text("title")
    section = top.mapping("phases")
    children = section.children() if section is not None else ()
    phases = tuple(_phase(name, entry, chart) for name, entry in children)
    if section is not None and not phases:
        section.problem("no phases", "at least one")
    top.finish()
    top.document.raise_if_problems()
    return FlightProfile(title, str(path), phases)


def _phase(name: str, entry: Mapping, chart: ChartSpec) -> Phase:
    quantities = {spec.quantity: spec for spec in chart.signals.values()}
    phase = Phase(
        name, entry.text("label"), _states(entry, chart),
        _numbers(entry, "events", chart.events, 1000.0),
        _numbers(entry, "changes", chart.signals, 1000.0),
        _ranges(entry, quantities),
        _numbers(entry, "signals", chart.signals, 1.0),
    )  # fmt: skip
    entry.finish()
    return phase


def _states(entry: Mapping, chart: ChartSpec) -> dict[str, Shares]:
    section = entry.mapping("states", None)
    found: dict[str, Shares] = {}
    for region in section.keys() if section is not None else ():
        assert section is not None
        if region not in chart.regions:
            section.problem(f"'{region}' is no region", near(region, chart.regions), key=region)
            continue
        shares = _numbers(section, region, chart.regions[region].states, 1.0)
        if sum(shares.values()) > 1.0 + 1e-9:
            section.problem(
                f"shares of {region} add up to {sum(shares.values()):g}", "at most 1", key=region
            )
        found[region] = shares
    return found


def _numbers(
    parent: Mapping, key: str, known: MappingType[str, object], high: float
) -> dict[str, float]:
    section = parent.mapping(key, None)
    found: dict[str, float] = {}
    for name in section.keys() if section is not None else ():
        assert section is not None
        if name not in known:
            section.problem(f"'{name}' isn't one of the chart's", near(name, known), key=name)
            continue
        found[name] = section.number(name, low=0.0, high=high)
    return found


def _ranges(entry: Mapping, known: MappingType[str, SignalSpec]) -> dict[str, tuple[float, float]]:
    section = entry.mapping("ranges", None)
    found: dict[str, tuple[float, float]] = {}
    for name in section.keys() if section is not None else ():
        assert section is not None
        if name not in known:
            section.problem(f"'{name}' is no quantity", near(name, known), key=name)
            continue
        span = section.mapping(name)
        if span is None:
            continue
        low, high = span.number("low"), span.number("high")
        span.finish()
        if low >= high:
            section.problem(f"{name}: low {low:g} is not below high {high:g}", "low below high",
                            key=name)  # fmt: skip
            continue
        found[name] = (low, high)
    return found
