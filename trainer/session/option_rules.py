"""What the chart says of an option: which keys and modes its rules are about.

A search for an example looks there first, and only there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Literal

from trainer.charts.guard import conjunctions
from trainer.charts.spec import ChartSpec, RefusalSpec, RuleSpec
from trainer.session.example import Action
from trainer.session.situation import StartModes

Tier = Literal["strip", "later", "flight"]
"""What differs: the strip at once, the strip later, or only how the aircraft flies."""
WATCH_S = 60.0

_Allowed = dict[str, frozenset[str]]


class OptionRules:
    """The parts of a chart that need an option; none for an option that only changes the flying."""

    def __init__(self, generic: ChartSpec, option: str) -> None:
        self._generic = generic
        self._rules = [r for r in generic.rules.values() if _needs(r.needs, option)]
        refusals = [r for r in generic.refusals.values() if _needs(r.needs, option)]
        parts: list[RuleSpec | RefusalSpec] = [*self._rules, *refusals]
        self._new_keys = {e.id for e in generic.events.values() if _needs(e.needs, option)}
        self._events = {event for part in parts for event in part.events} | self._new_keys
        self._is_silent = not parts and not self._events
        self.rule_ids = frozenset(part.id for part in parts)
        self._acts_alone = any(not rule.events for rule in self._rules)
        # Where every part belongs to the choice that fits the key, nothing differs before the key.
        fitting = {one for e in generic.events.values() for one in _choices(e.needs, option)}
        chosen = {one for part in parts for one in _choices(part.needs, option)}
        self._is_fitting = bool(fitting) and chosen <= fitting
        self._where = RuleModes(generic, parts)

    def is_out_of_reach(self, fitted: Collection[str]) -> bool:
        """True if the option is about keys of which none is fitted."""
        return bool(self._events) and not self._events & set(fitted)

    @property
    def tiers(self) -> tuple[Tier, ...]:
        """Return what can differ, the plainest first."""
        if self._is_silent:
            return ("flight",)
        return ("strip", "later", "flight") if self._events else ("later", "flight", "strip")

    def actions(self, tier: Tier) -> list[Action]:
        """Return what to do in an example: the option's own keys, or every key if it has none."""
        watch_s = 0.0 if tier == "strip" else WATCH_S
        # A rule that acts by itself can follow from any key, a silent option show after any.
        is_open = self._is_silent or (tier == "strip" and self._acts_alone)
        found = [Action("wait", watch_s=watch_s)] if tier != "strip" else []
        for event in self._generic.events.values():
            wanted = self._new_keys if self._is_fitting else self._events
            if event.id not in wanted and (self._is_fitting or not is_open):
                continue
            if event.id == "selected_altitude_changed":
                found.append(Action("select", event.id, watch_s=watch_s))
            elif event.id == "navigation_source_changed":
                found.append(Action("source", event.id, watch_s=watch_s))
            elif event.id.endswith("_released"):
                found.append(Action("let_go", event.id, watch_s=watch_s))
            elif event.kind == "key":
                found.append(Action("press", event.id, watch_s=watch_s))
        return found

    def may_act_in(self, modes: StartModes, tier: Tier) -> bool:
        """True if some rule of the option can act in these modes, as far as modes decide it."""
        if self._is_silent or self._new_keys or (tier == "strip" and self._acts_alone):
            return True
        return self._where.may_act_in(modes)

    def aspect(self, modes: StartModes) -> tuple[str, ...]:
        """Return of modes only what the option's rules read: where it is alike, so is the end."""
        return self._where.aspect(modes)


class RuleModes:
    """The modes in which some rules and refusals can act."""

    def __init__(self, chart: ChartSpec, parts: Iterable[RuleSpec | RefusalSpec]) -> None:
        self._chart = chart
        self._states = {r.id: frozenset(r.states) for r in chart.regions.values()}
        self._allowed = [one for part in parts for one in self._places(part)]
        self._read = {region for one in self._allowed for region in one} or {"vertical"}

    def may_act_in(self, modes: StartModes) -> bool:
        """True if some rule can act in these modes, as far as modes decide it."""
        states = self._of(modes)
        return any(
            all(states[region] in allowed[region] for region in allowed if region in states)
            for allowed in self._allowed
        )

    def aspect(self, modes: StartModes) -> tuple[str, ...]:
        """Return of modes only what the rules read; without rules the vertical mode."""
        return tuple(state for region, state in self._of(modes).items() if region in self._read)

    def _of(self, modes: StartModes) -> dict[str, str]:
        states = {
            "engagement": modes.engagement,
            "lateral": modes.lateral,
            "vertical": modes.vertical,
        }
        for region in self._chart.regions.values():
            if region.kind == "armed":
                others = [state for state in region.states if state != region.initial]
                states[region.id] = others[0] if region.arms in modes.armed else region.initial
        return states

    def _places(self, part: RuleSpec | RefusalSpec) -> list[_Allowed]:
        """Return the states, region by region, in which a part can act."""
        found: list[_Allowed] = []
        for _, regions in conjunctions(part.guard, self._states):
            allowed = dict(regions)
            if isinstance(part, RuleSpec):
                own = frozenset(part.sources)
                allowed[part.region] = allowed.get(part.region, own) & own
            found.append(allowed)
        return found


def _choices(needs: tuple[tuple[str, tuple[str, ...]], ...], option: str) -> set[str]:
    return {choice for name, choices in needs if name == option for choice in choices}


def _needs(needs: tuple[tuple[str, tuple[str, ...]], ...], option: str) -> bool:
    return any(name == option for name, _ in needs)
