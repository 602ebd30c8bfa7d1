"""The kernel does what the chart says, row by row and step by step; so does every changed one."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cache, partial
from itertools import product
from typing import Any, NamedTuple

import pytest

from tests.helpers.charts import generic_chart, is_possible, machine_for, make_possible
from tests.helpers.definition import Definition, sends, sent
from tests.helpers.situations import workspace
from tests.helpers.ways import ring
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.mutants import mutants
from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, regions_in, signals_in
from trainer.charts.kernel import (
    ALWAYS,
    AUTOMATIC,
    MAXIMUM_ROUNDS,
    REFUSALS,
    Entry,
    Kernel,
    Microstep,
    Overlay,
    Row,
    UnsettledError,
    forced,
    made_up,
)
from trainer.charts.machine import ModeMachine
from trainer.charts.smallest import lamp
from trainer.charts.spec import All, ChartSpec, In, Not, RuleSpec

RICH = {
    "back_course": "fitted",
    "hand_steering": "fitted",
    "director_key_with_autopilot": "hides_cue",
    "altitude_arming": "by_key",
    "at_minimum_use_height": "disconnects",
    "leaving_go_around": "both_axes",
}
"""Choices that bring every region and the arm altitude key."""

Rows = dict[Row, list[RuleSpec]]


# ---------------------------------------------------------------- row by row, all three alike


def _rows(chart: ChartSpec) -> Rows:
    index = {name: number for number, name in enumerate(chart.regions)}
    rows: Rows = {}
    for rule in ordered_rules(chart.rules):
        for event in rule.events or (AUTOMATIC,):
            for source in rule.sources:
                rows.setdefault((event, index[rule.region], source), []).append(rule)
    return rows


def _contexts(machine: ModeMachine, row: Row, rules: list[RuleSpec]) -> Iterator[Configuration]:
    """Yield the row's state together with every state of the regions that its guards read."""
    _, index, state = row
    read = sorted(machine.region_index[name] for rule in rules for name in regions_in(rule.guard))
    regions = list(machine.chart.regions.values())
    for chosen in product(*(regions[i].states for i in dict.fromkeys(read))):
        one = list(machine.initial)
        for i, value in zip(dict.fromkeys(read), chosen, strict=True):
            one[i] = value
        if index in read and one[index] != state:
            continue
        one[index] = state
        yield tuple(one)


def _valuations(chart: ChartSpec, rules: list[RuleSpec]) -> list[frozenset[str]]:
    """Return every possible valuation of the signals that the rules read, others as they must."""
    names = sorted(frozenset().union(*(signals_in(rule.guard) for rule in rules)))
    found = []
    for values in product((False, True), repeat=len(names)):
        true = {name for name, value in zip(names, values, strict=True) if value}
        closed = set(true)
        for _ in chart.signals:
            closed |= {other for one in closed for other in chart.signals[one].implies}
        if closed & set(names) == true and is_possible(chart, closed):
            found.append(frozenset(closed))
    return found


def _by_kernel(kernel: Kernel, row: Row, configuration: Configuration, bits: int) -> str:
    """Return where the kernel's microstep moves a region, or an empty text."""
    event, index, _ = row
    region, code = tuple(kernel.chart.regions)[index], kernel.pack(configuration)
    after, step = kernel._stepped(event, code, bits)
    for firing in step.firings:
        if firing.rule.region == region:
            assert kernel.unpack(after)[index] == firing.entered
            return firing.entered
    assert kernel.unpack(after)[index] == configuration[index]
    return ""


def _by_library(machine: ModeMachine, row: Row, configuration: Configuration, bits: int) -> str:
    event, index, state = row
    step = Microstep(event, machine.kernel.pack(configuration), ())
    firing = machine.fire(index, state, step, bits)
    return firing.entered if firing is not None else ""


