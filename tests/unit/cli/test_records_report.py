"""`records` and `report`: a club's whole exchange by commands, exit codes, JSON, refusals."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from trainer.cli.main import main
from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_book import ClubBook
from trainer.records.result import add_outcome
from trainer.records.roster import Requirement
from trainer.records.signing import SigningKey
from trainer.records.store import FILE_NAME, Store
from trainer.session.annunciation import Annunciation

MEMBER = "Robin Vale"
FIRST = "engaging_and_disengaging"


def build_attempt(number: int, rule: str = "director_on") -> Attempt:
    """Return a right answer about a rule."""
    strip = Annunciation("director").to_json()
    return Attempt(
        f"a{number}", f"2026-03-01T18:00:{number:02d}Z", MEMBER, "first", "First flight",
        "ship_amber", number, "after_key", "What next?", strip, strip, strip, (), True, "sure",
        (rule,), 3.5, "0.1.0",
    )  # fmt: skip


class StoppedClock:
    """Says the same moment whenever it is asked."""

    @staticmethod
    def now(_zone):
        """Return the moment."""
        return datetime(2026, 3, 10, 12, tzinfo=UTC)


@pytest.fixture
def call(capsys, monkeypatch, tmp_path):
    """Run a command as the member or as the lead; each has a folder of their own."""
    monkeypatch.setattr("trainer.cli.action.datetime", StoppedClock)

    def run(who, *words, code=0):
        monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path / who))
        found = main([*map(str, words), "--json"])
        captured = capsys.readouterr()
        assert found == code, captured.err
        return [json.loads(line) for line in captured.out.splitlines()], captured.err

    return run


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A folder with a member's answers, and a book that trusts them and is trusted; made once."""
    folder = tmp_path_factory.mktemp("club")
    path = folder / "lead" / "club.sqlite3"
    card, book_card = folder / "card.json", folder / "book.json"
    with Store.open(folder / "member" / FILE_NAME) as opened:
        for number in range(1, 4):
            opened.add(build_attempt(number))
    for who, *words in (
        ("lead", "club", "new", path, "--name", "Meadow Flying Club"),
        ("lead", "club", "add-aircraft", path, "ship_amber", "--competency", FIRST),
        ("lead", "club", "add-member", path, MEMBER, "--aircraft", "ship_amber"),
        ("member", "card", card, "--member", MEMBER),
        ("lead", "club", "enrol", path, card, lambda: code_of(folder / "member/member-key.pem")),
        ("lead", "club", "card", path, book_card),
        ("member", "trust-book", book_card, lambda: code_of(folder / "lead/club-key.pem").lower()),
    ):
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("MODE_TRAINER_DATA", str(folder / who))
            given = [str(word() if callable(word) else word) for word in words]
            assert main(["records", *given]) == 0
    return folder


def code_of(path):
    """Return the code of a key file."""
    return SigningKey.load_or_make(path).short_code


@pytest.fixture
def store(tmp_path, template):
    """The member's answers."""
    shutil.copytree(template, tmp_path, dirs_exist_ok=True)
    with Store.open(tmp_path / "member" / FILE_NAME) as opened:
        yield opened


@pytest.fixture
def book(store, tmp_path):
    """A book with an aircraft, an enrolled member and trust on both sides."""
    return tmp_path / "lead" / "club.sqlite3"


def checked(store, verdict="ready", **changes):
    """Store a verdict that rests on the member's answers, under the fit's own rules."""
    from trainer.app import Workspace

    required: Requirement = Workspace().requirements("ship_amber", 365)[0]
    assert required.competency_id == FIRST
    outcome = CheckOutcome(
        "ship_amber", 1, FIRST, verdict, "2026-03-02T10:00:00Z", ("a1", "a2"), required.rules
    )
    add_outcome(store, MEMBER, replace(outcome, **changes))


