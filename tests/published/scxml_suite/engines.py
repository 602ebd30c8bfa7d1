"""Two reference engines behind one small face: python-statemachine and sismic.

python-statemachine reads the SCXML that the program exports. sismic reads its own YAML, written
here straight from the chart and not by way of the SCXML, so that a fault of the SCXML writer
shows as a difference between the two.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any as AnyType
from typing import Protocol

from sismic.interpreter import Interpreter
from sismic.io import import_from_yaml
from statemachine.io import load
from statemachine.orderedset import OrderedSet

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration
from trainer.charts.scxml import to_scxml
from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, RuleSpec, Signal

NOTHING = "settle_only"
"""An event that no chart has: the engine only takes what is enabled without an event."""


class ReferenceEngine(Protocol):
    """An engine of somebody else's that runs a chart of ours."""

    name: str

    def restart(self) -> None:
        """Go back to the initial configuration with every signal false."""

    def set_signals(self, true: Iterable[str]) -> None:
        """Change the signals all at once, without taking a step."""

    def jump(self, configuration: Configuration) -> None:
        """Be in a configuration at once; nothing is taken on the way."""

    def send(self, event: str) -> None:
        """Take an event and all that follows."""

    def configuration(self) -> Configuration:
        """Return the active state of each region, in chart order."""


class StateMachineEngine:
    """python-statemachine, its restricted evaluator, on the exported SCXML.

    Only the first instance of a class gets the values of `<datamodel>`, so that element is taken
    out and the signals live on the model object that the engine is handed.
    """

    name = "python-statemachine"

    def __init__(self, chart: ChartSpec, document: str | None = None) -> None:
        text = document or to_scxml(chart)
        text = re.sub(r"<datamodel>.*</datamodel>", "", text, flags=re.DOTALL)
        self._chart = chart
        self._class = load(text, format="scxml")
        self._states = {
            f"{region.id}.{state}": (index, state)
            for index, region in enumerate(chart.regions.values())
            for state in region.states
        }
        self.restart()

    def restart(self) -> None:
        self._model: AnyType = type("Signals", (), dict.fromkeys(self._chart.signals, 0))()
        self._machine = self._class(model=self._model)

    def set_signals(self, true: Iterable[str]) -> None:
        held = set(true)
        for name in self._chart.signals:
            setattr(self._model, name, int(name in held))

    def jump(self, configuration: Configuration) -> None:
        # The engine keeps its configuration on the model that it was handed.
        self._model.state = OrderedSet(_active_ids(self._chart, configuration, "signals"))

    def send(self, event: str) -> None:
        self._machine.send(event)

    def configuration(self) -> Configuration:
        found: list[tuple[int, str]] = sorted(
            self._states[state.id] for state in self._machine.configuration
            if state.id in self._states
        )  # fmt: skip
        assert [index for index, _ in found] == list(range(len(self._chart.regions)))
        return tuple(state for _, state in found)


class SismicEngine:
    """sismic on its own YAML; it also tells which rules fired."""

    name = "sismic"

    def __init__(self, chart: ChartSpec) -> None:
        self._chart = chart
        self._statechart = import_from_yaml(sismic_yaml(chart))
        self.fired: list[str] = []
        self.restart()

    def restart(self) -> None:
        self.fired = []
        context: dict[str, AnyType] = dict.fromkeys(self._chart.signals, False)
        context["fired"] = self._note
        self._interpreter = Interpreter(self._statechart, initial_context=context)
        self._interpreter.execute()

    def _note(self, rule: str) -> None:
        self.fired.append(rule)

    def set_signals(self, true: Iterable[str]) -> None:
        held = set(true)
        for name in self._chart.signals:
            self._interpreter.context[name] = name in held

    def jump(self, configuration: Configuration) -> None:
        # sismic has no public way to restore a configuration.
        ids = _active_ids(self._chart, configuration)
        self._interpreter._configuration = set(ids)
        for times in (self._interpreter._entry_time, self._interpreter._idle_time):
            times.update(dict.fromkeys(ids, 0.0))

    def send(self, event: str) -> None:
        self.fired.clear()
        self._interpreter.queue(event)
        self._interpreter.execute()

    def configuration(self) -> Configuration:
        active = set(self._interpreter.configuration)
        found = tuple(
            state
            for region in self._chart.regions.values()
            for state in region.states
            if f"{region.id}.{state}" in active
        )
        assert len(found) == len(self._chart.regions)
        return found


def _active_ids(chart: ChartSpec, configuration: Configuration, *others: str) -> list[str]:
    """Return the ids of all active states in document order."""
    ids = ["logic"]
    for region, state in zip(chart.regions, configuration, strict=True):
        ids += [region, f"{region}.{state}"]
    return [*ids, *others]


def sismic_yaml(chart: ChartSpec) -> str:
    """Return the chart in sismic's YAML: guards are Python, order is told by `priority`."""
    lines = ["statechart:", f"  name: {chart.id}", "  root state:", "    name: logic"]
    lines.append("    parallel states:")
    rules = ordered_rules(chart.rules)
    for region in chart.regions.values():
        lines.append(f"      - name: {region.id}")
        lines.append(f"        initial: {region.id}.{region.initial}")
        lines.append("        states:")
        for state in region.states:
            lines.append(f"          - name: {region.id}.{state}")
            own = [r for r in rules if r.region == region.id and state in r.sources]
            if own:
                lines.append("            transitions:")
            for priority, rule in zip(range(len(own), 0, -1), own, strict=True):
                lines += _sismic_transitions(rule, state, priority, chart)
    return "\n".join(lines) + "\n"


def _sismic_transitions(rule: RuleSpec, source: str, priority: int, chart: ChartSpec) -> list[str]:
    lines: list[str] = []
    for event in rule.events or ("",):
        refusals = [f"not ({python(one.guard)})" for one in chart.refusals.values()
                    if event in one.events]  # fmt: skip
        lines.append(f"              - guard: {' and '.join([*refusals, python(rule.guard)])}")
        lines.append(f"                action: fired('{rule.id}')")
        lines.append(f"                priority: {priority}")
        if event:
            lines.append(f"                event: {event}")
        if rule.target != source:
            lines.append(f"                target: {rule.region}.{rule.target}")
    return lines


def python(guard: Guard) -> str:
    """Return the guard as a Python expression, read off its structure one to one."""
    match guard:
        case Signal(name):
            return name
        case In(region, states):
            return "(" + " or ".join(f"active('{region}.{s}')" for s in sorted(states)) + ")"
        case Not(part):
            return f"(not {python(part)})"
        case All(parts):
            return "(" + " and ".join(["True", *map(python, parts)]) + ")"
        case Any(parts):
            return "(" + " or ".join(["False", *map(python, parts)]) + ")"
