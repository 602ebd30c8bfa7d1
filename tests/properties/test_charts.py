"""Random walks: machines and cubes never part, whatever is fitted; random guards and files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.helpers.charts import (
    change_signals,
    generic_chart,
    is_possible,
    machine_for,
    make_possible,
    run_event,
)
from tests.helpers.ways import bare_chart, end_of, end_under
from tests.unit.charts.small_chart import SMALL
from trainer.charts.guard import conjunctions, evaluate, evaluate_at
from trainer.charts.kernel import AUTOMATIC, Kernel, holds
from trainer.charts.loader import load_chart, read_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import All, Any, Guard, In, Not, Signal
from trainer.charts.symbolic import Symbolic
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
def _fitted(chosen: tuple[tuple[str, str], ...]) -> tuple[ModeMachine, Symbolic]:
    machine = machine_for(CHART, dict(chosen))
    return machine, Symbolic(machine.kernel)


@settings(max_examples=60)
@given(moves, fits)
def test_the_machines_and_the_cubes_walk_alike(
    walk: list[tuple[str, frozenset[str]]], chosen: dict[str, str]
) -> None:
    machine, symbolic = _fitted(tuple(chosen.items()))
    here = machine.initial
    for event, true in walk:
        bits = machine.bits(true)
        settled = machine.settle(here, bits)
        assert end_under(symbolic, symbolic.settle(symbolic.start([here])), bits) == end_of(settled)
        if event not in machine.chart.events:
            here = settled.configuration
            continue
        at_rest = not machine.chart.events[event].changes
        start = settled.configuration if at_rest else here
        outcome = run_event(machine, start, bits, event)
        ways = symbolic.send(event, symbolic.start([start]), at_rest=at_rest)
        assert end_under(symbolic, ways, bits) == end_of(outcome)
        here = outcome.configuration


@settings(max_examples=120)
@given(moves, fits)
def test_a_walk_is_repeatable_settled_and_breaks_no_invariant(
    walk: list[tuple[str, frozenset[str]]], chosen: dict[str, str]
) -> None:
    machine, _ = _fitted(tuple(chosen.items()))
    chart = machine.chart
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
        broken = [
            one.id
            for one in chart.invariants.values()
            if evaluate_at(one.if_, chart, here, bits)
            and not evaluate_at(one.then, chart, here, bits)
        ]
        assert broken == []


@settings(max_examples=60)
@given(moves)
def test_the_order_of_the_regions_decides_nothing(walk: list[tuple[str, frozenset[str]]]) -> None:
    chart = machine_for(CHART).chart
    turned = type(chart)(
        **{name: getattr(chart, name) for name in chart.__dataclass_fields__ if name != "regions"},
        regions=dict(reversed(chart.regions.items())),
    )
    one, other = _fitted(())[0], ModeMachine(turned)
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
    now = {"first": first, "second": second}
    expanded = any(
        all((name in true) == value for name, value in signals)
        and all(now[region] in states for region, states in regions)
        for signals, regions in conjunctions(guard, REGIONS)
    )
    assert evaluate(guard, now, true) == expanded


@settings(max_examples=300)
@given(guards, st.sampled_from("abc"), st.sampled_from("xy"), st.sets(st.sampled_from(NAMES)))
def test_a_guard_holds_exactly_where_the_kernels_tests_do(
    guard: Guard, first: str, second: str, true: set[str]
) -> None:
    regions = {name: sorted(states) for name, states in REGIONS.items()}
    kernel = Kernel(bare_chart(regions, NAMES))
    code, bits = kernel.pack((first, second)), kernel.bits(true)
    said = evaluate(guard, {"first": first, "second": second}, true)
    assert holds(kernel.tests(guard), code, bits) == said
    assert evaluate_at(guard, kernel.chart, (first, second), bits) == said


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
