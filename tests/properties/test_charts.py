"""Random walks: the real machines and the compiled table never part, whatever is fitted."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trainer.charts.table import Leaf, Table

from tests.helpers.charts import (
    change_signals,
    generic_chart,
    is_possible,
    machine_for,
    make_possible,
    run_event,
)
from tests.unit.charts.small_chart import SMALL
from trainer.charts.cubes import FREE
from trainer.charts.guard import compile_guard, conjunctions
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.loader import load_chart, read_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, Any, Guard, In, Not, Signal
from trainer.document import parse_document
from trainer.errors import FileError, TrainerError

CHART = generic_chart()
SIGNALS = sorted(CHART.signals)
NORMAL = change_signals(
    (), ["self_test_passed", "electrical_ok", "attitude_valid", "servo_ok", "precision_usable",
         "bank_allows_engagement", "pitch_allows_engagement", "engagement_height_reached",
         "airspeed_above_lowest", "airspeed_below_highest"],
)  # fmt: skip
"""Walks start from these, or they would hardly ever leave the ground."""

signals = st.sets(st.sampled_from(SIGNALS), max_size=5).map(
    lambda flipped: make_possible(CHART, NORMAL ^ flipped)
)
moves = st.lists(st.tuples(st.sampled_from(["", *CHART.events]), signals), min_size=5, max_size=25)
fits = st.sampled_from(
    [{}, *({o.id: c} for o in CHART.options.values() for c in o.choices if c != o.default)]
)


@cache
def _table(chosen: tuple[tuple[str, str], ...]) -> Table:
    return Table(machine_for(CHART, dict(chosen)))


def _only_leaf(leaves: list[Leaf], bits: int) -> Leaf:
    holding = [one for one in leaves if not one.cube[0] & ~bits and not one.cube[1] & bits]
    assert len(holding) == 1
    return holding[0]


@settings(max_examples=120)
@given(moves, fits)
def test_the_machines_and_the_table_walk_alike(
    walk: list[tuple[str, frozenset[str]]], chosen: dict[str, str]
) -> None:
    table = _table(tuple(chosen.items()))
    machine = table.machine
    here = machine.initial
    for event, true in walk:
        bits = machine.bits(true)
        settled = machine.settle(here, bits)
        leaf = _only_leaf(list(table.settle(here, FREE)), bits)
        assert leaf.configuration == settled.configuration
        assert sorted(r.id for r in leaf.fired) == sorted(f.rule.id for f in settled.firings)
        assert leaf.rounds == len(settled.microsteps)
        if event not in machine.chart.events:
            here = settled.configuration
            continue
        at_rest = not machine.chart.events[event].changes
        start = settled.configuration if at_rest else here
        outcome = run_event(machine, start, bits, event)
        leaf = _only_leaf(list(table.send(start, FREE, event, at_rest=at_rest)), bits)
        assert leaf.configuration == outcome.configuration
        assert leaf.refusal is outcome.refusal
        assert sorted(r.id for r in leaf.fired) == sorted(f.rule.id for f in outcome.firings)
        here = outcome.configuration


@settings(max_examples=120)
@given(moves, fits)
def test_a_walk_is_repeatable_settled_and_breaks_no_invariant(
    walk: list[tuple[str, frozenset[str]]], chosen: dict[str, str]
) -> None:
    machine = _table(tuple(chosen.items())).machine
    checks = [
        (one.id, machine.compile(one.if_), machine.compile(one.then))
        for one in machine.chart.invariants.values()
    ]
    here = machine.initial
    for event, true in walk:
        bits = machine.bits(true)
        event_ = event if event in machine.chart.events else ""
        outcome = run_event(machine, here, bits, event_)
        assert run_event(machine, here, bits, event_) == outcome
        here = outcome.configuration if outcome.refusal is None else machine.settle(
            outcome.configuration, bits
        ).configuration  # fmt: skip
        assert machine.settle(here, bits).microsteps == ()
        broken = [name for name, if_, then in checks if if_(here, bits) and not then(here, bits)]
        assert broken == []


@settings(max_examples=60)
@given(moves)
def test_the_order_of_the_regions_decides_nothing(walk: list[tuple[str, frozenset[str]]]) -> None:
    chart = machine_for(CHART).chart
    turned = type(chart)(
        **{name: getattr(chart, name) for name in chart.__dataclass_fields__ if name != "regions"},
        regions=dict(reversed(chart.regions.items())),
    )
    one, other = _table(()).machine, ModeMachine(turned)
    here, there = one.initial, other.initial
    for event, true in walk:
        name = event if event in chart.events else ""
        here = run_event(one, here, one.bits(true), name).configuration
        there = run_event(other, there, other.bits(true), name).configuration
        assert here == tuple(reversed(there))


@contextmanager
def _told(start: str) -> Iterator[None]:
    """Check that an error of a file names it and its problems."""
    try:
        yield
    except FileError as error:
        problems, message = error.problems, str(error)
        if not problems or not message.startswith(start):
            raise AssertionError(message) from error
        raise


REGIONS = {"first": frozenset("abc"), "second": frozenset("xy")}
NAMES = ("s", "t", "u")
leaves = st.one_of(
    st.sampled_from(NAMES).map(Signal),
    st.sampled_from(sorted(REGIONS)).flatmap(
        lambda region: st.sets(st.sampled_from(sorted(REGIONS[region]))).map(
            lambda states: In(region, frozenset(states))
        )
    ),
)
guards: st.SearchStrategy[Guard] = st.recursive(
    leaves,
    lambda part: st.one_of(
        part.map(Not),
        st.lists(part, max_size=3).map(lambda parts: All(tuple(parts))),
        st.lists(part, max_size=3).map(lambda parts: Any(tuple(parts))),
    ),
    max_leaves=8,
)


@settings(max_examples=300)
@given(guards, st.sampled_from("abc"), st.sampled_from("xy"), st.sets(st.sampled_from(NAMES)))
def test_a_guard_holds_exactly_where_its_expansion_does(
    guard: Guard, first: str, second: str, true: set[str]
) -> None:
    index = {"first": 0, "second": 1}
    bit = {name: number for number, name in enumerate(NAMES)}
    compiled = compile_guard(guard, index, bit)
    bits = sum(1 << bit[name] for name in true)
    expanded = any(
        all((name in true) == value for name, value in signals)
        and all((first, second)[index[region]] in states for region, states in regions)
        for signals, regions in conjunctions(guard, REGIONS)
    )
    assert compiled((first, second), bits) == expanded


@settings(max_examples=150)
@given(st.integers(0, len(SMALL) - 1), st.text(max_size=3), st.integers(0, 12))
def test_a_spoiled_chart_is_read_or_refused_never_worse(at: int, put: str, cut: int) -> None:
    text = SMALL[:at] + put + SMALL[at + cut :]
    with suppress(FileError), _told("spoiled.yaml:"):
        assert read_chart(parse_document(text, "spoiled.yaml")).regions


@settings(max_examples=60)
@given(st.binary(max_size=60))
def test_bytes_that_are_no_chart_are_refused(tmp_path_factory: object, data: bytes) -> None:
    path = Path(str(tmp_path_factory.getbasetemp())) / "bytes.yaml"  # type: ignore[attr-defined]
    path.write_bytes(data)
    with pytest.raises(TrainerError, match=re.escape(str(path))):
        load_chart(path)


def test_made_signals_are_possible() -> None:
    assert is_possible(CHART, NORMAL)
    assert AUTOMATIC not in CHART.events
