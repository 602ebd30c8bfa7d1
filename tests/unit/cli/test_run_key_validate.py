"""`run`, `key` and `validate`: exit codes, and the JSON that others script against."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from trainer.cli.main import main
from trainer.resources import resource_folder

LESSON = resource_folder("lessons") / "01-first-flight.yaml"
# The published forms, written out here a second time on purpose: scripts of others rely on them.
ANNUNCIATION_KEYS = {"engagement", "lateral", "vertical", "alert", "protection"}
FLIGHT_KEYS = {
    "altitude_ft", "height_ft", "heading_deg", "airspeed_kt", "vertical_speed_fpm", "bank_deg",
    "pitch_deg", "course_deviation", "glidepath_deviation",
}  # fmt: skip
CHANGE_KEYS = {"kind", "t_s", "event", "by", "annunciation", "rules", "flight"}
CAUSES = {"pilot", "automatic", "reversion", "instructor"}


@pytest.fixture
def command(capsys):
    def call(*words):
        code = main([str(word) for word in words])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return call


@pytest.fixture
def lines(command):
    def call(*words):
        code, out, err = command(*words, "--json")
        return code, [json.loads(line) for line in out.splitlines()], err

    return call


@pytest.fixture
def written(tmp_path):
    def write(old, new):
        text = LESSON.read_text("utf-8")
        assert old in text
        path = tmp_path / "changed.yaml"
        path.write_text(text.replace(old, new), "utf-8")
        return path

    return write


def test_run_prints_changes_in_the_published_form(lines):
    code, objects, err = lines("run", LESSON)
    assert (code, err) == (0, "")
    assert objects[-1] == {"kind": "end", "t_s": objects[-1]["t_s"]}
    changes = [one for one in objects if one["kind"] == "change"]
    assert len(changes) == 7
    for one in changes:
        assert set(one) == CHANGE_KEYS
        assert set(one["annunciation"]) == ANNUNCIATION_KEYS
        assert set(one["annunciation"]["lateral"]) == {"active", "armed"}
        assert set(one["flight"]) == FLIGHT_KEYS
        assert one["by"] in CAUSES
        assert one["rules"]
    assert changes[0]["event"] == "director"
    assert changes[-1]["annunciation"]["vertical"]["active"] == "altitude_hold"
    times = [one["t_s"] for one in objects]
    assert times == sorted(times)


def test_run_tells_refusals_with_their_reason(lines):
    code, objects, _ = lines("run", LESSON.with_name("02-on-and-refused.yaml"))
    assert code == 0
    refused = [one for one in objects if one["kind"] == "refused"]
    assert [one["event"] for one in refused] == ["autopilot", "director"]
    assert all(one["reason"] and one["rules"] for one in refused)


def test_run_stops_or_flies_on_at_a_time(lines):
    _, short, _ = lines("run", LESSON, "--until-s", 10)
    assert short[-1] == {"kind": "end", "t_s": 10.0}
    _, long, _ = lines("run", LESSON, "--until-s", 200)
    assert long[-1] == {"kind": "end", "t_s": 200.0}


def test_run_samples_at_the_rate_asked_for(lines):
    _, objects, _ = lines("run", LESSON, "--until-s", 10, "--samples-hz", 2)
    samples = [one for one in objects if one["kind"] == "sample"]
    assert len(samples) == 20
    assert set(samples[0]) == {"kind", "t_s", "flight"}
    assert samples[1]["t_s"] - samples[0]["t_s"] == pytest.approx(0.5)


def test_run_flies_in_the_other_ship(lines):
    _, amber, _ = lines("run", LESSON.with_name("18-go-around.yaml"))
    code, slate, _ = lines("run", LESSON.with_name("18-go-around.yaml"),
                           "--installation", "ship_slate")  # fmt: skip
    assert code == 0
    first = [
        next(one for one in objects if one.get("event") == "go_around")
        for objects in (amber, slate)
    ]
    assert [one["annunciation"]["engagement"] for one in first] == ["autopilot", "director"]


def test_someone_elses_lesson_flies_the_same_way(lines, written):
    path = written("{selected_heading_deg: 130}", "{selected_heading_deg: 215}")
    code, objects, _ = lines("run", path)
    assert code == 0
    assert objects[-2]["flight"]["heading_deg"] == pytest.approx(215, abs=1)


def test_key_gives_every_prompt_with_its_answer(lines):
    code, objects, err = lines("key", LESSON)
    assert (code, err) == (0, "")
    assert objects[-1] == {"kind": "end", "prompts": 6}
    for number, one in enumerate(objects[:-1], 1):
        assert (one["kind"], one["prompt"]) == ("answer", number)
        assert set(one["answer"]) == ANNUNCIATION_KEYS
        assert one["rules"]
        assert one["because"]
        assert one["line"] > 1
    assert objects[4]["answer"]["vertical"] == {"active": "altitude_capture", "armed": []}


def test_plain_output_is_for_people(command):
    code, out, _ = command("run", LESSON)
    assert code == 0
    assert "autopilot | heading select | altitude hold" in out
    code, out, _ = command("key", LESSON)
    assert "Altitude was armed and the lead for the level-off is reached" in out


@pytest.mark.parametrize("name", ["run", "key", "validate"])
def test_an_absent_file_is_unusable(command, name, tmp_path):
    code, out, err = command(name, tmp_path / "none.yaml", "--json")
    assert (code, out) == (2, "")
    assert "none.yaml" in err
    assert "accepted" in err or "can't be read" in err


@pytest.mark.parametrize("name", ["run", "key"])
def test_a_broken_lesson_is_unusable_and_says_where(command, written, name):
    path = written("key: director", "key: directer")
    code, out, err = command(name, path, "--json")
    assert (code, out) == (2, "")
    assert f"{path}:" in err
    assert "'directer'; accepted: director?" in err


def test_an_installation_that_is_none_is_unusable(command):
    code, _, err = command("run", LESSON, "--installation", "ship_ambr")
    assert code == 2
    assert "no such installation or file; accepted: ship_amber" in err


def test_validate_tells_problems_as_findings(lines, written):
    path = written("altitude_ft: 3000\n", "altitude_ft: tall\n")
    code, objects, _ = lines("validate", path)
    assert code == 1
    assert objects[0]["kind"] == "problem"
    assert objects[0]["path"] == str(path)
    assert (objects[0]["line"] > 1, objects[0]["found"]) == (True, "'tall' for 'altitude_ft'")
    assert objects[-1] == {"kind": "end", "files": 1, "problems": 1}


def test_validate_flies_the_lesson_so_that_an_endless_wait_is_found(lines, written):
    path = written("above: {altitude_ft: 3850}", "above: {altitude_ft: 9000}")
    code, objects, _ = lines("validate", path)
    assert code == 1
    assert any("the wait was not over" in one["found"] for one in objects[:-1])


def test_validate_of_a_folder_without_files_says_so(command, tmp_path):
    (tmp_path / "ship.yml").write_text("format: installation/1\n", "utf-8")
    code, out, err = command("validate", tmp_path)
    assert (code, out) == (2, "")
    assert f"{tmp_path}: nothing to check in this folder; accepted: *.yaml files in it" in err


def test_validate_looks_at_dates_and_at_the_id(lines, tmp_path):
    ship = resource_folder("statecharts") / "installations" / "ship_amber.yaml"
    text = ship.read_text("utf-8")
    path = tmp_path / "other.yaml"
    path.write_text(text, "utf-8")
    code, objects, _ = lines("validate", path)
    assert code == 1
    assert objects[0]["found"] == "id 'ship_amber' in a file named 'other.yaml'"
    assert text.splitlines()[objects[0]["line"] - 1] == "id: ship_amber"
    path.write_text(
        "{format: installation/1, id: other, title: O, chart: generic, aircraft: light_single,\n"
        "limits: {bank_limit_deg: {value: 20, state: entered, source: s, entered_by: y,\n"
        "date: 2999-01-01}}}\n",
        "utf-8",
    )
    code, objects, _ = lines("validate", path)
    assert (code, objects[0]["line"]) == (1, 3)
    assert objects[0]["found"] == "'2999-01-01' is still to come for 'date'"


def test_no_such_command_or_option_is_wrong_usage():
    for words in (["rune"], ["run"], ["run", str(LESSON), "--until-s", "soon"]):
        with pytest.raises(SystemExit) as caught:
            main(words)
        assert caught.value.code == 2


def test_the_program_itself_ends_with_the_code(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "trainer", "run", str(tmp_path / "no.yaml")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "no.yaml" in done.stderr