def _differences(
    machine: ModeMachine, row: Row, rules: list[RuleSpec], definition: Definition
) -> Iterator[tuple[object, ...]]:
    valuations = [machine.bits(true) for true in _valuations(machine.chart, rules)]
    for configuration in _contexts(machine, row, rules):
        for bits in valuations:
            said = definition.outcome(row, configuration, bits)
            decided = _by_kernel(machine.kernel, row, configuration, bits)
            fired = _by_library(machine, row, configuration, bits)
            if not said == decided == fired:
                yield row, configuration, machine.signal_names(bits), said, decided, fired


@pytest.mark.parametrize(
    ("chosen", "every"),
    [
        pytest.param({}, 6, id="default, one in six"),
        pytest.param({}, 1, id="default", marks=pytest.mark.long),
        pytest.param(RICH, 1, id="rich", marks=pytest.mark.long),
    ],
)
def test_every_row_is_what_the_rules_say_the_kernel_decides_and_the_library_fires(
    chosen: dict[str, str], every: int
) -> None:
    machine = machine_for(generic_chart(), chosen)
    rows, definition = _rows(machine.chart), Definition(machine.chart)
    assert set(machine.kernel.rows) == set(rows)
    wrong = [
        found
        for row in sorted(rows)[::every]
        for found in _differences(machine, row, rows[row], definition)
    ]
    assert wrong == []


def _altitude_captured(machine: ModeMachine) -> tuple[Row, list[RuleSpec]]:
    rows = _rows(machine.chart)
    return next(pair for pair in rows.items() if pair[1][-1].id == "altitude_captured")


def test_the_comparison_notices_a_kernel_that_decides_otherwise() -> None:
    machine = machine_for(generic_chart())
    row, rules = _altitude_captured(machine)
    machine.kernel = forced(machine.kernel, row, rules[-1].target)
    found = list(_differences(machine, row, rules, Definition(machine.chart)))
    assert found
    assert {one[4] for one in found} == {rules[-1].target}


def test_the_comparison_notices_a_library_that_fires_otherwise() -> None:
    machine = machine_for(generic_chart())
    row, rules = _altitude_captured(machine)
    event, index, state = row
    machine.machines[index].events[event].transitions[state].clear()
    found = list(_differences(machine, row, rules, Definition(machine.chart)))
    assert found
    assert {one[5] for one in found} == {""}


@pytest.mark.parametrize("chosen", [{}, RICH], ids=["default", "rich"])
def test_every_refusal_is_what_the_chart_says(chosen: dict[str, str]) -> None:
    machine = machine_for(generic_chart(), chosen)
    chart, definition = machine.chart, Definition(machine.chart)
    ready = {"system": "ready", "engagement": "autopilot", "lateral": "roll_hold"}
    starts = [
        machine.initial,
        machine.configuration({"system": "ready"}),
        machine.configuration({**ready, "vertical": "pitch_hold"}),
        machine.configuration({**ready, "vertical": "glidepath", "lateral": "approach_course"}),
        machine.configuration({**ready, "vertical": "pitch_hold", "lateral": "course_track"}),
    ]
    met: set[str] = set()
    for event in chart.events:
        guards = [r.guard for r in chart.refusals.values() if event in r.events]
        names = sorted(frozenset().union(*(signals_in(guard) for guard in guards)))
        for start, values in product(starts, product((False, True), repeat=len(names))):
            wanted = {name for name, value in zip(names, values, strict=True) if value}
            bits = machine.bits(make_possible(chart, wanted))
            refusal = machine.kernel.refusal(start, bits, event)
            said = definition.outcome((event, REFUSALS, ""), start, bits)
            assert (refusal.id if refusal is not None else "") == said
            assert machine.kernel.outcome((event, REFUSALS, ""), start, bits) == said
            met.add(said)
    assert met > {""}


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
@pytest.mark.parametrize("count", [800, pytest.param(20_000, marks=pytest.mark.long)])
def test_walks_of_the_kernel_are_those_of_the_definition(ship: str, count: int) -> None:
    machine = workspace().logic(ship).machine
    kernel, definition = Kernel(machine.chart), Definition(machine.chart)
    refused = fired = 0
    for here, bits, event in sends(machine, count, 3):
        outcome = sent(kernel, (here, bits, event))
        is_selector = event != AUTOMATIC and bool(machine.chart.events[event].changes)
        said = definition.send(here, bits, event, settle_first=not is_selector)
        refusal = outcome.refusal.id if outcome.refusal is not None else ""
        assert (outcome.configuration, refusal) == said
        assert kernel.is_at_rest(outcome.configuration, bits)
        assert kernel.is_at_rest(here, bits) == (definition.step(here, bits, AUTOMATIC) is None)
        refused, fired = refused + bool(refusal), fired + bool(outcome.firings)
    assert min(refused, fired) > count / 100


