"""Why a key did nothing: no rule answers it, or an option of the aircraft leaves the rule out."""

from __future__ import annotations

from trainer.charts.guard import evaluate_at
from trainer.charts.installation import Installation
from trainer.charts.spec import RuleSpec
from trainer.session.record import StepRecord

IDLE = "Nothing changes: no rule answers this key in these modes."
NO_RULE = "Nothing changes: no rule answers this in these modes."
"""For what isn't a key: a selector turned, a malfunction."""


def idle_sentence(record: StepRecord, installation: Installation) -> str:
    """Return why a key did nothing.

    Where another choice of a single option would have brought a rule that answers, the option's
    own words say so, and what that rule does.

    Args:
        record: The step in which nothing happened.
        installation: The aircraft.

    Example:
        >>> from trainer.session.annunciation import Annunciation
        >>> idle_sentence(StepRecord(0.0, "go", "pilot", Annunciation(), Annunciation()), None)
        'Nothing changes: no rule answers this key in these modes.'
    """
    found = _left_out(record, installation) if record.configuration else None
    if found is None:
        return IDLE
    rule, name = found
    option = installation.generic.options[name]
    statement = option.choices[installation.option(name)]
    return (
        f"Nothing changes, since this aircraft is set so. {option.question} {statement}"
        f" In a ship that is set otherwise: {rule.because}"
    )


def _left_out(record: StepRecord, installation: Installation) -> tuple[RuleSpec, str] | None:
    """Return a rule that would have answered, and the one option that leaves it out."""
    generic = installation.generic
    here = dict(zip(installation.chart.regions, record.configuration, strict=True))
    now = {name: here.get(name, region.initial) for name, region in generic.regions.items()}
    for rule in generic.rules.values():
        unmet = [name for name, choices in rule.needs if installation.option(name) not in choices]
        answers = record.event in rule.events and now[rule.region] in rule.sources
        if len(unmet) != 1 or not answers:
            continue
        if evaluate_at(rule.guard, generic, tuple(now.values()), record.bits):
            return rule, unmet[0]
    return None
