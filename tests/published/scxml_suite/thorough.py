"""Walks that seek out the steps on which a wrong rule would show.

Besides which rules fire, a step is worth taking if two rules of a region are enabled together
(only their order decides), if a rule is held back by its guard alone, or if exactly one refusal
stands against an event that would do something.
"""

from __future__ import annotations

from collections import Counter
from random import Random

from tests.helpers.charts import microstep
from tests.published.scxml_suite.walks import CANDIDATES, Step, Walk, possible
from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, evaluate, evaluate_at
from trainer.charts.kernel import AUTOMATIC, MAXIMUM_ROUNDS
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import RuleSpec


class Scout:
    """Names what is worth meeting in a step, on one machine."""

    def __init__(self, machine: ModeMachine) -> None:
        self.machine = machine
        self._tried: dict[tuple[str, int, str], list[RuleSpec]] = {}
        for rule in ordered_rules(machine.chart.rules):
            index = machine.region_index[rule.region]
            for event in rule.events or (AUTOMATIC,):
                for source in rule.sources:
                    self._tried.setdefault((event, index, source), []).append(rule)

    def look(
        self, configuration: Configuration, bits: int, event: str
    ) -> tuple[Configuration, set[str]]:
        """Return where a step leads and what is met on the way."""
        configuration, met = self._settle(configuration, bits)
        refusals, chart = self.machine.chart.refusals.values(), self.machine.chart
        against = [r.id for r in refusals
                   if event in r.events and evaluate_at(r.guard, chart, configuration, bits)]  # fmt: skip
        would = self._features(configuration, bits, event)
        if against:
            alone = len(against) == 1 and any(one.startswith("fires") for one in would)
            return configuration, met | ({f"alone {against[0]}"} if alone else set(against))
        configuration, _ = microstep(self.machine, configuration, bits, event)
        last, after = self._settle(configuration, bits)
        return last, met | would | after

    def _settle(self, configuration: Configuration, bits: int) -> tuple[Configuration, set[str]]:
        met: set[str] = set()
        for _ in range(MAXIMUM_ROUNDS):
            met |= self._features(configuration, bits, AUTOMATIC)
            configuration, fired = microstep(self.machine, configuration, bits, AUTOMATIC)
            if not fired:
                break
        return configuration, met

    def _features(self, configuration: Configuration, bits: int, event: str) -> set[str]:
        met: set[str] = set()
        states = dict(zip(self.machine.region_ids, configuration, strict=True))
        true = frozenset(self.machine.signal_names(bits))
        for index, state in enumerate(configuration):
            tried = self._tried.get((event, index, state), [])
            enabled = [rule.id for rule in tried if evaluate(rule.guard, states, true)]
            if enabled:
                met.add(f"fires {enabled[0]}")
                met |= {f"{enabled[0]} before {other}" for other in enabled[1:]}
            else:
                met |= {f"{rule.id} held back" for rule in tried}
        return met


def thorough_walk(machine: ModeMachine, length: int, seed: int, met: Counter[str]) -> Walk:
    """Return a walk that leans towards what was seldom met; `met` is counted on."""
    random, scout, chart = Random(seed), Scout(machine), machine.chart
    events, signals = sorted(chart.events), sorted(chart.signals)
    configuration, true = machine.initial, frozenset[str]()
    walk: list[Step] = []
    for _ in range(length):
        looks: list[tuple[float, Step, Configuration, set[str]]] = []
        for _ in range(CANDIDATES):
            flips = set(random.sample(signals, random.choice((0, 1, 1, 2, 3, 4))))
            step = Step(possible(chart, true ^ flips, random), random.choice(events))
            after, found = scout.look(configuration, machine.bits(step.true), step.event)
            rarity = min((met[one] for one in found), default=10**6) + random.random()
            looks.append((rarity, step, after, found))
        _, step, configuration, found = min(looks, key=lambda one: one[0])
        met.update(found)
        true = step.true
        walk.append(step)
    return tuple(walk)