def test_programs_that_are_forgotten_decide_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    machine = workspace().logic("ship_amber").machine
    walk = list(sends(machine, 300, 4))
    told = [sent(Kernel(machine.chart), send) for send in walk]
    monkeypatch.setattr("trainer.charts.kernel._MOST_REMEMBERED", 3)
    forgetful = Kernel(machine.chart)
    assert [sent(forgetful, send) for send in walk] == told
    assert len(forgetful._programs) <= 3


# ---------------------------------------------------------------- settling


@pytest.mark.parametrize("size", [2, 3, 7, 40])
def test_settling_stops_where_a_configuration_comes_again_and_names_the_loop(size: int) -> None:
    chart = ring(size, closed=True)
    for runner in (Kernel(chart), ModeMachine(chart)):
        with pytest.raises(UnsettledError) as caught:
            runner.settle(("s0",), 1)
        names = [f"from_s{number}" for number in range(size)]
        assert list(caught.value.loop) == names
        assert all(name in str(caught.value) for name in names)
        with pytest.raises(UnsettledError):
            runner.send(("s0",), 1, "press")
        assert runner.settle(("s0",), 0).configuration == ("s0",)


def test_a_loop_after_a_way_into_it_is_named_without_the_way() -> None:
    chart = ring(6, closed=False)
    back = replace(chart.rules["from_s0"], id="back", sources=("s5",), target="s3")
    kernel = Kernel(replace(chart, rules={**chart.rules, "back": back}))
    with pytest.raises(UnsettledError) as caught:
        kernel.settle(("s0",), 1)
    assert set(caught.value.loop) == {"from_s3", "from_s4", "back"}


def test_the_most_rounds_are_settled_and_more_are_not() -> None:
    kernel = Kernel(ring(MAXIMUM_ROUNDS + 1, closed=False))
    outcome = kernel.settle(("s0",), 1)
    assert outcome.configuration == (f"s{MAXIMUM_ROUNDS}",)
    assert len(outcome.microsteps) == MAXIMUM_ROUNDS
    with pytest.raises(UnsettledError):
        Kernel(ring(MAXIMUM_ROUNDS + 2, closed=False)).settle(("s0",), 1)


def test_an_automatic_rule_to_its_own_state_never_rests() -> None:
    chart = lamp()
    stays = replace(chart.rules["fails"], id="stays", sources=("none",), target="none")
    kernel = Kernel(replace(chart, rules={**chart.rules, "stays": stays}))
    with pytest.raises(UnsettledError) as caught:
        kernel.settle(("none",), 0)
    assert caught.value.loop == ("stays",)


def test_a_rule_of_an_event_to_its_own_state_fires_and_changes_nothing() -> None:
    chart = lamp()
    stays = replace(chart.rules["goes_off"], id="stays", target="lit", effects=("sound",))
    rules = {name: rule for name, rule in chart.rules.items() if name != "goes_off"}
    machine = ModeMachine(replace(chart, rules={**rules, "stays": stays}))
    outcome = machine.send(("lit",), machine.bits(["powered"]), "press")
    assert outcome.configuration == ("lit",)
    assert [firing.rule.id for firing in outcome.firings] == ["stays"]
    assert (outcome.firings[0].left, outcome.firings[0].entered) == ("lit", "lit")


