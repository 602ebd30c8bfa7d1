"""The wrong answers on a checkout brief: critical ones first, then those given as sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome
from trainer.report.wording import attempt_words, situation_cut

LONGEST_ANSWER = 290
"""Of an answer in characters, two lines, unless what was said and right needs more."""
LEAST_SITUATION = 150
"""Of the situation in characters: without it the answer says nothing to the instructor."""


def critical_groups(outcomes: Sequence[CheckOutcome]) -> tuple[str, ...]:
    """Return what was critical and not shown in the latest checks, in words."""
    groups = dict.fromkeys(
        group for one in outcomes if one.check for group in one.check.critical_failed
    )
    return tuple(group.replace("_", " ") for group in groups)


def is_critical(outcome: CheckOutcome) -> bool:
    """True if a critical answer of this competency was wrong.

    A competency needs a briefing for that, or for a misconception that was named; where it is the
    latter, the answers have to speak of the critical thing.
    """
    if outcome.check is None or not outcome.check.critical_failed:
        return False
    if outcome.verdict != "needs_briefing":
        return False
    groups = critical_groups([outcome])
    said = " ".join(one.sentence for one in outcome.sure_and_wrong)
    return not outcome.misconceptions or any(group in said for group in groups)


def critical_answers(
    outcomes: Sequence[CheckOutcome], titles: Mapping[str, str], answers: Mapping[str, Attempt]
) -> list[str]:
    """Return the wrong answers of critical competencies, the critical ones themselves first.

    Args:
        outcomes: The latest check of each competency.
        titles: Of the competencies.
        answers: Kept answers by id: one that wasn't sure has no sentence of its own.
    """
    lines: list[tuple[bool, str]] = []
    for outcome in filter(is_critical, outcomes):
        groups, title = critical_groups([outcome]), _title(outcome, titles)
        told = {one.attempt_id for one in outcome.sure_and_wrong}
        found = [("sure", one.sentence) for one in outcome.sure_and_wrong]
        found += [
            (one.confidence.replace("_", " "), attempt_words(one))
            for name in outcome.evidence
            if name not in told and (one := answers.get(name)) is not None and not one.is_right
        ]
        for how, sentence in found:
            is_other = not any(group in sentence for group in groups)
            lines.append((is_other, f"{title}, {how}: {_cut(sentence)}"))
    return [line for _, line in sorted(lines, key=lambda one: one[0])]


def sure_answers(outcomes: Sequence[CheckOutcome], titles: Mapping[str, str]) -> list[str]:
    """Return the sure and wrong answers of the other competencies."""
    return [
        f"{_title(outcome, titles)}: {_cut(one.sentence)}"
        for outcome in outcomes
        if not is_critical(outcome)
        for one in outcome.sure_and_wrong
    ]


def _title(outcome: CheckOutcome, titles: Mapping[str, str]) -> str:
    return titles.get(outcome.competency_id, outcome.competency_id)


def _cut(sentence: str) -> str:
    return situation_cut(sentence, LONGEST_ANSWER, LEAST_SITUATION)
