"""Arrows of a statechart's picture: which there are, and where they run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from trainer.charts.spec import EventSpec, RegionSpec, RuleCause, RuleSpec

MANY = 3
"""An arrow from so many states, or more, is drawn as one from a bar."""
STUB_PX, LOWEST_ARC_PX, ARC_STEP_PX, HIGHEST_ARC_PX = 17.0, 17.0, 6.0, 31.0
CAUSES: tuple[RuleCause, ...] = ("pilot", "automatic", "reversion")

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a box stands, for what is attached to it."""

    x_px: float
    width_px: float
    top_px: float
    bottom_px: float


@dataclass(frozen=True, slots=True)
class Arrow:
    """Rules of one cause that lead from some states to one.

    `points`: two for a short arrow from a bar, else the four of a cubic curve.
    """

    region: str
    sources: tuple[str, ...]
    target: str
    cause: RuleCause
    rules: tuple[str, ...]
    tip: str
    points: tuple[Point, ...]
    is_live: bool
    """It starts in the active state: it can happen from here."""
    count: int | None = None
    """How many lessons exercise one of its rules; None: that isn't shown."""

    @property
    def from_many(self) -> bool:
        """True for a short arrow from a bar."""
        return len(self.points) == 2


def arrows_of(
    region: RegionSpec,
    rules: Sequence[RuleSpec],
    places: Mapping[str, Place],
    events: Mapping[str, EventSpec],
    active: str | None,
) -> list[Arrow]:
    """Return the arrows of a region.

    Args:
        region: The region.
        rules: Its rules.
        places: Where the boxes of its states stand.
        events: The chart's events, for their words.
        active: The active state, or None.
    """
    order = {state: index for index, state in enumerate(region.states)}
    bare = [arrow for target in region.states for arrow in _into(target, region, rules, events)]
    ends: dict[tuple[str, bool], list[tuple[tuple[int, int, int], int, bool]]] = {}
    for number, arrow in enumerate(bare):
        for state, is_head, side, key in _ends(arrow, order):
            ends.setdefault((state, side), []).append((key, number, is_head))
    x_px: dict[tuple[int, bool], float] = {}
    for (state, _), found in ends.items():
        place = places[state]
        for position, (_, number, is_head) in enumerate(sorted(found), start=1):
            x_px[number, is_head] = place.x_px + place.width_px * position / (len(found) + 1)
    return [
        replace(
            arrow,
            points=_points(arrow, places, order, x_px.get((n, False)), x_px[n, True]),
            is_live=active in arrow.sources,
        )
        for n, arrow in enumerate(bare)
    ]


def _into(
    target: str, region: RegionSpec, rules: Iterable[RuleSpec], events: Mapping[str, EventSpec]
) -> Iterable[Arrow]:
    """Yield the arrows into a state without their points: one from many, or one from each."""
    for cause in CAUSES:
        own = [rule for rule in rules if rule.target == target and rule.by == cause]
        sources = [s for s in region.states if s != target and any(s in r.sources for r in own)]
        groups = [sources] if len(sources) >= MANY else [[source] for source in sources]
        for group in groups:
            taken = [rule for rule in own if set(rule.sources) & set(group)]
            yield Arrow(
                region.id, tuple(group), target, cause, tuple(rule.id for rule in taken),
                _tip(group, target, region, taken, events), (), is_live=False,
            )  # fmt: skip


def _tip(
    sources: Sequence[str],
    target: str,
    region: RegionSpec,
    rules: Sequence[RuleSpec],
    events: Mapping[str, EventSpec],
) -> str:
    start = ", ".join(region.states[source].label for source in sources)
    lines = [f"{start} \N{RIGHTWARDS ARROW} {region.states[target].label}"]
    for rule in rules:
        words = ", ".join(events[event].label for event in rule.events) or "by itself"
        lines.append(f"{words}: {rule.because}")
    return "\n".join(lines)


def _ends(
    arrow: Arrow, order: Mapping[str, int]
) -> Iterable[tuple[str, bool, bool, tuple[int, int, int]]]:
    """Yield (state, is it the head, is it above, sorting key from left to right) of an arrow.

    The keys nest the curves: those of a box's outer side that go furthest stand innermost.
    """
    cause = CAUSES.index(arrow.cause)
    if len(arrow.sources) >= MANY:
        yield arrow.target, True, True, (1, 0, cause)
        return
    span = order[arrow.target] - order[arrow.sources[0]]
    if span > 0:
        yield arrow.sources[0], False, True, (2, -span, cause)
        yield arrow.target, True, True, (0, span, -cause)
    else:
        yield arrow.sources[0], False, False, (0, -span, cause)
        yield arrow.target, True, False, (2, span, -cause)


def _points(
    arrow: Arrow,
    places: Mapping[str, Place],
    order: Mapping[str, int],
    tail_x_px: float | None,
    head_x_px: float,
) -> tuple[Point, ...]:
    place = places[arrow.target]
    if tail_x_px is None:
        return ((head_x_px, place.top_px - STUB_PX), (head_x_px, place.top_px))
    span = order[arrow.target] - order[arrow.sources[0]]
    # Arrows of several causes between the same boxes run one above the other.
    rise_px = LOWEST_ARC_PX + ARC_STEP_PX * (abs(span) - 1) + 5.0 * CAUSES.index(arrow.cause)
    rise_px = min(rise_px, HIGHEST_ARC_PX)
    y_px, turn_px = (
        (place.top_px, place.top_px - rise_px)
        if span > 0
        else (place.bottom_px, place.bottom_px + rise_px)
    )
    return ((tail_x_px, y_px), (tail_x_px, turn_px), (head_x_px, turn_px), (head_x_px, y_px))
