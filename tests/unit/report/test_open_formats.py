from __future__ import annotations

import csv
import io
import json
import re
import uuid
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tincan import Statement

from trainer.records.board_query import member_outcomes
from trainer.records.club_attempts import attempts_of
from trainer.report.csv_export import _text, attempts_csv, outcomes_csv
from trainer.report.xapi import attempt_statement, json_lines, outcome_statement

_IRI = re.compile(r"[a-z][a-z0-9+.-]*:[^\s<>\"{}|\\^`]+")


def test_csv_of_attempts_reads_back(book: Any) -> None:
    attempts = attempts_of(book, 1)
    rows = list(csv.DictReader(io.StringIO(attempts_csv(attempts), newline="")))
    assert len(rows) == 60
    for row, attempt in zip(rows, attempts, strict=True):
        assert row["id"] == attempt.id
        assert row["is_right"] == str(int(attempt.is_right))
        assert row["actual_lateral_armed"] == "course_track"
        assert row["rule_ids"].split("; ") == list(attempt.rule_ids)
        assert float(row["taken_s"]) == attempt.taken_s


def test_csv_of_outcomes_reads_back(book: Any) -> None:
    outcomes = [("Bo Hill", one) for one in member_outcomes(book, 2)]
    rows = list(csv.DictReader(io.StringIO(outcomes_csv(outcomes), newline="")))
    assert [row["verdict"] for row in rows] == [one.verdict for _, one in outcomes]


@given(st.text())
def test_no_cell_is_run_as_a_formula(text: str) -> None:
    written = _text(text)
    assert not written.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert written.removeprefix("'") == text.removeprefix("'") or written == f"'{text}"


def _statements(book: Any) -> list[dict[str, Any]]:
    found = [attempt_statement(one) for one in attempts_of(book, 2)]
    return found + [outcome_statement("Bo Hill", one) for one in member_outcomes(book, 2)]


def test_statements_are_accepted_by_a_library_for_the_standard(book: Any) -> None:
    for statement in _statements(book):
        read = Statement.from_json(json.dumps(statement))
        assert str(read.id) == statement["id"]
        assert read.verb.id == statement["verb"]["id"]
        assert read.object.id == statement["object"]["id"]
        assert read.actor.account.name == statement["actor"]["account"]["name"]
        assert read.result.success == statement["result"].get("success")
        assert read.to_json()


def test_statements_obey_the_published_requirements(book: Any) -> None:
    """[XAPI] 1.0.3, part two, sections 2.2 to 2.4 (from memory)."""
    for statement in _statements(book):
        assert set(statement) <= {
            "id", "actor", "verb", "object", "result", "context", "timestamp", "stored",
            "authority", "version", "attachments",
        }  # fmt: skip
        assert str(uuid.UUID(statement["id"])) == statement["id"]
        iris = [statement["verb"]["id"], statement["object"]["id"]]
        iris += statement["result"]["extensions"]
        iris += statement["context"]["extensions"]
        assert all(_IRI.fullmatch(iri) for iri in iris)
        assert set(statement["result"]) <= {
            "score", "success", "completion", "response", "duration", "extensions",
        }  # fmt: skip
        if "duration" in statement["result"]:
            assert re.fullmatch(r"PT\d+(\.\d{1,2})?S", statement["result"]["duration"])
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z", statement["timestamp"])
        assert all(re.fullmatch(r"[a-z]{2}", tag) for tag in statement["verb"]["display"])
        assert None not in statement.values()


def test_statement_ids_are_unique_and_stable(book: Any) -> None:
    first, again = _statements(book), _statements(book)
    assert first == again
    assert len({one["id"] for one in first}) == len(first)


def test_strange_ids_still_make_iris(book: Any) -> None:
    strange = replace(attempts_of(book, 1)[0], lesson_id="a b/ç?#<>")
    assert _IRI.fullmatch(attempt_statement(strange)["object"]["id"])


def test_json_lines_hold_one_statement_each(book: Any) -> None:
    statements = _statements(book)
    lines = json_lines(statements).splitlines()
    assert [json.loads(line) for line in lines] == statements


@pytest.mark.parametrize(
    ("verdict", "verb", "success"),
    [("ready", "passed", True), ("not_yet", "failed", False), ("undecided", "progressed", None)],
)
def test_verdicts_become_verbs(book: Any, verdict: Any, verb: str, success: bool | None) -> None:
    outcome = replace(member_outcomes(book, 2)[0], verdict=verdict)
    statement = outcome_statement("Bo", outcome)
    assert statement["verb"]["id"].endswith(verb)
    assert statement["result"].get("success") == success
