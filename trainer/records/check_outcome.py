"""What a check found about one competency: the value that assessment hands to records.

The verdict and the diagnosis are worked out elsewhere; here they are stored, exchanged and
reported together with their evidence.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal, get_args

from trainer.records.error import InvalidRecordError
from trainer.records.field_check import (
    object_of,
    require_moment,
    require_name,
    require_names,
    require_text,
    require_whole,
)

Verdict = Literal["ready", "not_yet", "undecided", "needs_briefing"]
VERDICTS: tuple[Verdict, ...] = get_args(Verdict)
WholeDecision = Literal["pass", "fail", "open"]
Believed = Literal["open", "sound", "holds", "unexplained"]
"""What the diagnosis came to: too few answers, no wrong rule, some named, wrong without a rule."""


@dataclass(frozen=True, slots=True)
class WholeCheck:
    """What the check as a whole said, of which an outcome tells one competency."""

    decision: WholeDecision
    form: str
    """Id of the plan."""
    right: int
    answered: int
    critical_failed: tuple[str, ...]
    """Critical groups whose last answer was wrong."""
    believed: Believed

    def __str__(self) -> str:
        words = "passed" if self.decision == "pass" else "not passed"
        critical = ", ".join(name.replace("_", " ") for name in self.critical_failed)
        tail = f"; critical, not shown: {critical}" if critical else ""
        return f"form {self.form}: {words}, {self.right} of {self.answered} right{tail}"

    def to_json(self) -> dict[str, Any]:
        """Return the check as JSON values; `whole_check_from_json` is its inverse."""
        return {**asdict(self), "critical_failed": list(self.critical_failed)}


@dataclass(frozen=True, slots=True)
class SureAndWrong:
    """An answer that the member was sure of, and that was wrong."""

    attempt_id: str
    sentence: str
    """What was asked, said and seen, for the instructor to read."""


@dataclass(frozen=True, slots=True)
class FoundMisconception:
    """A wrong rule that explains a member's answers."""

    misconception_id: str
    sentence: str
    """The wrong rule in plain words."""
    evidence: tuple[str, ...]
    """Ids of the attempts it explains."""


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """Verdict on one competency of one aircraft at one stage, with its evidence."""

    aircraft_id: str
    stage: int
    competency_id: str
    verdict: Verdict
    at_utc: str
    """Moment of the verdict, ISO 8601 in UTC."""
    evidence: tuple[str, ...]
    """Ids of the attempts that the verdict rests on."""
    rules: Mapping[str, str]
    """Rules of the competency as they were checked: rule id and `rule_fingerprint`."""
    sure_and_wrong: tuple[SureAndWrong, ...] = ()
    misconceptions: tuple[FoundMisconception, ...] = ()
    check: WholeCheck | None = None
    """The whole check; None where an older program made the outcome."""

    def to_json(self) -> dict[str, Any]:
        """Return the outcome as JSON values; `outcome_from_json` is its inverse."""
        return {
            "aircraft_id": self.aircraft_id,
            "stage": self.stage,
            "competency_id": self.competency_id,
            "verdict": self.verdict,
            "at_utc": self.at_utc,
            "evidence": list(self.evidence),
            "rules": dict(sorted(self.rules.items())),
            "sure_and_wrong": sure_and_wrong_to_json(self.sure_and_wrong),
            "misconceptions": misconceptions_to_json(self.misconceptions),
            **({"check": self.check.to_json()} if self.check else {}),
        }


def rule_fingerprint(definition: str) -> str:
    """Return a short hash of a rule's definition, to tell whether the rule has changed.

    Args:
        definition: The rule with the installation's options applied, in any fixed text form.

    Example:
        >>> rule_fingerprint("a")
        'ca978112ca1bbdca'
    """
    return hashlib.sha256(definition.encode()).hexdigest()[:16]


def sure_and_wrong_to_json(found: tuple[SureAndWrong, ...]) -> list[dict[str, Any]]:
    """Return JSON values for a sure-and-wrong list."""
    return [{"attempt_id": one.attempt_id, "sentence": one.sentence} for one in found]