def test_exchange_from_assignment_to_ready(call, book, store, tmp_path):
    task, result = tmp_path / "task.json", tmp_path / "result.json"
    call("lead", "records", "club", "issue", book, MEMBER, "ship_amber", task, "--due",
         "2026-03-20", "--lesson", "05-turning")  # fmt: skip
    seen, _ = call("member", "records", "take-assignment", task)
    assert seen[-1]["applied"] is False
    assert call("member", "records", "assignments")[0] == []
    seen, _ = call("member", "records", "take-assignment", task, "--apply")
    (taken,), _ = call("member", "records", "assignments")
    assert (taken["id"], taken["lessons"]) == (seen[-1]["assignment"], ["05-turning"])
    checked(store)
    call("member", "records", "write-result", result, "--assignment", taken["id"])

    seen, _ = call("lead", "records", "club", "import", book, result)
    assert (seen[0]["kind"], seen[0]["attempts"], seen[0]["outcomes"]) == ("preview", 3, 1)
    cells, _ = call("lead", "records", "club", "board", book, "ship_amber")
    assert cells[0]["status"] == "not_started"
    seen, _ = call("lead", "records", "club", "import", book, result, "--apply")
    assert (seen[0]["kind"], seen[-1]["files"], seen[-1]["refused"]) == ("taken", 1, 0)
    cells, _ = call("lead", "records", "club", "board", book, "ship_amber", "--changes")
    assert (cells[0]["status"], cells[1]["ready"]) == ("ready", 1)
    assert (cells[2]["kind"], cells[2]["after"]) == ("changed", "ready")
    call("lead", "records", "club", "board", book, "ship_amber", "--mark-seen")
    cells, _ = call("lead", "records", "club", "board", book, "ship_amber", "--changes")
    assert [one["kind"] for one in cells] == ["cell", "end"]


def test_refused_file_is_a_finding_and_changes_nothing(call, book, tmp_path):
    good, bad = tmp_path / "good.json", tmp_path / "bad.json"
    call("member", "records", "write-result", good)
    bad.write_bytes(good.read_bytes().replace(b"a1", b"b1"))
    seen, _ = call("lead", "records", "club", "import", book, bad, good, "--apply", code=1)
    assert [one["kind"] for one in seen] == ["refused", "taken", "end"]
    assert seen[0]["reason"]
    seen, _ = call("lead", "records", "club", "import", book, good, "--apply", code=1)
    assert "already" in seen[0]["reason"]


def test_nothing_is_handed_in_of_a_check_that_is_not_over(call, store, tmp_path):
    target = tmp_path / "r.json"
    with store.database.write() as connection:
        connection.execute(
            "INSERT INTO check_sitting (id, member, installation_id, begun_utc, sitting_json) "
            "VALUES ('c', ?, 'ship_amber', '2026-03-01T18:00:00Z', '{}')",
            (MEMBER,),
        )
        connection.execute("UPDATE attempt SET check_id = 'c', item_id = id")
    (said,), _ = call("member", "records", "write-result", target, code=1)
    assert said == {"kind": "empty", "path": str(target)}
    assert not target.exists()
    store.add(build_attempt(9))
    _, err = call("member", "records", "write-result", target)
    assert "3 answers of a check that isn't over are left out until it is." in err
    assert target.exists()


def test_call_list_and_briefing(call, book, store, tmp_path):
    checked(store, "needs_briefing")
    call("member", "records", "write-result", tmp_path / "r.json")
    call("lead", "records", "club", "import", book, tmp_path / "r.json", "--apply")
    (first,), _ = call("lead", "records", "club", "call-list", book, "ship_amber")
    assert (first["member"], "briefing" in first["reasons"][0]) == (MEMBER, True)
    call("lead", "records", "club", "add-instructor", book, "Ada Reed")
    words = ("records", "club", "brief", book, MEMBER, "ship_amber")
    _, err = call("lead", *words, "flying", "--instructor", "Ada Reed", "--note", "x", code=2)
    assert FIRST in err
    call("lead", *words, FIRST, "--instructor", "Ada Reed", "--note", "Spoke of refusals.")
    cells, _ = call("lead", "records", "club", "board", book, "ship_amber")
    assert (cells[0]["status"], "briefed" in cells[0]["because"]) == ("in_progress", True)


