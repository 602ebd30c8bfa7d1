"""Which states, rules, refusals and options of an installation a set of flown lessons exercises."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.charts.diagram import Diagram, with_counts
from trainer.charts.installation import Installation
from trainer.charts.spec import ChartSpec, OptionNeeds
from trainer.lesson.flown import FlownLesson

KINDS = ("rule", "refusal", "state", "option")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing of an installation, and the lessons that exercise it."""

    kind: str
    """rule, refusal, state or option; misconception where those are counted."""
    id: str
    """Rule, refusal or misconception id, `region.state`, or `option=choice`."""
    lessons: tuple[str, ...]
    """The lessons that exercise it; for a misconception: that would catch it."""


@dataclass(frozen=True, slots=True)
class Coverage:
    """What a set of lessons exercises of one installation."""

    installation: str
    items: tuple[Item, ...]

    def of(self, kind: str) -> tuple[Item, ...]:
        """Return the items of one kind."""
        return tuple(item for item in self.items if item.kind == kind)

    def count(self, kind: str) -> tuple[int, int]:
        """Return how many items of a kind are exercised, and how many there are."""
        items = self.of(kind)
        return sum(bool(item.lessons) for item in items), len(items)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds that are counted, in order."""
        return tuple(dict.fromkeys(item.kind for item in self.items))

    def counted(self, diagram: Diagram) -> Diagram:
        """Return the picture of the installation's chart with how many lessons exercise what."""
        states: dict[tuple[str, str], int] = {}
        for item in self.of("state"):
            region, state = item.id.split(".")
            states[region, state] = len(item.lessons)
        return with_counts(diagram, states, {item.id: item.lessons for item in self.of("rule")})

    @property
    def missing(self) -> tuple[Item, ...]:
        """Items that no lesson exercises."""
        return tuple(item for item in self.items if not item.lessons)


def cover(installation: Installation, flown: Iterable[tuple[str, FlownLesson]]) -> Coverage:
    """Return the coverage of an installation by lessons flown in it.

    Args:
        installation: The installation.
        flown: Lesson id and what was flown, for each lesson.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> from trainer.lesson.flown import fly
        >>> flown = fly(workspace.start_lesson_without_trainee(lesson))
        >>> coverage = cover(workspace.installation("ship_amber"), [(lesson.id, flown)])
        >>> done, of = coverage.count("option")
        >>> done < of
        True
    """
    chart = installation.chart
    seen: dict[tuple[str, str], dict[str, None]] = {
        (kind, name): {} for kind, names in _everything(installation).items() for name in names
    }
    for lesson_id, one in flown:
        for key in _exercised(installation, chart, one):
            if key in seen:
                seen[key][lesson_id] = None
    return Coverage(
        installation.id,
        tuple(Item(kind, name, tuple(lessons)) for (kind, name), lessons in seen.items()),
    )


def _everything(installation: Installation) -> dict[str, list[str]]:
    chart = installation.chart
    return {
        "rule": list(chart.rules),
        "refusal": list(chart.refusals),
        "state": [f"{r.id}.{state}" for r in chart.regions.values() for state in r.states],
        "option": [f"{o.id}={o.choice}" for o in installation.options.values()
                   if o.id in decided_options(chart)],
    }  # fmt: skip


def decided_options(chart: ChartSpec) -> frozenset[str]:
    """Return the options on which some rule, refusal, state, region or event of a chart rests.

    A choice that only takes rules away leaves nothing in the chart that could be seen to act.
    """
    needs: list[OptionNeeds] = [
        *(rule.needs for rule in chart.rules.values()),
        *(refusal.needs for refusal in chart.refusals.values()),
        *(event.needs for event in chart.events.values()),
    ]
    for region in chart.regions.values():
        needs.append(region.needs)
        needs.extend(state.needs for state in region.states.values())
    return frozenset(option for one in needs for option, _ in one)


def _exercised(
    installation: Installation, chart: ChartSpec, flown: FlownLesson
) -> set[tuple[str, str]]:
    regions = tuple(chart.regions)
    found: set[tuple[str, str]] = {
        ("state", f"{region}.{state}")
        for configuration in flown.configurations
        for region, state in zip(regions, configuration, strict=True)
    }
    for record in flown.records:
        if record.refusal is not None:
            found.add(("refusal", record.refusal.rule_id))
        found.update(("rule", fired.id) for fired in record.rules)
        # States entered and left within one settled step are exercised as well.
        found.update(("state", f"{fired.region}.{fired.entered}") for fired in record.rules)
    for kind, name in tuple(found):
        if kind == "option":
            continue
        for option, _ in _needs(chart, kind, name):
            found.add(("option", f"{option}={installation.options[option].choice}"))
    return found


def _needs(chart: ChartSpec, kind: str, name: str) -> OptionNeeds:
    if kind == "rule":
        return chart.rules[name].needs if name in chart.rules else ()
    if kind == "refusal":
        return chart.refusals[name].needs if name in chart.refusals else ()
    region, state = name.split(".")
    return (*chart.regions[region].needs, *chart.regions[region].states[state].needs)
