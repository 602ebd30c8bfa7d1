"""The engine against two independent ones on the shipped installations [SCX-03].

python-statemachine runs the exported SCXML, sismic a chart written for it straight from ours;
both run as the W3C algorithm says, with our one rule on top of it: signals change, what they
enable of itself settles, then comes the event. The same comparison must find every coordinator
and nearly every rule that is wrong on purpose.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pytest
from statemachine.io import load

from tests.published.scxml_suite.engines import (
    NOTHING,
    ReferenceEngine,
    SismicEngine,
    StateMachineEngine,
)
from tests.published.scxml_suite.limits import OutOfTimeError, limited
from tests.published.scxml_suite.planted import (
    WRONG_COORDINATORS,
    NoSettlingBefore,
    SequentialGuards,
    WrongCoordinator,
    mutants,
)
from tests.published.scxml_suite.reachable import (
    Case,
    case_differences,
    is_same,
    reachable_cases,
)
from tests.published.scxml_suite.thorough import thorough_walk
from tests.published.scxml_suite.walks import (
    Difference,
    Step,
    Trace,
    Walk,
    differences,
    directed_walk,
    random_walk,
    record,
)
from trainer.charts.explore import explore
from trainer.charts.installation import load_installation
from trainer.charts.kernel import AUTOMATIC, UnsettledError
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.scxml import to_scxml
from trainer.charts.spec import ChartSpec
from trainer.resources import resource_folder

CHARTS = resource_folder("statecharts")
SMALL = Path(__file__).parent / "scxml_suite" / "charts"
INSTALLATIONS = ("ship_amber", "ship_slate")
AMBER_AND_LONG = ("ship_amber", pytest.param("ship_slate", marks=pytest.mark.long))
ENGINES = (StateMachineEngine, SismicEngine)
ENGINE_IDS = ["python-statemachine", "sismic"]


@cache
def machine_of(name: str) -> ModeMachine:
    return ModeMachine(load_installation(CHARTS / "installations" / f"{name}.yaml", CHARTS).chart)


@cache
def short_walks(name: str) -> tuple[Walk, ...]:
    machine, fired = machine_of(name), Counter[str]()
    return (
        directed_walk(machine, 200, 1, fired),
        directed_walk(machine, 180, 2, fired),
        random_walk(machine.chart, 40, 3),
    )


@cache
def short_traces(
    name: str, engine: type[StateMachineEngine] | type[SismicEngine]
) -> tuple[Trace, ...]:
    with limited(60.0):
        reference: ReferenceEngine = engine(machine_of(name).chart)
        walks = short_walks(name)
        # python-statemachine is the slower by far; the long test gives it all walks.
        return tuple(record(reference, w) for w in (walks[::2] if engine is ENGINES[0] else walks))


# No difference --------------------------------------------------------------------------------


@pytest.mark.parametrize("engine", ENGINES, ids=ENGINE_IDS)
@pytest.mark.parametrize("name", AMBER_AND_LONG)
def test_no_difference_on_short_walks(
    name: str, engine: type[StateMachineEngine] | type[SismicEngine]
) -> None:
    machine = machine_of(name)
    for trace in short_traces(name, engine):
        assert differences(machine, machine, trace) == []


@pytest.mark.parametrize("name", INSTALLATIONS)
def test_short_walks_meet_most_rules(name: str) -> None:
    """So that no difference says something; the long walks meet more."""
    machine = machine_of(name)
    met: set[str] = set()
    for walk in short_walks(name):
        configuration = machine.initial
        for step in walk:
            outcome = machine.send(configuration, machine.bits(step.true), step.event)
            met |= {one.rule.id for one in outcome.firings}
            configuration = outcome.configuration
    assert len(met) > 0.8 * len(machine.chart.rules)


@pytest.mark.parametrize("name", AMBER_AND_LONG)
def test_the_document_runs_by_itself(name: str) -> None:
    """As exported, with its own data model and signals changed by its own events."""
    machine = machine_of(name)
    regions = machine.chart.regions.values()
    with limited(60.0):
        document = load(to_scxml(machine.chart, name), format="scxml")()
        configuration = machine.settle(machine.initial, 0).configuration
        true: frozenset[str] = frozenset()
        for step in directed_walk(machine, 80, 4):
            for signal in sorted(step.true ^ true):
                true ^= {signal}
                document.send(f"signal.{signal}.{'true' if signal in true else 'false'}")
                configuration = machine.settle(configuration, machine.bits(true)).configuration
            document.send(step.event)
            configuration = machine.send(
                configuration, machine.bits(true), step.event
            ).configuration
            active = {state.id for state in document.configuration}
            ours = {f"{r.id}.{s}" for r, s in zip(regions, configuration, strict=True)}
            assert ours <= active


# Planted faults -------------------------------------------------------------------------------


def first_difference(
    machine: ModeMachine, coordinator: ModeMachine | WrongCoordinator, traces: tuple[Trace, ...]
) -> Difference | None:
    """Return the first difference; logic that never settles differs too."""
    for trace in traces:
        try:
            found = differences(machine, coordinator, trace, stop_at_first=True)
        except UnsettledError as error:
            return Difference(-1, "", error.loop, (), "unsettled")
        if found:
            return found[0]
    return None


PROBE: Walk = tuple(
    Step(frozenset({"lit"} if lit else ()), event)
    for lit, event in (
        (True, "go"), (True, "swap"), (True, "go"), (True, "swap"), (False, "swap"),
        (False, "go"), (True, "swap"), (True, "swap"), (False, "swap"), (True, "swap"),
    )
)  # fmt: skip


@pytest.mark.parametrize("engine", ENGINES, ids=ENGINE_IDS)
def test_a_directed_probe_tells_every_wrong_coordinator(
    engine: type[StateMachineEngine] | type[SismicEngine],
) -> None:
    machine = ModeMachine(load_chart(SMALL / "order_probe.yaml"))
    with limited(20.0):
        trace = record(engine(machine.chart), PROBE)
    assert differences(machine, machine, trace) == []
    silent = [w.__name__ for w in WRONG_COORDINATORS
              if first_difference(machine, w(machine), (trace,)) is None]  # fmt: skip
    assert silent == []


@pytest.mark.parametrize("wrong", WRONG_COORDINATORS, ids=lambda one: one.__name__)
def test_walks_tell_a_wrong_coordinator(wrong: type[WrongCoordinator]) -> None:
    found = [
        first_difference(
            machine_of(name), wrong(machine_of(name)), short_traces(name, SismicEngine)
        )
        for name in INSTALLATIONS
    ]
    assert any(found)


@pytest.mark.parametrize("name", INSTALLATIONS)
def test_walks_tell_most_rule_mutants(name: str) -> None:
    """One in ten of them here, all in the long test."""
    chosen = list(mutants(machine_of(name).chart))[::10]
    chosen = [one for one in chosen if not one[0].endswith("tried last")]
    caught = [what for what, chart in chosen if _is_caught(chart, short_traces(name, SismicEngine))]
    assert len(caught) >= 0.8 * len(chosen)


def _is_caught(chart: ChartSpec, traces: tuple[Trace, ...]) -> bool:
    machine = ModeMachine(chart)
    return first_difference(machine, machine, traces) is not None


def test_an_order_taken_from_the_regions_is_seen() -> None:
    """The same chart with its regions turned round: ours agrees, sequential guards don't."""
    chart = load_chart(SMALL / "order_probe.yaml")
    turned = replace(chart, regions=dict(reversed(chart.regions.items())))
    machine, other = ModeMachine(chart), ModeMachine(turned)
    for coordinate, same in ((lambda m: m, True), (SequentialGuards, False)):
        assert (_states(machine, coordinate(machine)) == _states(other, coordinate(other))) is same


