"""Differences between two ships as they were flown, grouped by cause and ordered by consequence.

A kind of difference comes from the product search over both charts; here it also has a flight:
a start, what is done, and what both ships then read, measured and not reasoned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from trainer.assessment.items.item import FlownSituation
from trainer.charts.compare import Comparison, Difference
from trainer.charts.installation import Installation
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.provenance import standing_words
from trainer.lesson.spec import Predict
from trainer.session.annunciation import Annunciation

Weight = Callable[[Difference], float]
"""How often a difference is met, in a hundred flights."""


@dataclass(frozen=True, slots=True)
class FlownSide:
    """What one ship did in the flight.

    Attributes:
        after: What its strip reads afterwards.
        rules: Rules that fired, in order, or the refusal.
        refusal: Reason shown to the pilot; empty if nothing was refused.
        because: The refusal's explanation, or that of the last rule that fired.
    """

    after: Annunciation
    rules: tuple[str, ...]
    refusal: str
    refusal_id: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True)
class FlownDifference:
    """A difference with the flight that shows it.

    Attributes:
        difference: Its kind.
        situation: The start, the same in both ships, and keys pressed first.
        stimulus: What is then done: a key, a selector, or only time.
        before: What both strips read at that moment.
    """

    difference: Difference
    situation: FlownSituation
    stimulus: Predict
    before: Annunciation
    first: FlownSide
    second: FlownSide

    @property
    def is_on_the_strip(self) -> bool:
        """True if the strips read differently, and not only the answer to the key."""
        return self.first.after != self.second.after


@dataclass(frozen=True, slots=True)
class Group:
    """All kinds of difference that the same settings cause, the most often met first."""

    causes: tuple[str, ...]
    kinds: tuple[Difference, ...]
    flown: tuple[FlownDifference, ...]
    consequence: int
    per_hundred_flights: float

    @property
    def situations(self) -> int:
        """How many strips, counted for each kind, one of these differences can follow."""
        return sum(kind.situations for kind in self.kinds)


_GRAVITY = {"engagement": 5, "alert": 4, "protection": 4, "vertical": 3, "lateral": 3}
_ARMED_GRAVITY = 2
_REFUSAL_GRAVITY = 2
_REASON_GRAVITY = 1


def consequence(one: Difference) -> int:
    """Return how grave a difference is, from 1 to 5, by what reads otherwise.

    5: whether the autopilot flies. 4: an alert or speed protection. 3: an active mode. 2: what is
    armed, or a key refused in one ship only. 1: both refuse, for different reasons.
    """
    if one.first.refusal and one.second.refusal:
        return _REASON_GRAVITY
    pairs = zip(one.first.shown, one.second.shown, strict=True)
    regions = [region for (region, mine), (_, theirs) in pairs if mine != theirs]
    return max((_GRAVITY.get(one, _ARMED_GRAVITY) for one in regions), default=_REFUSAL_GRAVITY)


def is_coincidence(one: Difference, others: Iterable[Difference]) -> bool:
    """True if it is only two simpler differences at the same moment.

    Its causes are several, and each cell that differs does so too where fewer of them act.
    """
    simpler: set[tuple[str, str, str]] = set()
    for other in others:
        if set(other.causes) < set(one.causes) and other.event in (one.event, AUTOMATIC):
            simpler |= set(other.contrast)
    return len(one.causes) > 1 and bool(one.contrast) and set(one.contrast) <= simpler


def group_by_cause(
    found: Comparison, flown: Iterable[FlownDifference], weight: Weight
) -> tuple[Group, ...]:
    """Return the differences grouped by their causes, by consequence and then by how often.

    Differences that are only two others at once are left out.
    """
    by_causes: dict[tuple[str, ...], list[Difference]] = {}
    for one in found.differences:
        if not is_coincidence(one, found.differences):
            by_causes.setdefault(one.causes, []).append(one)
    flights: dict[int, FlownDifference] = {}
    for flight in flown:
        flights.setdefault(id(flight.difference), flight)
    groups = []
    for causes, kinds in by_causes.items():
        weights = {id(one): weight(one) for one in kinds}
        kinds.sort(key=lambda one: (-weights[id(one)], -consequence(one), -one.situations))
        shown = tuple(flights[id(one)] for one in kinds if id(one) in flights)
        gravest = max(consequence(one) for one in kinds)
        groups.append(Group(causes, tuple(kinds), shown, gravest, sum(weights.values())))
    groups.sort(key=lambda group: (-group.consequence, -group.per_hundred_flights, group.causes))
    return tuple(groups)


def cause_words(cause: str, first: Installation, second: Installation) -> tuple[str, str, str]:
    """Return a setting's question or label, and what holds in each ship, in the chart's words."""
    kind, name = cause.split(":", 1)
    if kind == "option":
        spec = first.generic.options[name]
        return spec.question, spec.choices[first.option(name)], spec.choices[second.option(name)]
    if kind == "limit":
        mine, theirs = first.limit(name), second.limit(name)
        return mine.label, f"{mine.value:g} {mine.unit}", f"{theirs.value:g} {theirs.unit}"
    label = first.generic.events[name].label
    here, there = (
        "fitted" if name in ship.chart.events else "not fitted" for ship in (first, second)
    )
    return f"{label} key", here, there


def marked_cause_words(
    cause: str, first: Installation, second: Installation
) -> tuple[str, str, str]:
    """Return `cause_words`, with each value that no instructor has signed marked as such."""
    heading, mine, theirs = cause_words(cause, first, second)
    return (
        heading,
        _marked(mine, unsigned_mark(cause, first)),
        _marked(theirs, unsigned_mark(cause, second)),
    )


def _marked(words: str, mark: str) -> str:
    if not mark:
        return words
    stop = "." if words.endswith(".") else ""
    return f"{words.removesuffix('.')} ({mark}){stop}"


def unsigned_mark(cause: str, ship: Installation) -> str:
    """Return what an unsigned setting of a ship is called, or an empty text if it is signed.

    A key goes by the options that it needs.
    """
    kind, name = cause.split(":", 1)
    if kind == "option":
        return standing_words(ship.options[name].provenance)
    if kind == "limit":
        return standing_words(ship.limits[name].provenance)
    needs = ship.generic.events[name].needs
    marks = [standing_words(ship.options[option].provenance) for option, _ in needs]
    return next((mark for mark in marks if mark), "")
