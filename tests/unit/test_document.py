"""Files that people write: what is accepted, and that every mistake is told with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.document import (
    MAXIMUM_DEPTH,
    Mapping,
    near,
    parse_document,
    read_document,
)
from trainer.errors import FileError, FileProblem, MissingFileError, TrainerError
from trainer.text_file import MAXIMUM_BYTES


def _refused(text: str) -> FileProblem:
    with pytest.raises(FileError) as caught:
        parse_document(text, "made.yaml")
    assert str(caught.value).startswith("made.yaml:")
    return caught.value.problems[0]


def _problems(mapping: Mapping) -> tuple[FileProblem, ...]:
    with pytest.raises(FileError) as caught:
        mapping.document.raise_if_problems()
    return caught.value.problems


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        ("", 1, "no mapping at the top"),
        ("# only a remark\n", 1, "no mapping at the top"),
        ("- a\n- b\n", 1, "no mapping at the top"),
        ("word\n", 1, "no mapping at the top"),
        ("a: 1\nb: [1, 2\n", 2, "isn't closed"),
        ("a: 1\n b: 2\n", 2, ""),
        ("a: 1\n\tb: 2\n", 2, ""),
        ("a: 'never closed\n", 1, "isn't closed"),
        ("a: &x {k: 1}\nb: *x\n", 1, "an alias"),
        ("b: *nowhere\n", 1, "nowhere"),
        ("a: 1\na: 2\n", 2, "a"),
        ("a: 1\n---\nb: 2\n", 2, ""),
        ("a: " + "[" * (MAXIMUM_DEPTH + 5) + "]" * (MAXIMUM_DEPTH + 5), 1, "nested too deeply"),
        ("a: " + "[" * 3_000, 1, "nested too deeply"),
        ("a: \x00\n", 1, ""),
    ],
)
def test_text_that_is_no_usable_yaml_is_refused_with_its_line(
    text: str, line: int, found: str
) -> None:
    problem = _refused(text) if text != "a: 1\na: 2\n" else _duplicate(text)
    assert problem.line == line
    assert found in problem.found
    assert problem.accepted


def _duplicate(text: str) -> FileProblem:
    try:
        mapping = parse_document(text, "made.yaml")
    except FileError as error:
        return error.problems[0]
    return _problems(mapping)[0]


def test_yaml_is_the_version_in_which_on_and_off_are_words() -> None:
    mapping = parse_document("a: on\nb: off\nc: yes\nd: no\ne: true\n")
    assert [mapping.scalar(key) for key in "abcde"] == ["on", "off", "yes", "no", True]


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("3", 3.0), ("-2.5", -2.5), ("1e3", 1000.0), ("0x10", 16.0), ("+7", 7.0), ("010", 10.0),
    ],
)  # fmt: skip
def test_numbers_are_read_as_written(written: str, value: float) -> None:
    mapping = parse_document(f"a: {written}\n")
    assert mapping.number("a") == value
    mapping.document.raise_if_problems()


@pytest.mark.parametrize(
    "written", [".nan", ".inf", "-.inf", "1e999", "many", "true", "''", "1_", "12ft"]
)
def test_what_is_no_finite_number_is_refused(written: str) -> None:
    mapping = parse_document(f"first: 1\na: {written}\n")
    assert mapping.number("a", low=0, high=10) >= 0
    (problem,) = _problems(mapping)
    assert (problem.line, problem.accepted) == (2, "a number from 0 to 10")


def test_a_whole_number_too_long_for_a_float_is_refused() -> None:
    mapping = parse_document("a: 1" + "0" * 400 + "\n")
    mapping.number("a")
    assert len(_problems(mapping)) == 1


@pytest.mark.parametrize("written", ["-0.1", "10.01"])
def test_a_number_out_of_its_range_is_refused(written: str) -> None:
    mapping = parse_document(f"a: {written}\n")
    mapping.number("a", low=0, high=10)
    assert written in _problems(mapping)[0].found


def test_every_reading_that_doesnt_fit_says_what_is_accepted() -> None:
    mapping = parse_document("a: {k: 1}\nb: 5\nc: [x]\nd: maybe\ne: ''\nf: [[x]]\ng: upp\n")
    mapping.scalar("a")
    mapping.mapping("b")
    mapping.scalar("c")
    mapping.boolean("d")
    mapping.text("e")
    mapping.texts("f")
    mapping.text("g", choices=["up", "down"])
    mapping.items("b")
    mapping.text("h")
    found = _problems(mapping)
    assert sorted(p.line for p in found) == [1, 1, 2, 2, 3, 4, 5, 6, 7]
    assert all(p.accepted for p in found)
    assert next(p for p in found if p.line == 7).accepted == "up? (up, down)"
    assert any("'h' is missing" in p.found for p in found)


def test_items_refuse_a_list_in_a_list() -> None:
    mapping = parse_document("a:\n- x\n- {k: 1}\n- [y]\n")
    assert len(mapping.items("a")) == 2
    assert _problems(mapping)[0].line == 4


def test_an_absent_key_takes_its_default() -> None:
    mapping = parse_document("a: 1\n")
    assert mapping.text("t", "d") == "d"
    assert mapping.number("n", 4.0) == 4.0
    assert mapping.boolean("b", True) is True
    assert mapping.texts("l", ("x",)) == ("x",)
    assert mapping.mapping("m", None) is None
    mapping.document.raise_if_problems()


def test_a_missing_key_is_told_at_its_mapping() -> None:
    mapping = parse_document("a:\n  b: 1\n")
    inner = mapping.mapping("a")
    assert inner is not None
    inner.texts("list")
    inner.number("size")
    inner.mapping("deep")
    assert [p.line for p in _problems(mapping)] == [2, 2, 2]


def test_an_unknown_key_is_refused_with_the_nearest_known_one() -> None:
    mapping = parse_document("title: x\ntilte: y\n")
    mapping.text("title")
    mapping.finish()
    (problem,) = _problems(mapping)
    assert (problem.line, problem.column) == (2, 1)
    assert problem.found == "unknown key 'tilte'"
    assert problem.accepted.startswith("title?")


def test_a_key_that_is_no_word_is_refused() -> None:
    mapping = parse_document("? [a, b]\n: 1\n")
    mapping.finish()
    assert _problems(mapping)


def test_all_problems_are_told_in_the_order_of_the_file() -> None:
    mapping = parse_document("z: maybe\ny: many\nx: [x]\n")
    mapping.scalar("x")
    mapping.number("y")
    mapping.boolean("z")
    assert [problem.line for problem in _problems(mapping)] == [1, 2, 3]


def test_near_lists_no_more_than_fits() -> None:
    shown = near("mode_7", (f"mode_{n}" for n in range(100)))
    assert shown.startswith("mode_7? (")
    assert shown.endswith(", ...)")
    assert near("q", ["aa"]) == "aa"


def test_a_single_word_counts_as_a_list_of_one() -> None:
    assert parse_document("a: x\n").texts("a") == ("x",)


def test_a_file_that_isnt_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(MissingFileError, match="can't be read"):
        read_document(tmp_path / "none.yaml")
    with pytest.raises(MissingFileError, match="can't be read"):
        read_document(tmp_path)


def test_a_file_that_isnt_utf8_is_told(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes(b"title: caf\xe9\n")
    with pytest.raises(MissingFileError, match="byte 10 isn't UTF-8; accepted: UTF-8 text"):
        read_document(path)


def test_a_file_that_is_too_large_is_told(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    path.write_bytes(b"#" * (MAXIMUM_BYTES + 1))
    with pytest.raises(MissingFileError, match=f"at most {MAXIMUM_BYTES} bytes"):
        read_document(path)


def test_a_file_is_read_with_its_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "marked.yaml"
    path.write_bytes(b"\xef\xbb\xbftitle: caf\xc3\xa9\n")
    assert read_document(path).text("title") == "café"


@pytest.mark.parametrize(
    "text",
    [
        "%YAML 9.9\n---\na: 1\n",
        "a: !!python/object:os.system x\n",
        "a: !made x\n",
        "!!set {a, b}\n",
    ],
)
def test_tags_build_nothing(text: str) -> None:
    try:
        mapping = parse_document(text)
        mapping.scalar("a")
    except TrainerError:
        return
    assert isinstance(mapping.scalar("a", ""), str | int | None)


def test_a_text_read_twice_tells_its_faults_each_time_with_its_own_path() -> None:
    text = "bank: steep\nbnk: 3\n"
    for path in ("one.yaml", "other.yaml", "one.yaml"):
        top = parse_document(text, path)
        assert top.document.problems == []
        top.number("bank")
        top.finish()
        assert [(one.path, one.line) for one in _problems(top)] == [(path, 1), (path, 2)]


def test_a_text_refused_is_refused_again() -> None:
    first, second = (_refused("a: 1\n- b\n") for _ in range(2))
    assert first == second
    aliases = "a: &x [1]\nb: *x\n"
    assert _refused(aliases) == _refused(aliases)
