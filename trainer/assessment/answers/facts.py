"""What a rule's guard rested on at the moment it held, and what would have come without the rule.

Read from the states and signals that stood then, never from the guard's text alone: of a denied
conjunction only the parts that were false are facts, of a choice only those that were true.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from trainer.assessment.answers.word_list import word_list
from trainer.charts.guard import Configuration, evaluate_at
from trainer.charts.kernel import AUTOMATIC, Kernel, UnsettledError
from trainer.charts.spec import All, Any, ChartSpec, Guard, In, Not, RegionSpec, Signal
from trainer.session.record import FiredRule


@dataclass(frozen=True, slots=True)
class Facts:
    """Plain words for what decided, each true at that moment."""

    so: tuple[str, ...]
    """What was so."""
    not_so: tuple[str, ...]
    """What was not so."""


def deciding_facts(fired: FiredRule, chart: ChartSpec) -> Facts:
    """Return what made the guard of a rule hold when it fired; nothing if that isn't known.

    Args:
        fired: The rule that fired, with what its guard read.
        chart: The specialised chart that it belongs to.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> fails = lamp().rules["fails"]
        >>> dark = FiredRule(
        ...     "fails", "lamp", "lit", "none", fails.because, "reversion", configuration=("lit",)
        ... )
        >>> deciding_facts(dark, lamp())
        Facts(so=(), not_so=('there is power',))
    """
    if not fired.configuration:
        return Facts((), ())
    moment = _Moment(chart, fired.configuration, fired.bits)
    found = dict.fromkeys(moment.facts(chart.rules[fired.id].guard, wanted=True))
    return Facts(
        tuple(words for words, is_so in found if is_so),
        tuple(words for words, is_so in found if not is_so),
    )


def state_without(fired: FiredRule, chart: ChartSpec) -> str:
    """Return the state that the rule's region would have come to, had the chart not had the rule.

    Another rule may have brought the region there too, in the same instant or right after it.
    Empty: it would never have come to rest, or what the guard read isn't known.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> fails = lamp().rules["fails"]
        >>> dark = FiredRule(
        ...     "fails", "lamp", "lit", "none", fails.because, "reversion", configuration=("lit",)
        ... )
        >>> state_without(dark, lamp())
        'lit'
    """
    if not fired.configuration:
        return ""
    rules = {name: rule for name, rule in chart.rules.items() if name != fired.id}
    kernel = Kernel(replace(chart, rules=rules))
    try:
        code = kernel.lead(
            kernel.pack(fired.configuration), fired.bits, (fired.event or AUTOMATIC,)
        )
    except UnsettledError:
        return ""
    return kernel.unpack(code)[kernel.region_index[fired.region]]


@dataclass(frozen=True, slots=True)
class _Moment:
    """States and signals as they stood."""

    chart: ChartSpec
    configuration: Configuration
    bits: int

    def holds(self, guard: Guard) -> bool:
        """True if a guard holds now."""
        return evaluate_at(guard, self.chart, self.configuration, self.bits)

    def facts(
        self, guard: Guard, *, wanted: bool, with_states: bool = False
    ) -> Iterator[tuple[str, bool]]:
        """Yield the facts behind a guard that holds (wanted) or doesn't, and whether each is so.

        A state is told only where it is one of several reasons that might have been: one that
        the guard always asks for stands in the rule's own sentence.
        """
        match guard:
            case Signal(name):
                yield self.chart.signals[name].label, wanted
            case In(region, states):
                if with_states:
                    yield self._state_words(self.chart.regions[region], states, wanted), wanted
            case Not(part):
                yield from self.facts(part, wanted=not wanted, with_states=with_states)
            case All(parts) | Any(parts):
                is_choice = isinstance(guard, Any) == wanted
                for part in parts:
                    if not is_choice or self.holds(part) == wanted:
                        yield from self.facts(
                            part, wanted=wanted, with_states=with_states or is_choice
                        )

    def _state_words(self, region: RegionSpec, states: frozenset[str], is_so: bool) -> str:
        now = self.configuration[list(self.chart.regions).index(region.id)]
        told = [now] if is_so else [name for name in region.states if name in states]
        labels = [region.states[name].label for name in told]
        if region.kind == "armed":
            return " or ".join(labels)
        return f"{region.label[:1].lower()}{region.label[1:]} is {word_list(labels, 'or')}"
