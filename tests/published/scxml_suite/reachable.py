"""Single steps out of all that an installation can reach, for an engine that can be jumped there.

Our own exploration chooses the steps; it doesn't say what is right.
"""

from __future__ import annotations

from collections.abc import Iterable

from tests.published.scxml_suite.engines import NOTHING, ReferenceEngine
from trainer.charts.explore import explore
from trainer.charts.guard import Configuration
from trainer.charts.kernel import AUTOMATIC, UnsettledError
from trainer.charts.machine import ModeMachine

Case = tuple[Configuration, int, str]
"""A configuration to start from, the signals, and an event; none: the signals alone act."""


def reachable_cases(machine: ModeMachine) -> tuple[tuple[Case, ...], tuple[Case, ...]]:
    """Return, out of all that is reachable, one step for each event with each set of rules or
    refusal that can follow it, and one step for each reachable configuration and event.
    """
    kinds: dict[tuple[str, tuple[str, ...], str], Case] = {}
    places: dict[tuple[Configuration, str], Case] = {}
    for edge in explore(machine.kernel).edges:
        event = "" if edge.event == AUTOMATIC else edge.event
        case = (edge.source, edge.cube[0], event)
        kinds.setdefault((event, edge.rules, edge.refusal), case)
        places.setdefault((edge.source, event), case)
    return tuple(kinds.values()), tuple(places.values())


def case_differences(
    machine: ModeMachine, reference: ReferenceEngine, cases: Iterable[Case]
) -> list[tuple[Case, Configuration, Configuration]]:
    found = []
    for case in cases:
        configuration, bits, event = case
        outcome = machine.settle(configuration, bits)
        reference.jump(configuration)
        reference.set_signals(machine.signal_names(bits))
        fired: list[str] = []
        if outcome.firings or not event:
            reference.send(NOTHING)
            fired += getattr(reference, "fired", ())
        if event:
            outcome = machine.send(configuration, bits, event)
            reference.send(event)
            fired += getattr(reference, "fired", ())
        ours, theirs = outcome.configuration, reference.configuration()
        is_same = ours == theirs
        if hasattr(reference, "fired"):
            is_same = is_same and sorted(fired) == sorted(f.rule.id for f in outcome.firings)
        if not is_same:
            found.append((case, ours, theirs))
    return found


def is_same(one: ModeMachine, other: ModeMachine, cases: Iterable[Case]) -> bool:
    try:
        return all(_step(one, case) == _step(other, case) for case in cases)
    except UnsettledError:
        return False


def _step(machine: ModeMachine, case: Case) -> tuple[Configuration, list[str]]:
    configuration, bits, event = case
    if event:
        outcome = machine.send(configuration, bits, event)
    else:
        outcome = machine.settle(configuration, bits)
    return outcome.configuration, sorted(one.rule.id for one in outcome.firings)
