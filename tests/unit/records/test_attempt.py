from __future__ import annotations

import contextlib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.records.attempt_check import attempt_from_json
from trainer.records.error import InvalidRecordError


def test_attempt_from_json_inverts_to_json(make_attempt: Any) -> None:
    for number in (1, 3):
        attempt = make_attempt(number)
        assert attempt_from_json(attempt.to_json()) == attempt


def test_sure_and_wrong_is_only_both(make_attempt: Any) -> None:
    wrong = make_attempt(3)
    assert wrong.is_sure_and_wrong
    assert not make_attempt(1, confidence="sure").is_sure_and_wrong
    assert not make_attempt(3, confidence="guess").is_sure_and_wrong


@pytest.mark.parametrize(
    ("field", "value", "word"),
    [
        ("id", "", "the id is empty"),
        ("member", "x" * 3000, "the member is too long"),
        ("confidence", "certain", "confidence must be one of sure, think_so, guess"),
        ("prompt_number", -1, "prompt_number"),
        ("prompt_number", True, "prompt_number"),
        ("taken_s", float("nan"), "taken_s"),
        ("taken_s", "4", "taken_s"),
        ("rule_ids", "rule", "rule_ids"),
        ("wrong_cells", ["alert"], "contradicts"),
        ("said", "altitude", "don't follow"),
        ("is_right", False, "contradicts"),
        ("is_right", 1, "contradicts"),
        ("before", {"engagement": "director"}, "not an annunciation"),
        ("actual", [], "not an annunciation"),
    ],
)
def test_attempt_from_json_refuses_what_cannot_be(
    make_attempt: Any, field: str, value: object, word: str
) -> None:
    with pytest.raises(InvalidRecordError, match=word):
        attempt_from_json({**make_attempt(1).to_json(), field: value})


def test_attempt_from_json_names_the_missing_and_the_unknown_field(make_attempt: Any) -> None:
    data = make_attempt(1).to_json()
    del data["question"]
    data["answer"] = "x"
    with pytest.raises(InvalidRecordError, match="answer, question"):
        attempt_from_json(data)


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=6,
)


@pytest.mark.parametrize("field", ["before", "rule_ids", "id", "taken_s", "is_right"])
def test_attempt_from_json_raises_nothing_but_its_own_error(make_attempt: Any, field: str) -> None:
    whole = make_attempt(1).to_json()

    @given(value=_JSON)
    def refuse_or_accept(value: object) -> None:
        for data in (value, {**whole, field: value}):
            with contextlib.suppress(InvalidRecordError):
                attempt_from_json(data)

    refuse_or_accept()


_CHOICE = {"prompt_kind": "first_capture", "wrong_cells": ("choice",), "is_right": False}


def test_choices_and_numbers_are_not_judged_by_their_strips(make_attempt: Any) -> None:
    for changes in (
        {**_CHOICE, "said": "course_track", "expected": "altitude_capture"},
        {**_CHOICE, "is_right": True, "wrong_cells": (), "said": "a", "expected": "a"},
        {**_CHOICE, "prompt_kind": "level_off", "wrong_cells": ("number",), "said": "2,900 ft"},
        _CHOICE,
    ):
        attempt = make_attempt(3, **changes)
        assert attempt_from_json(attempt.to_json()) == attempt


@pytest.mark.parametrize(
    "changes",
    [
        {**_CHOICE, "said": "altitude_capture", "expected": "altitude_capture"},
        {**_CHOICE, "is_right": True, "wrong_cells": (), "said": "a", "expected": "b"},
        {**_CHOICE, "prompt_kind": "after_key"},
        {**_CHOICE, "wrong_cells": ("number",)},
    ],
)
def test_verdict_on_a_choice_must_follow_from_it(make_attempt: Any, changes: Any) -> None:
    with pytest.raises(InvalidRecordError, match="don't follow"):
        attempt_from_json(make_attempt(3, **changes).to_json())


def test_attempt_of_an_older_program_is_read(make_attempt: Any) -> None:
    data = make_attempt(1).to_json()
    del data["said"], data["expected"]
    assert attempt_from_json(data) == make_attempt(1)