def test_what_a_refused_selector_was_turned_to_settles() -> None:
    chart = lamp()
    turn = replace(chart.events["press"], kind="selector", changes=("powered",))
    refusals = {"dead": replace(chart.refusals["dead"], guard=All())}
    machine = ModeMachine(replace(chart, events={"press": turn}, refusals=refusals))
    outcome = machine.send(("lit",), 0, "press", settle_first=False)
    assert outcome.refusal is refusals["dead"]
    assert outcome.configuration == ("none",)
    assert [firing.rule.id for firing in outcome.firings] == ["fails"]
    assert machine.kernel.send_all(("lit",), 0, ("press",)) == ("none",)
    passed = machine.kernel.points(machine.kernel.pack(("lit",)), 0, ("press",))
    assert [(event, machine.kernel.unpack(here)) for event, here, _ in passed] == [
        ("press", ("lit",)), (AUTOMATIC, ("lit",)), (AUTOMATIC, ("none",)),
    ]  # fmt: skip


@pytest.mark.parametrize("ship", ["ship_amber", "ship_slate"])
def test_no_event_leaves_a_configuration_unsettled_even_if_it_is_refused(ship: str) -> None:
    """Each refusal put before each selector of the ship as well."""
    true = workspace().logic(ship).machine
    selectors = tuple(e.id for e in true.chart.events.values() if e.changes)
    refusals = {
        name: replace(one, events=tuple(dict.fromkeys((*one.events, *selectors))))
        for name, one in true.chart.refusals.items()
    }
    machine = ModeMachine(replace(true.chart, refusals=refusals))
    definition, moved = Definition(machine.chart), 0
    for send in sends(machine, 1500, 5):
        outcome = sent(machine, send)
        assert definition.step(outcome.configuration, send[1], AUTOMATIC) is None
        moved += bool(send[2] in selectors and outcome.refusal and outcome.firings)
    assert moved > 10, "some refused turns must settle something, or this shows nothing"


# ---------------------------------------------------------------- changed rows


class Changed(NamedTuple):
    """A changed kernel, and what its rows are said to be."""

    kernel: Kernel
    definition: Definition


@cache
def _library(ship: str) -> Library:
    return workspace().library(ship)


def _by_rows(kernel: Kernel, chart: ChartSpec, rows: Mapping[Row, tuple[Entry, ...]]) -> Changed:
    return Changed(kernel, Definition(chart, rows))


def _changed_charts(library: Library, chance: random.Random) -> dict[str, Changed]:
    """Return charts changed in every way that there is."""
    truth, beliefs = library.truth, list(library.beliefs.values())
    chart = truth.chart
    made = mutants(truth, chart)
    kinds = {name.removeprefix("mutant: ").split(" ")[1] for name in made}
    assert kinds == {"leads", "brings", "idle"}
    found = {}
    for name in chance.sample(sorted(made), 60):
        kernel = made[name].kernel
        found[name] = _by_rows(kernel, chart, {r: kernel.entries(r) for r in made[name].rows})
    for belief in beliefs:
        found[belief.id] = Changed(belief.kernel, Definition(belief.chart))
    first, second = beliefs[0], next(b for b in beliefs if not b.rows & beliefs[0].rows)
    more = {row: second.kernel.entries(row) for row in second.rows}
    found["two at once"] = _by_rows(Overlay(first.kernel, more), first.chart, more)
    row = chance.choice(truth.rows)
    found["forced to nothing"] = _by_rows(forced(truth, row, ""), chart, {row: ()})
    region = tuple(chart.regions)[row[1]]
    always = (Entry((ALWAYS,), row[2], made_up(region)),)
    twice = forced(first.kernel, row, row[2])
    found["a change of a change"] = _by_rows(twice, first.chart, {row: always})
    refused = ("autopilot", REFUSALS, "")
    again = Overlay(twice, {refused: ()})
    found["three deep"] = _by_rows(again, first.chart, {row: always, refused: ()})
    back = Overlay(again, {row: first.kernel.entries(row)})
    found["taken back"] = _by_rows(back, first.chart, {refused: ()})
    return found