def _states(
    machine: ModeMachine, coordinator: ModeMachine | WrongCoordinator
) -> list[dict[str, str]]:
    configuration, found = machine.initial, []
    for step in PROBE:
        bits = machine.bits(step.true)
        configuration = coordinator.send(configuration, bits, step.event).configuration
        found.append(dict(sorted(zip(machine.region_ids, configuration, strict=True))))
    return found


# The reference engines' own traps -------------------------------------------------------------


def test_the_time_limit_ends_an_engine_that_loops() -> None:
    """A second instance of a class gets no data, and an eventless guard on one loops for ever."""
    text = to_scxml(load_chart(SMALL / "order_probe.yaml"))
    document = load(text, format="scxml")
    assert "light.off" in {state.id for state in document().configuration}
    with pytest.raises(OutOfTimeError), limited(1.0):
        document()


def test_an_event_of_no_chart_only_settles() -> None:
    machine = ModeMachine(load_chart(SMALL / "order_probe.yaml"))
    assert NOTHING not in machine.chart.events
    with limited(20.0):
        for engine in (StateMachineEngine(machine.chart), SismicEngine(machine.chart)):
            engine.set_signals(["lit"])
            assert "off" in engine.configuration()
            engine.send(NOTHING)
            assert "on" in engine.configuration()


