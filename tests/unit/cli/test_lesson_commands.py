"""`coverage`, `generate` and `pack`: exit codes, JSON and files."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pytest

from trainer.cli.main import main
from trainer.resources import resource_folder

LESSONS = resource_folder("lessons")
FIRST = LESSONS / "01-first-flight.yaml"


@pytest.fixture
def lines(capsys):
    def call(*words):
        code = main([*(str(word) for word in words), "--json"])
        captured = capsys.readouterr()
        return code, [json.loads(line) for line in captured.out.splitlines()], captured.err

    return call


def test_coverage_lists_everything_with_its_lessons(lines):
    code, objects, err = lines("coverage", FIRST)
    assert (code, err) == (0, "")
    items = [one for one in objects if one["kind"] == "coverage"]
    plain = [one for one in items if one["what"] != "misconception"]
    assert all(set(one) == {"kind", "installation", "what", "id", "lessons"} for one in plain)
    done = {one["id"] for one in items if one["lessons"]}
    assert {"director_on", "altitude_captured", "vertical.altitude_hold"} <= done
    assert next(o for o in items if o["id"] == "course_captured")["lessons"] == []
    summary = next(one for one in objects if one["kind"] == "summary")
    rules = [one for one in items if one["what"] == "rule"]
    assert summary["rules"] == {
        "exercised": sum(bool(one["lessons"]) for one in rules), "of": len(rules),
    }  # fmt: skip
    assert objects[-1] == {"kind": "end", "lessons": 1}
    held = [one for one in items if one["what"] == "misconception"]
    assert all(one["sentence"] for one in held)
    caught = [one for one in held if one["lessons"]]
    assert summary["misconceptions"] == {"exercised": len(caught), "of": len(held)}
    assert 0 < len(caught) < len(held)


def test_coverage_draws_the_statechart(lines, tmp_path):
    code, objects, _ = lines("coverage", FIRST, "--quick", "--svg", tmp_path / "pictures")
    assert code == 0
    assert not any(one.get("what") == "misconception" for one in objects)
    (picture,) = [one for one in objects if one["kind"] == "picture"]
    assert picture["path"] == str(tmp_path / "pictures" / "coverage-ship_amber.svg")
    root = ElementTree.parse(picture["path"]).getroot()
    texts = [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")]
    states = [one for one in objects if one.get("what") == "state"]
    # The number stands in each state, beside its colour; the legend has one 'none' of its own.
    assert texts.count("none") == 1 + sum(not one["lessons"] for one in states)
    assert texts.count("1") == sum(len(one["lessons"]) == 1 for one in states)
    code, objects, err = lines("coverage", FIRST, "--quick", "--svg", FIRST)
    assert code == 2
    assert "can't be written" in err


def test_coverage_can_list_only_what_is_missing(lines):
    _, objects, _ = lines("coverage", FIRST, "--missing", "--quick")
    items = [one for one in objects if one["kind"] == "coverage"]
    assert items
    assert not any(one["lessons"] for one in items)


def test_coverage_of_nothing_is_unusable(lines, tmp_path):
    code, objects, err = lines("coverage", tmp_path / "none")
    assert (code, objects) == (2, [])
    assert "none: no such file or lesson; accepted: a file, or a lesson's id or number" in err


def test_generate_writes_lessons_that_validate(lines, tmp_path):
    out = tmp_path / "made"
    code, objects, _ = lines(
        "generate", "--installation", "ship_amber", "--out", out, "--rules", "altitude_captured"
    )
    assert code == 0
    assert objects[-1]["reached"] == objects[-1]["wanted"] == 1
    written = [one["path"] for one in objects if one["kind"] == "lesson"]
    assert sorted(str(path) for path in out.iterdir()) == sorted(written)
    code, objects, _ = lines("validate", out)
    assert code == 0, objects
    code, objects, _ = lines("coverage", out)
    captured = next(one for one in objects if one.get("id") == "altitude_captured")
    assert captured["lessons"]


def test_generate_leaves_out_what_lessons_have(lines, tmp_path):
    code, objects, _ = lines(
        "generate", "--installation", "ship_amber", "--out", tmp_path / "made",
        "--rules", "altitude_captured", "director_on", "--beyond", FIRST,
    )  # fmt: skip
    assert code == 0
    assert objects == [{"kind": "end", "lessons": 0, "reached": 0, "wanted": 0, "cancelled": False}]


def test_generate_refuses_a_rule_that_is_none(lines, tmp_path):
    code, objects, err = lines(
        "generate", "--installation", "ship_amber", "--out", tmp_path / "x", "--rules", "nonsense"
    )
    assert (code, objects) == (2, [])
    assert "no rule 'nonsense'; accepted:" in err
    assert not (tmp_path / "x").exists()


def test_pack_is_made_and_imported(lines, tmp_path):
    pack, folder = tmp_path / "club.pack", tmp_path / "lessons"
    code, objects, _ = lines("pack", "make", pack, FIRST)
    assert (code, objects[-1]) == (0, {"kind": "end", "lessons": 1})
    code, objects, _ = lines("pack", "import", pack, folder)
    assert (code, objects[0]) == (0, {"kind": "lesson", "id": "01-first-flight"})
    assert (folder / FIRST.name).read_bytes() == FIRST.read_bytes()


def test_a_damaged_pack_is_unusable_and_writes_nothing(lines, tmp_path):
    pack, folder = tmp_path / "club.pack", tmp_path / "lessons"
    lines("pack", "make", pack, FIRST)
    pack.write_bytes(pack.read_bytes()[:-40])
    code, objects, err = lines("pack", "import", pack, folder)
    assert (code, objects) == (2, [])
    assert "no lesson pack" in err
    assert not folder.exists()


def test_a_broken_lesson_is_not_packed(lines, tmp_path):
    broken = tmp_path / "broken.yaml"
    broken.write_text(FIRST.read_text("utf-8").replace("key: director", "key: directer"), "utf-8")
    code, _, err = lines("pack", "make", tmp_path / "club.pack", broken)
    assert code == 2
    assert "'directer'" in err
    assert not (tmp_path / "club.pack").exists()
