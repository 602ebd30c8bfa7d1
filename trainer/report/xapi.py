"""Attempts and outcomes as xAPI statements, one JSON object on each line.

Source: [XAPI] Experience API 1.0.3, part two, statements. Identifiers of activities lie below a
host that can never exist (`.invalid`, RFC 2606), since the data stay on the club's machines.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome

HOME = "https://mode-logic-trainer.invalid"
_VERBS = {
    "answered": "http://adlnet.gov/expapi/verbs/answered",
    "passed": "http://adlnet.gov/expapi/verbs/passed",
    "failed": "http://adlnet.gov/expapi/verbs/failed",
    "progressed": "http://adlnet.gov/expapi/verbs/progressed",
}
_VERB_OF_VERDICT = {
    "ready": "passed",
    "not_yet": "failed",
    "needs_briefing": "failed",
    "undecided": "progressed",
}
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, HOME)


def attempt_statement(attempt: Attempt) -> dict[str, Any]:
    """Return the statement of one attempt."""
    lesson = f"{HOME}/lesson/{_part(attempt.lesson_id)}"
    return {
        "id": str(uuid.uuid5(_NAMESPACE, f"attempt {attempt.id}")),
        "actor": _actor(attempt.member),
        "verb": _verb("answered"),
        "object": {
            "objectType": "Activity",
            "id": f"{lesson}/prompt/{attempt.prompt_number}",
            "definition": {
                "name": {"en": f"{attempt.lesson_title}, prompt {attempt.prompt_number}"},
                "description": {"en": attempt.question},
                "type": "http://adlnet.gov/expapi/activities/cmi.interaction",
                "interactionType": "other",
                "correctResponsesPattern": [attempt.expected or _plain(attempt.actual)],
            },
        },
        "result": {
            "success": attempt.is_right,
            "response": attempt.said or _plain(attempt.predicted),
            "duration": f"PT{attempt.taken_s:.2f}S",
            "extensions": {
                f"{HOME}/extension/confidence": attempt.confidence,
                f"{HOME}/extension/wrong-cells": list(attempt.wrong_cells),
                f"{HOME}/extension/rules": list(attempt.rule_ids),
                f"{HOME}/extension/before": attempt.before,
            },
        },
        "context": {
            "platform": f"mode-trainer {attempt.program_version}",
            "contextActivities": {"parent": [{"objectType": "Activity", "id": lesson}]},
            "extensions": {f"{HOME}/extension/installation": attempt.installation_id},
        },
        "timestamp": attempt.at_utc,
    }


def outcome_statement(member: str, outcome: CheckOutcome) -> dict[str, Any]:
    """Return the statement of one check outcome."""
    mark = f"{member} {outcome.aircraft_id} {outcome.competency_id} {outcome.at_utc}"
    verb = _VERB_OF_VERDICT[outcome.verdict]
    result: dict[str, Any] = {
        "extensions": {
            f"{HOME}/extension/verdict": outcome.verdict,
            f"{HOME}/extension/evidence": list(outcome.evidence),
            f"{HOME}/extension/misconceptions": [one.sentence for one in outcome.misconceptions],
            f"{HOME}/extension/sure-and-wrong": [one.sentence for one in outcome.sure_and_wrong],
        },
    }
    if verb != "progressed":
        result["success"] = verb == "passed"
    return {
        "id": str(uuid.uuid5(_NAMESPACE, f"outcome {mark}")),
        "actor": _actor(member),
        "verb": _verb(verb),
        "object": {
            "objectType": "Activity",
            "id": f"{HOME}/competency/{_part(outcome.competency_id)}",
            "definition": {
                "name": {"en": outcome.competency_id.replace("_", " ")},
                "type": "http://adlnet.gov/expapi/activities/objective",
            },
        },
        "result": result,
        "context": {
            "extensions": {
                f"{HOME}/extension/aircraft": outcome.aircraft_id,
                f"{HOME}/extension/stage": outcome.stage,
            },
        },
        "timestamp": outcome.at_utc,
    }


def json_lines(statements: Iterable[dict[str, Any]]) -> str:
    """Return statements, one on each line."""
    return "".join(json.dumps(one, ensure_ascii=False) + "\n" for one in statements)


def _actor(member: str) -> dict[str, Any]:
    return {"objectType": "Agent", "account": {"homePage": HOME, "name": member}}


def _verb(name: str) -> dict[str, Any]:
    return {"id": _VERBS[name], "display": {"en": name}}


def _plain(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"))


def _part(text: str) -> str:
    """Return a text as one part of a path, so that the whole stays an IRI."""
    return quote(text, safe="")