def test_members_own_file(call, store, tmp_path):
    assert call("member", "records", "members")[0] == [{"kind": "member", "member": MEMBER}]
    (data,), _ = call("member", "records", "export-member")
    assert len(json.loads(data["text"])["attempts"]) == 3
    (data,), _ = call("member", "records", "csv", "--output", tmp_path / "a.csv")
    assert (tmp_path / "a.csv").stat().st_size == data["bytes"]
    (by_export,), _ = call("member", "export", MEMBER, "--to", "csv")
    assert by_export["text"] == (tmp_path / "a.csv").read_bytes().decode()
    (data,), _ = call("member", "export", MEMBER, "--to", "xapi")
    verbs = [json.loads(line)["verb"]["display"]["en"] for line in data["text"].splitlines()]
    assert verbs == ["answered"] * 3
    assert call("member", "records", "check")[0][0]["kind"] == "sound"


def test_backup_deletion_and_restore(call, store, tmp_path):
    (made,), _ = call("member", "records", "back-up")
    (shown,), _ = call("member", "records", "delete-member", MEMBER, code=1)
    assert shown == {"kind": "would_delete", "member": MEMBER, "records": 3}
    assert len(store.attempts()) == 3
    extra = tmp_path / "copy.sqlite3"
    extra.write_bytes(Path(made["path"]).read_bytes())
    call("member", "records", "delete-member", MEMBER, "--apply")
    assert store.attempts() == []
    store.close()
    (done,), _ = call("member", "records", "restore", extra)
    assert done["kept"]
    assert call("member", "records", "members")[0] == [{"kind": "member", "member": MEMBER}]


def test_damage_is_a_finding(call, store, tmp_path):
    store.close()
    path = tmp_path / "member" / FILE_NAME
    data = bytearray(path.read_bytes())
    data[4096:4196] = b"\xff" * 100
    path.write_bytes(data)
    seen, _ = call("member", "records", "check", code=1)
    assert seen[0]["kind"] == "damaged"
    _, err = call("member", "records", "members", code=2)
    assert "recover" in err
    (done,), _ = call("member", "records", "recover")
    assert Path(done["kept"]).read_bytes() == bytes(data)
    assert call("member", "records", "check")[0][0]["kind"] == "sound"


def test_damaged_book_is_recovered_from_its_backup(call, book):
    call("lead", "records", "club", "back-up", book)
    book.write_bytes(b"\xff" * 8192)
    seen, _ = call("lead", "records", "club", "check", book, code=1)
    assert seen[0]["kind"] == "damaged"
    (done,), _ = call("lead", "records", "club", "recover", book)
    assert Path(done["from"]).name == "club.2026-03-10.sqlite3"
    (data,), _ = call("lead", "records", "club", "export-member", book, MEMBER)
    assert data["member"] == MEMBER


def test_book_privacy_and_backup(call, book, tmp_path):
    call("member", "records", "write-result", tmp_path / "r.json")
    call("lead", "records", "club", "import", book, tmp_path / "r.json", "--apply")
    (data,), _ = call("lead", "records", "club", "export-member", book, MEMBER)
    assert (data["member"], len(data["attempts"])) == (MEMBER, 3)
    (kept,), _ = call("lead", "records", "club", "retention", book, "--days", 5, "--apply")
    assert kept == {"kind": "retention", "days": 5, "deleted": 3}
    (made,), _ = call("lead", "records", "club", "back-up", book)
    call("lead", "records", "club", "delete-member", book, MEMBER, code=1)
    call("lead", "records", "club", "delete-member", book, MEMBER, "--apply")
    call("lead", "records", "club", "delete-member", book, MEMBER, "--apply", code=2)
    assert call("lead", "records", "club", "check", book)[0][0]["kind"] == "sound"
    call("lead", "records", "club", "restore", book, made["path"])
    _, err = call("lead", "records", "club", "export-member", book, MEMBER, code=2)
    assert "no member" in err  # deletion reaches the backups


def test_a_wrong_name_begins_no_book(call, tmp_path):
    path = tmp_path / "lead" / "clbu.sqlite3"
    _, err = call("lead", "records", "club", "board", path, "ship_amber", code=2)
    assert "no such club book" in err
    assert not path.exists()


