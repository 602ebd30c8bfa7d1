"""Reads the rules, guards and options inside a misconception's patch against the chart's names."""

from __future__ import annotations

from dataclasses import replace

from trainer.assessment.wrong_rules.misconception import ChooseOption
from trainer.charts.guard_reader import GuardReader, read_needs
from trainer.charts.spec import ChartSpec, Guard, OptionNeeds, RefusalSpec, RuleSpec
from trainer.document import Mapping, near


class PatchReader:
    """Reads the parts of one misconception's patch.

    Args:
        chart: The chart, before specialisation.
        misconception: Id of the misconception: added rules are named after it.
        sentence: The wrong rule, which is the reason that an added rule gives.
    """

    def __init__(self, chart: ChartSpec, misconception: str, sentence: str) -> None:
        self._chart = chart
        self._id = misconception
        self._sentence = sentence
        self._guards = GuardReader(chart.regions, frozenset(chart.signals), chart.conditions)
        self._added = 0

    def _name(self) -> str:
        self._added += 1
        return f"believed_{self._id}_{self._added}"

    def guard(self, entry: Mapping) -> Guard:
        """Return the `in`, `not_in` and `when` of an entry together."""
        if not any(entry.has(key) for key in ("in", "not_in", "when")):
            entry.problem("no condition", "in, not_in or when")
        return self._guards.read(entry)

    def names(self, entry: Mapping) -> tuple[str, ...]:
        """Return the rules and refusals named under `rules`."""
        return entry.texts("rules", choices=[*self._chart.rules, *self._chart.refusals])

    def options(self, entry: Mapping) -> OptionNeeds:
        """Return the options named under `option`, none if there are none."""
        return read_needs(entry, self._chart.options)

    def choice(self, entry: Mapping) -> ChooseOption | None:
        """Return the one option that the member believes to be set otherwise."""
        names = entry.keys()
        if len(names) != 1:
            entry.problem(f"{len(names)} options", "exactly one: 'option: choice'")
            return None
        options = self._chart.options
        if names[0] not in options:
            entry.problem(f"'{names[0]}' is no option", near(names[0], options), key=names[0])
            return None
        return ChooseOption(names[0], entry.text(names[0], choices=options[names[0]].choices))

    def target(self, entry: Mapping, names: tuple[str, ...]) -> str:
        """Return the state under `to`, which every rule's region must have."""
        states: set[str] | None = None
        for name in names:
            rule = self._chart.rules.get(name)
            if rule is not None:
                own = set(self._chart.regions[rule.region].states)
                states = own if states is None else states & own
        return entry.text("to", choices=sorted(states) if states is not None else None)

    def rule(self, entry: Mapping) -> RuleSpec | None:
        """Return the rule of an `add_rule`."""
        region_id = entry.text("region", choices=self._chart.regions)
        if region_id not in self._chart.regions:
            entry.finish(entry.keys())
            return None
        triggers = entry.texts("on", (), choices=self._chart.events)
        sources = self._sources(entry, region_id)
        target = entry.text("to", choices=self._chart.regions[region_id].states)
        if not triggers and target in sources:
            entry.problem("an automatic rule from a state to itself", "another target", key="to")
        return RuleSpec(
            self._name(), region_id, triggers, sources, target, self._guards.read(entry),
            self._sentence, "believed", "pilot" if triggers else "automatic", 0,
            needs=self.options(entry), line=entry.line,
        )  # fmt: skip

    def _sources(self, entry: Mapping, region_id: str) -> tuple[str, ...]:
        states = self._chart.regions[region_id].states
        if entry.has("from_all_but"):
            excluded = entry.texts("from_all_but", choices=states)
            sources = tuple(state for state in states if state not in excluded)
        else:
            sources = entry.texts("from", choices=states)
        if not sources:
            entry.problem("a rule that starts nowhere", "at least one state under 'from'")
        return sources

    def copy(self, entry: Mapping) -> RuleSpec | None:
        """Return a chart's rule carried over to other keys, as a `copy_rule` says."""
        name = entry.text("rule", choices=self._chart.rules)
        original = self._chart.rules.get(name)
        if original is None:
            entry.finish(entry.keys())
            return None
        triggers = entry.texts("on", choices=self._chart.events)
        has_sources = entry.has("from") or entry.has("from_all_but")
        sources = self._sources(entry, original.region) if has_sources else original.sources
        states = self._chart.regions[original.region].states
        target = entry.text("to", original.target, choices=states)
        return replace(
            original, id=self._name(), events=triggers, sources=sources, target=target,
            because=self._sentence, source="believed", before=(), line=entry.line, reasons=(),
        )  # fmt: skip

    def refusal(self, entry: Mapping) -> RefusalSpec:
        """Return the refusal of an `add_refusal`."""
        return RefusalSpec(
            self._name(), entry.texts("on", choices=self._chart.events),
            self._guards.read(entry), self._sentence, self._sentence, "believed", 0,
            self.options(entry), entry.line,
        )  # fmt: skip
