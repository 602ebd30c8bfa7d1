"""Which sentence a rule or refusal gives for what it did: the one whose cause was so."""

from __future__ import annotations

from trainer.charts.guard import Configuration, evaluate_at
from trainer.charts.spec import ChartSpec, RefusalSpec, RuleSpec


def reason_of(
    rule: RuleSpec | RefusalSpec,
    chart: ChartSpec,
    configuration: Configuration,
    bits: int,
    event: str = "",
) -> str:
    """Return the sentence for what a rule or refusal did at a moment.

    Args:
        rule: The rule that fired or the refusal.
        chart: The specialised chart that it belongs to.
        configuration: The states that its guard read.
        bits: The signals that its guard read.
        event: The event that it answered; empty: none.

    Example:
        >>> from dataclasses import replace
        >>> from trainer.charts.smallest import lamp
        >>> from trainer.charts.spec import In, Reason
        >>> by_day = Reason((), In("lamp", frozenset({"lit"})), "It was lit, now it is dark.")
        >>> fails = replace(lamp().rules["fails"], reasons=(by_day,))
        >>> reason_of(fails, lamp(), ("lit",), 0), reason_of(fails, lamp(), ("none",), 0)
        ('It was lit, now it is dark.', 'Without power it is dark.')
    """
    for one in rule.reasons:
        is_for_event = not one.events or event in one.events
        if is_for_event and evaluate_at(one.guard, chart, configuration, bits):
            return one.says
    return rule.because
