"""What an aircraft's present fit requires: its competencies with a fingerprint of each rule.

A fingerprint changes when the rule behaves otherwise: other states, events, guard, effects, or
another value of a limit that its guard looks at. Wording, sources and the place in the file don't
matter, so mending a sentence expires nobody's readiness; nor does moving a rule to another
competency, since the aircraft acts as before.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from typing import Any

from trainer.assessment.items.item_subject import competencies_asked, rules_behind
from trainer.charts.installation import Installation
from trainer.charts.spec import Signal, Threshold
from trainer.lesson.competency import Competency
from trainer.records.check_outcome import rule_fingerprint
from trainer.records.roster import Requirement

_WORDS_ONLY = frozenset(
    ("id", "line", "because", "source", "section", "label", "needs", "reason", "reasons", "title",
     "competency", "critical")
)  # fmt: skip


def fit_requirements(
    installation: Installation, competencies: Iterable[Competency], valid_days: int
) -> list[Requirement]:
    """Return what a fit requires, in the order of the competencies.

    A competency that no item of a check of this aircraft speaks for is left out: nobody could ever
    be ready in it. One that rests on no rule, that of noticing when nothing happens, ends by time
    only.

    Args:
        installation: The aircraft's fit.
        competencies: All that the club teaches.
        valid_days: How long readiness lasts after a check [days].
    """
    prints = rule_fingerprints(installation)
    asked = competencies_asked(installation.chart)
    return [
        Requirement(
            one.id, one.title, valid_days,
            {rule: prints[rule] for rule in rules_behind(one.id, installation.chart)},
        )
        for one in competencies
        if one.id in asked
    ]  # fmt: skip


def never_checked(
    installation: Installation, competencies: Iterable[Competency]
) -> tuple[Competency, ...]:
    """Return the competencies that no item of a check of a fit speaks for.

    Args:
        installation: The aircraft's fit.
        competencies: All that the club teaches.
    """
    asked = competencies_asked(installation.chart)
    return tuple(one for one in competencies if one.id not in asked)


def rule_fingerprints(installation: Installation) -> dict[str, str]:
    """Return the fingerprint of every rule and refusal of a fit."""
    return {
        name: rule_fingerprint(json.dumps(_plain(rule, installation), sort_keys=True))
        for name, rule in installation.chart.rules_and_refusals.items()
    }


def _plain(value: object, installation: Installation) -> Any:
    """Return a part of a rule as JSON values in a fixed order, limits put in as numbers."""
    if isinstance(value, Signal):
        return ["signal", _plain(installation.chart.signals[value.name], installation)]
    if isinstance(value, Threshold):
        base = installation.limit(value.limit).value if value.limit else value.value
        return base + value.plus
    if is_dataclass(value) and not isinstance(value, type):
        kept = [field.name for field in fields(value) if field.name not in _WORDS_ONLY]
        inside = {name: _plain(getattr(value, name), installation) for name in kept}
        return [type(value).__name__, inside]
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple | list):
        return [_plain(item, installation) for item in value]
    return value