def rest(lead: Callable[..., Any], *given: Any) -> Any:
    """Return where something leads, or None if it never comes to rest."""
    try:
        return lead(*given)
    except UnsettledError:
        return None


@pytest.mark.parametrize(
    ("ship", "seed"),
    [("ship_amber", 1), pytest.param("ship_slate", 2, marks=pytest.mark.long)],
)
def test_a_changed_chart_walks_as_its_own_rows_say(ship: str, seed: int) -> None:
    library, chance = _library(ship), random.Random(seed)
    machine = library.logic.machine
    walk = list(sends(machine, 60, seed))
    places = [(sent(machine, send).configuration, send[1]) for send in walk]
    events = [*machine.chart.events, AUTOMATIC]
    parted: set[str] = set()
    for name, (kernel, definition) in _changed_charts(library, chance).items():
        for here, bits in places:
            event = chance.choice(events)
            at_rest = definition.step(here, bits, AUTOMATIC) is None
            assert kernel.is_at_rest(here, bits) == at_rest, name
            then = rest(definition.settle, here, bits)
            settled = rest(kernel.settle, here, bits)
            assert (settled.configuration if settled else None) == then, name
            said = rest(partial(definition.send, settle_first=False), here, bits, event)
            found = rest(kernel.send_all, here, bits, (event,))
            assert found == (said[0] if said else None), name
            if event != AUTOMATIC and said is not None:
                refusal = kernel.refusal(here, bits, event)
                row = (event, REFUSALS, "")
                assert (refusal.id if refusal else "") == said[1], name
                assert kernel.outcome(row, here, bits) == said[1], name
            if not at_rest or found != library.truth.send_all(here, bits, (event,)):
                parted.add(name)
    assert len(parted) > 20, "the changes must show, or this test compares nothing"
    assert {"two at once", "three deep"} <= parted


def test_an_overlay_has_its_own_rows_and_all_others_of_its_base() -> None:
    library = _library("ship_amber")
    truth = library.truth
    before = {row: truth.entries(row) for row in truth.all_rows}
    for belief in library.beliefs.values():
        own = Kernel(belief.chart)
        rows = {*truth.all_rows, *own.all_rows}
        assert truth.differing_rows(belief.kernel) == belief.rows
        assert own.differing_rows(belief.kernel) == frozenset()
        assert all(belief.kernel.entries(row) is truth.entries(row) for row in rows - belief.rows)
        assert set(belief.kernel.all_rows) >= rows - {r for r in rows if not own.entries(r)}
    assert {row: truth.entries(row) for row in truth.all_rows} == before


def test_the_definition_itself_tells_a_kernel_with_one_test_turned_round() -> None:
    machine = workspace().logic("ship_amber").machine
    row, rules = _altitude_captured(machine)
    turned = replace(rules[-1], guard=Not(rules[-1].guard))
    chart = replace(machine.chart, rules={**machine.chart.rules, turned.id: turned})
    wrong, definition = Kernel(chart), Definition(machine.chart)
    differing = [
        (here, bits)
        for here, bits, event in sends(machine, 400, 6)
        if event == AUTOMATIC
        and wrong.outcome((row[0], row[1], here[row[1]]), here, bits)
        != definition.outcome((row[0], row[1], here[row[1]]), here, bits)
    ]
    assert differing


def test_a_state_that_is_asked_for_by_name_is_told_from_all_others() -> None:
    kernel = Kernel(machine_for(generic_chart()).chart)
    for index, region in enumerate(kernel.chart.regions.values()):
        for state in region.states:
            tests = kernel.tests(In(region.id, frozenset({state})))
            for other in region.states:
                here = list(kernel.initial)
                here[index] = other
                code = kernel.pack(tuple(here))
                assert kernel.unpack(code) == tuple(here)
                assert any(not code & test.barred for test in tests) == (other == state)