# Long -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Long:
    walks: tuple[Walk, ...]
    fired: frozenset[str]


@cache
def long_walks(name: str) -> Long:
    machine, met = machine_of(name), Counter[str]()
    walks = [thorough_walk(machine, 500, seed, met) for seed in range(6)]
    walks += [random_walk(machine.chart, 1000, seed) for seed in range(4)]
    return Long(tuple(walks), frozenset(met))


@pytest.mark.long
@pytest.mark.parametrize("engine", ENGINES, ids=ENGINE_IDS)
@pytest.mark.parametrize("name", INSTALLATIONS)
def test_no_difference_on_long_walks(
    name: str, engine: type[StateMachineEngine] | type[SismicEngine]
) -> None:
    machine = machine_of(name)
    with limited(900.0):
        reference: ReferenceEngine = engine(machine.chart)
        for walk in long_walks(name).walks:
            assert differences(machine, machine, record(reference, walk)) == []


@cache
def cases_of_every_kind(name: str) -> tuple[tuple[Case, ...], tuple[Case, ...]]:
    return reachable_cases(machine_of(name))


@pytest.mark.parametrize("engine", ENGINES, ids=ENGINE_IDS)
def test_a_jump_lands_in_the_configuration(
    engine: type[StateMachineEngine] | type[SismicEngine],
) -> None:
    machine = ModeMachine(load_chart(SMALL / "order_probe.yaml"))
    cases = [
        (edge.source, edge.cube[0], "" if edge.event == AUTOMATIC else edge.event)
        for edge in explore(machine.kernel).edges
    ]
    with limited(20.0):
        reference = engine(machine.chart)
        for configuration, _, _ in cases:
            reference.jump(configuration)
            assert reference.configuration() == configuration
        assert len(cases) > 10
        assert case_differences(machine, reference, cases) == []
        wrong = ModeMachine(replace(machine.chart, refusals={}))
        assert case_differences(wrong, reference, cases) != []


@pytest.mark.long
@pytest.mark.half_an_hour
@pytest.mark.parametrize("engine", ENGINES, ids=ENGINE_IDS)
@pytest.mark.parametrize("name", INSTALLATIONS)
def test_no_difference_on_any_kind_of_reachable_step(
    name: str, engine: type[StateMachineEngine] | type[SismicEngine]
) -> None:
    """Every set of rules that can fire on every event; sismic also in every configuration.

    python-statemachine, many times slower, takes one in three of them.
    """
    machine = machine_of(name)
    kinds, places = cases_of_every_kind(name)
    with limited(1800.0):
        reference: ReferenceEngine = engine(machine.chart)
        cases = (*kinds, *places) if engine is SismicEngine else kinds[::3]
        assert case_differences(machine, reference, cases) == []


@pytest.mark.long
@pytest.mark.half_an_hour
@pytest.mark.parametrize("name", INSTALLATIONS)
def test_all_rule_mutants_that_differ_are_told(name: str) -> None:
    """By the long walks, or else by the reachable steps that the test before ties to sismic.

    What is left can't be told from the chart by any kind of reachable step: mostly two rules
    that are never enabled together where it matters.
    """
    machine = machine_of(name)
    with limited(1800.0):
        reference = SismicEngine(machine.chart)
        traces = tuple(record(reference, walk) for walk in long_walks(name).walks)
        every = list(mutants(machine.chart))
        silent = [(what, chart) for what, chart in every if not _is_caught(chart, traces)]
        left = [what for what, chart in silent
                if is_same(ModeMachine(chart), machine, _telling(name, what))]  # fmt: skip
    assert len(left) <= 0.05 * len(every), left
    assert all(what.split(": ")[1] in ("tried last", "unguarded") for what in left), left


def _telling(name: str, what: str) -> Iterable[Case]:
    """Return the steps that could tell a mutant: with an event of the rule or refusal, if any."""
    chart, changed = machine_of(name).chart, what.split(":", maxsplit=1)[0]
    events = (chart.rules.get(changed) or chart.refusals[changed]).events
    kinds, places = cases_of_every_kind(name)
    return (case for case in (*kinds, *places) if case[2] in events) if events else kinds


@pytest.mark.long
@pytest.mark.parametrize("name", INSTALLATIONS)
def test_settling_before_the_event_matters_in_both_installations(name: str) -> None:
    machine = machine_of(name)
    with limited(600.0):
        traces = tuple(record(SismicEngine(machine.chart), w) for w in long_walks(name).walks[:2])
    assert first_difference(machine, NoSettlingBefore(machine), traces) is not None
