"""Mutation check: the behaviour cases must notice a chart in which one rule is spoiled.

A mutant is killed by a case that fails on it, or by the loader that refuses it. It is equivalent,
and counted apart, if its rules come in the same order as before (an order was dropped that guards
or another order say too) or if exploration proves the same outcome everywhere. What is left is a
survivor, and every survivor must be listed here with its reason.
"""

from __future__ import annotations

import random
from collections import Counter
from functools import cache

import pytest

from tests.helpers.charts import generic_chart
from tests.helpers.equivalence import Equivalence
from tests.helpers.mutants import Judge, Mutant, all_mutants

SURVIVORS: dict[str, str] = {}
"""Mutants that neither a case nor the loader notices, not equivalent either, with the reason."""

SMOKE = 20


@cache
def _judge() -> Judge:
    return Judge(generic_chart())


@cache
def _equivalence(options: tuple[tuple[str, str], ...]) -> Equivalence:
    return Equivalence(generic_chart(), dict(options))


def _verdict(mutant: Mutant) -> str:
    if mutant.keeps_the_order():
        return "equivalent: same order"
    if _judge().killer(mutant):
        return "killed by a case"
    if mutant.refused_when_loading():
        return "killed by the loader"
    options = tuple(sorted(mutant.needed_options.items()))
    return "" if _equivalence(options).difference(mutant) else "equivalent: same everywhere"


def test_the_true_chart_passes_its_own_cases() -> None:
    assert len(_judge().cases) >= 250


def test_mutants_are_made_of_every_rule_in_every_way() -> None:
    mutants = all_mutants(generic_chart())
    chart = generic_chart()
    assert {m.original.id for m in mutants} == set(chart.rules) | set(chart.refusals)
    assert len({m.name for m in mutants}) == len(mutants)
    assert all(mutant.spoiled != chart for mutant in mutants)
    assert set(Counter(mutant.operator for mutant in mutants)) == {
        "drop rule", "drop guard part", "negate a guard part", "drop a guard state",
        "change target", "drop a source", "drop an event", "drop an order", "drop an effect",
    }  # fmt: skip


def test_a_sample_of_mutants_is_killed() -> None:
    # Dropping a part may change nothing, which only the long check proves; these always matter.
    telling = {"drop rule", "negate a guard part", "change target", "drop an event"}
    mutants = [one for one in all_mutants(generic_chart()) if one.operator in telling]
    sample = random.Random(7).sample(mutants, SMOKE)
    alive = [m.name for m in sample if not _judge().killer(m) and not m.refused_when_loading()]
    assert alive == []


@pytest.mark.long
def test_nearly_every_mutant_is_killed(record_property: pytest.RecordProperty) -> None:
    verdicts = {mutant.name: _verdict(mutant) for mutant in all_mutants(generic_chart())}
    counts = Counter(verdicts.values())
    survivors = sorted(name for name, verdict in verdicts.items() if not verdict)
    record_property("verdicts", dict(counts))
    record_property("survivors", survivors)
    print(dict(counts), survivors)  # noqa: T201  (the figures are wanted in the log)
    killed = counts["killed by a case"] + counts["killed by the loader"]
    judged = killed + len(survivors)
    assert judged >= 100
    assert killed >= 0.98 * judged
    assert survivors == sorted(SURVIVORS)


@pytest.mark.long
@pytest.mark.parametrize("name", ["glidepath_captured", "servo_disconnects", "lateral_begins"])
def test_the_proof_of_equivalence_can_fail(name: str) -> None:
    mutant = next(m for m in all_mutants(generic_chart()) if m.name == f"{name}: dropped")
    assert _equivalence(()).difference(mutant)