def misconceptions_to_json(found: tuple[FoundMisconception, ...]) -> list[dict[str, Any]]:
    """Return JSON values for found misconceptions."""
    return [
        {
            "misconception_id": one.misconception_id,
            "sentence": one.sentence,
            "evidence": list(one.evidence),
        }
        for one in found
    ]


def outcome_from_json(data: object) -> CheckOutcome:
    """Return the outcome of `to_json`'s form, checked as a stranger's.

    Raises:
        InvalidRecordError: If a field is missing, unknown or impossible.
    """
    given = {"check": None, **data} if isinstance(data, dict) else data
    fields = object_of("outcome", given, tuple(CheckOutcome.__dataclass_fields__))
    if fields["verdict"] not in VERDICTS:
        raise InvalidRecordError(f"outcome: verdict must be one of {', '.join(VERDICTS)}")
    rules = fields["rules"]
    if not isinstance(rules, dict):
        raise InvalidRecordError("outcome: rules must be an object of rule and hash")
    return CheckOutcome(
        aircraft_id=require_name("aircraft_id", fields["aircraft_id"]),
        stage=require_whole("stage", fields["stage"], 1, 1000),
        competency_id=require_name("competency_id", fields["competency_id"]),
        verdict=fields["verdict"],
        at_utc=require_moment("at_utc", fields["at_utc"]),
        evidence=require_names("evidence", fields["evidence"], 10_000),
        rules=rules_from_json(rules),
        sure_and_wrong=sure_and_wrong_from_json(fields["sure_and_wrong"]),
        misconceptions=misconceptions_from_json(fields["misconceptions"]),
        check=whole_check_from_json(fields["check"]),
    )


def whole_check_from_json(data: object) -> WholeCheck | None:
    """Return what a check as a whole said, checked as a stranger's; None if it isn't told."""
    if data is None:
        return None
    fields = object_of("check", data, tuple(WholeCheck.__dataclass_fields__))
    for name, accepted in (("decision", WholeDecision), ("believed", Believed)):
        if fields[name] not in get_args(accepted):
            raise InvalidRecordError(
                f"check: {name} must be one of {', '.join(get_args(accepted))}"
            )
    answered = require_whole("answered", fields["answered"], 0, 10_000)
    return WholeCheck(
        decision=fields["decision"],
        form=require_name("form", fields["form"]),
        right=require_whole("right", fields["right"], 0, answered),
        answered=answered,
        critical_failed=require_names("critical_failed", fields["critical_failed"]),
        believed=fields["believed"],
    )


def rules_from_json(data: object) -> dict[str, str]:
    """Return rule ids with their fingerprints, checked."""
    if not isinstance(data, dict) or len(data) > 1000:
        raise InvalidRecordError("rules must be an object of at most 1000 rules")
    return {require_name("rule", key): require_name("hash", data[key]) for key in data}


def sure_and_wrong_from_json(data: object) -> tuple[SureAndWrong, ...]:
    """Return a checked sure-and-wrong list."""
    found = []
    for item in _items("sure_and_wrong", data):
        fields = object_of("sure_and_wrong", item, ("attempt_id", "sentence"))
        attempt_id = require_name("attempt_id", fields["attempt_id"])
        found.append(SureAndWrong(attempt_id, require_text("sentence", fields["sentence"])))
    return tuple(found)


def misconceptions_from_json(data: object) -> tuple[FoundMisconception, ...]:
    """Return checked misconceptions."""
    found = []
    for item in _items("misconceptions", data):
        names = ("misconception_id", "sentence", "evidence")
        fields = object_of("misconception", item, names)
        found.append(
            FoundMisconception(
                require_name("misconception_id", fields["misconception_id"]),
                require_text("sentence", fields["sentence"]),
                require_names("evidence", fields["evidence"], 10_000),
            )
        )
    return tuple(found)


def _items(name: str, data: object) -> list[object]:
    if not isinstance(data, list) or len(data) > 1000:
        raise InvalidRecordError(f"{name} must be a list of at most 1000 items")
    return data