def test_new_leaves_a_book_alone(call, book):
    _, err = call("lead", "records", "club", "new", book, "--name", "Other", code=2)
    assert "there already" in err


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("add-aircraft", "ship_none"), "no such installation"),
        (("add-aircraft", "ship_amber", "--competency", "flying"), FIRST),
        (("add-member", "Bo Hill", "--aircraft", "ship_slate"), "ship_amber"),
        (("issue", MEMBER, "ship_amber", "x.json", "--due", "soon"), "2026-03-20"),
        (
            ("issue", MEMBER, "ship_amber", "x.json", "--due", "2026-03-20", "--form", "Z"),
            "no form 'Z' of the check; accepted: A, B, C",
        ),
        (
            (
                "issue",
                MEMBER,
                "ship_amber",
                "x.json",
                "--due",
                "2026-03-20",
                "--lesson",
                "nolesson",
            ),
            "no lesson 'nolesson'; accepted: 01-",
        ),
        (("add-aircraft", "ship_slate", "--id", "ship_amber"), "its next stage, 2"),
        (("export-member", "Nobody"), MEMBER),
    ],
)
def test_wrong_words_are_told_with_what_is_accepted(call, book, words, found):
    _, err = call("lead", "records", "club", words[0], book, *words[1:], code=2)
    assert found in err


def test_an_aircraft_is_put_in_anothers_place_only_if_that_is_asked_for(call, book, store):
    def fit():
        with ClubBook.open(book) as opened:
            one = opened.one_aircraft("ship_amber")
        return one.installation_id, one.stage

    other = ("records", "club", "add-aircraft", book, "ship_slate", "--id", "ship_amber")
    _, err = call("lead", *other, code=2)
    assert "ship_amber" in err or "Ship Amber" in err
    assert "On its board 0 cells that read 'ready' would expire or go." in err
    assert "--replace" in err
    assert fit() == ("ship_amber", 1)
    call("lead", *other, "--stage", "2")
    assert fit() == ("ship_slate", 2)
    _, err = call("lead", *other, "--stage", "1", code=2)
    assert "it would go back to stage 1" in err
    call("lead", *other, "--stage", "1", "--replace")
    assert fit() == ("ship_slate", 1)


@pytest.mark.parametrize(("ending", "start"), [("html", b"<!DOCTYPE"), ("pdf", b"%PDF-")])
def test_reports_are_written_in_the_form_of_their_ending(call, book, tmp_path, ending, start):
    for words in (("brief", book, MEMBER, "ship_amber"), ("summary", book, "ship_amber")):
        target = tmp_path / f"{words[0]}.{ending}"
        (done,), _ = call("lead", "report", *words, "--output", target)
        assert done["to"] == ending
        assert target.read_bytes()[: len(start)].lower() == start.lower()


def test_report_as_text_and_its_refusals(call, book, store, tmp_path):
    (done,), _ = call("lead", "report", "brief", book, MEMBER, "ship_amber")
    assert MEMBER in done["text"]
    assert "placeholder: nobody has entered it" in done["text"]
    _, err = call("lead", "report", "certificate", book, MEMBER, "ship_amber", code=2)
    assert "has not completed" in err
    _, err = call("lead", "report", "summary", book, "ship_amber", "--to", "pdf", code=2)
    assert "--output" in err
    checked(store)
    call("member", "records", "write-result", tmp_path / "r.json")
    call("lead", "records", "club", "import", book, tmp_path / "r.json", "--apply")
    (done,), _ = call("lead", "report", "certificate", book, MEMBER, "ship_amber")
    assert "no licence" in done["text"]


def test_quiz_draws_strips_in_a_design_of_ones_own(call, tmp_path):
    from trainer.resources import resource_folder

    design = tmp_path / "mine.yaml"
    design.write_text("name: Mine\nwords: {heading_select: Turn to}\n", encoding="utf-8")
    target = tmp_path / "quiz.html"
    lesson = resource_folder("lessons") / "01-first-flight.yaml"
    call("lead", "report", "quiz", lesson, "--design", design, "--output", target)
    assert ">Turn to<" in target.read_text(encoding="utf-8")
    design.write_text("name: Mine\nscale: 9\n", encoding="utf-8")
    _, said = call("lead", "report", "quiz", lesson, "--design", design, code=2)
    assert "0.8 to 2" in said


def test_quiz_needs_no_book(call):
    from trainer.resources import resource_folder

    lesson = resource_folder("lessons") / "01-first-flight.yaml"
    (done,), _ = call("lead", "report", "quiz", lesson)
    assert "Answer sheet" in done["text"]
