"""Why two installations differ at one point: the options and limits behind the rules involved."""

from __future__ import annotations

from trainer.charts.guard import signals_in
from trainer.charts.installation import Installation
from trainer.charts.spec import RefusalSpec, RuleSpec


def causes_of(
    installations: tuple[Installation, Installation],
    split: tuple[str, ...],
    first_rules: tuple[str, ...],
    second_rules: tuple[str, ...],
    refusals: tuple[str, str],
) -> tuple[str, ...]:
    """Return the causes of a difference, as `option:NAME` or `limit:NAME`, sorted.

    Only the first parting of the ways counts: a refusal in one ship only, else the first rule of
    each ship that didn't fire in the other. It points to the options that it needs and that
    differ; without any, to the limits of its signals that differ.

    Args:
        installations: Both ships.
        split: Signals whose numbers differ between them.
        first_rules: Ids of the rules that fired in the first ship.
        second_rules: Ids of the rules that fired in the second.
        refusals: Ids of the refusals, or empty texts.
    """
    generic = installations[0].generic
    acted: list[RuleSpec | RefusalSpec] = []
    if refusals[0] != refusals[1]:
        acted = [generic.refusals[name] for name in refusals if name]
    else:
        for mine, theirs in ((first_rules, second_rules), (second_rules, first_rules)):
            acted += [generic.rules[name] for name in mine if name not in theirs][:1]
    options = {
        f"option:{name}"
        for part in acted
        for name, _ in part.needs
        if installations[0].option(name) != installations[1].option(name)
    }
    if options:
        return tuple(sorted(options))
    limits = {
        f"limit:{limit}"
        for part in acted
        for signal in signals_in(part.guard)
        if signal in split
        for limit in _limits_of(installations[0], signal)
    }
    return tuple(sorted(limits)) or ("rule",)


def _limits_of(installation: Installation, signal: str) -> tuple[str, ...]:
    spec = installation.chart.signals[signal]
    return tuple({limit for limit in (spec.on.limit, spec.off.limit) if limit})
