"""Every loader of the program as something to fuzz: good files, how to spoil them, how to load."""

from __future__ import annotations

import base64
import json
import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from tests.helpers.mutation import (
    Mutator,
    spoil_binary,
    spoil_text,
    spoil_zip,
)
from tests.unit.charts.small_chart import SMALL
from tests.unit.records.conftest import NOW, build_attempt, enter_aircraft
from trainer.app import Workspace
from trainer.assessment.check.check_plan_file import load_check_plans
from trainer.assessment.wrong_rules.misconception_file import load_misconceptions
from trainer.charts.carried import OwnAircraft
from trainer.charts.flight_profile import load_profile
from trainer.charts.installation import load_installation
from trainer.charts.loader import load_chart
from trainer.charts.question_sheet import SHEET_FORMATS, questions_sheet
from trainer.charts.questionnaire import answers_of, questions_of
from trainer.cli import diagnose
from trainer.flight import load_aircraft
from trainer.lesson.competency import load_competencies
from trainer.lesson.loader import load_lesson
from trainer.lesson.pack import install_pack, pack_bytes
from trainer.lesson.scene import SCENES_PATH, load_scenes
from trainer.lesson.writer import write_lesson
from trainer.records import packet
from trainer.records.assignment import issue_assignment, preview_assignment, take_assignment
from trainer.records.board_query import read_board
from trainer.records.card import enrol_member, read_card, trust_book, write_card
from trainer.records.club_book import ClubBook
from trainer.records.club_import import import_results
from trainer.records.packet import read_file_bytes
from trainer.records.result import write_result
from trainer.records.signing import SigningKey
from trainer.records.store import Store
from trainer.resources import resource_folder
from trainer.session.situation import SituationError, Start
from trainer.session.strip_design import StripDesign
from trainer.session.strip_design_file import (
    dump_strip_design,
    load_strip_design,
    parse_strip_design,
)
from trainer.ui.aircraft.aircraft_shelf import AircraftShelf, flyable
from trainer.ui.lesson.user_lessons import UserLessons
from trainer.ui.practice.controls import controls_of
from trainer.ui.practice.saved_situation import dump_situation, load_situation
from trainer.ui.window.preferences import Preferences, load_preferences, save_preferences

CHARTS = resource_folder("statecharts")
LEAD, MEMBER = SigningKey.from_seed(b"L" * 32), SigningKey.from_seed(b"M" * 32)


@dataclass(frozen=True, slots=True)
class Target:
    """One kind of file.

    Attributes:
        file_name: What the file is called; the loader may go by it.
        seeds: Makes the good files from which spoilt ones come.
        load: Loads a file and uses what it holds; may raise a TrainerError and nothing else.
        spoil: Spoils a file.
        names_line: True if each refusal has to name a line.
        never_refuses: True for files of which a spoilt one is put aside without a word.
        names_file: False where the caller, who knows the file's name, says it.
    """

    name: str
    file_name: str
    seeds: Callable[[], list[bytes]]
    load: Callable[[Path], object]
    spoil: Mutator = spoil_text
    names_line: bool = True
    never_refuses: bool = False
    names_file: bool = True


@cache
def workspace() -> Workspace:
    """Return a workspace without files of the user's."""
    return Workspace(user=Path(mkdtemp(prefix="fuzz-user-")))


@cache
def _charts_folder() -> Path:
    """Return a folder with the small chart, which loads in little time, and the aircraft."""
    folder = Path(mkdtemp(prefix="fuzz-charts-"))
    shutil.copytree(CHARTS / "aircraft", folder / "aircraft")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    return folder


def _files(folder: Path, pattern: str) -> list[bytes]:
    return [path.read_bytes() for path in sorted(folder.glob(pattern))]


_INSTALLATION = b"""\
format: installation/1
id: fuzz
title: A ship
chart: small
aircraft: light_single
note: as delivered
options:
  key_again: {choice: ignored, state: verified, source: a manual, entered_by: A. Nobody,
    date: 2026-01-05, verified_by: N. Body}
limits:
  lowest_ft: {value: 600, state: placeholder, unknown: true}
"""


def _load_lesson(path: Path) -> None:
    lesson = load_lesson(path, workspace().charts)
    write_lesson(lesson)
    workspace().start_lesson(lesson)


def _load_design(path: Path) -> None:
    design = load_strip_design(path)
    if parse_strip_design(dump_strip_design(design)) != design:
        raise AssertionError("a design that isn't read back as it was written")


def _situation_seeds() -> list[bytes]:
    lessons = workspace().lessons()[:12]
    return [dump_situation(one.title, one.installation, one.start).encode() for one in lessons]


def _load_situation(path: Path) -> None:
    found = load_situation(path, tuple(workspace().installations))
    _begin(found.installation, found.start)
    dump_situation(found.title, found.installation, found.start)


def _begin(installation: str, start: Start) -> None:
    """Begin from a situation; one that can't be is told without its file, which is in hand."""
    with suppress(SituationError):
        workspace().begin(installation, start)


def _pack_seeds() -> list[bytes]:
    texts = {path.name: path.read_bytes() for path in workspace().lesson_paths[:3]}
    first = next(iter(texts))
    amber = workspace().installation_paths["ship_amber"].read_bytes()
    own = amber.replace(b"id: ship_amber", b"id: own")
    return [pack_bytes("A pack", {name: texts[name]}) for name in texts] + [
        pack_bytes("Two", dict(list(texts.items())[:2])),
        pack_bytes("Own", {"own.yaml": texts[first].replace(b"ship_amber", b"own")}, {"own": own}),
    ]


def _load_pack(path: Path) -> None:
    own = OwnAircraft(workspace().charts_folder, path.parent / "own")
    install_pack(path, path.parent / "taken", workspace().charts, own, may_replace=True)


def _preferences(folder: Path) -> bytes:
    chosen = Preferences("Robin", "dark", last_lesson="x", keys={"director": "Q", "approach": "1"})
    save_preferences(folder, chosen)
    return (folder / "preferences.json").read_bytes()


def _load_preferences(path: Path) -> None:
    found = load_preferences(path.parent)
    controls_of(workspace().installation("ship_amber").chart, found.keys)
    save_preferences(path.parent / "again", found)
    if load_preferences(path.parent / "again") != found:
        raise AssertionError("preferences that aren't read back as they were written")


def _load_draft(path: Path) -> None:
    shelf = AircraftShelf(path.parent, workspace())
    drafts = path.parent / "aircraft-drafts"
    drafts.mkdir(exist_ok=True)
    shutil.copy(path, drafts / path.name)
    for answers in shelf.drafts().values():
        try:
            chart = shelf.chart_of(answers)
        finally:
            shelf.keep(answers)
        questions = questions_of(chart)
        flyable(answers, questions)
        for ending in SHEET_FORMATS:
            questions_sheet(answers, chart, ending)


def _draft_seeds() -> list[bytes]:
    answers = answers_of(workspace().installation("ship_amber"))
    return [json.dumps(answers.to_json()).encode()]


def _load_lesson_draft(path: Path) -> None:
    found = UserLessons(path.parent).draft()
    if found is not None:
        UserLessons(path.parent / "again").keep_draft(found)


def _answers_seeds() -> list[bytes]:
    lines = [json.dumps(build_attempt(number).to_json()) for number in range(1, 6)]
    return ["\n".join(lines).encode(), lines[0].encode()]


@cache
def _club() -> tuple[ClubBook, Store]:
    """Return a club's book and a member's store that know each other."""
    folder = Path(mkdtemp(prefix="fuzz-club-"))
    book = ClubBook.open(folder / "club.sqlite3", "Meadow Flying Club")
    enter_aircraft(book)
    member = book.add_member("Robin Vale", "2026-01-05T09:00:00Z")
    book.put_on_aircraft(member.id, "sister_one")
    card = read_card(write_card("member_card", "Robin Vale", NOW, MEMBER), "member_card")
    enrol_member(book, member.id, card, MEMBER.short_code)
    store = Store.open(folder / "attempts.sqlite3")
    trusted = read_card(write_card("book_card", "Meadow Flying Club", NOW, LEAD), "book_card")
    trust_book(store, trusted, LEAD.short_code, NOW)
    for number in range(1, 6):
        store.add(build_attempt(number))
    return book, store


def _result_seeds() -> list[bytes]:
    _, store = _club()
    values = {"book_key": LEAD.public_key, "assignment_id": None, "made_utc": NOW}
    return [write_result(store, MEMBER, "Robin Vale", program_version="0.1.0", **values)]


def _load_result(path: Path) -> None:
    book, _ = _club()
    (done,) = import_results(book, [path], LEAD.public_key, NOW)
    book.database.check()
    if done.refusal and not done.refusal.strip():
        raise AssertionError("a refusal without words")


def _assignment_seeds() -> list[bytes]:
    book, _ = _club()
    return [
        issue_assignment(
            book, LEAD, book.member_named("Robin Vale").id, "sister_one",
            lessons=("lateral_selection",), check_form="usual", check_seed=7,
            issued_utc=NOW, due_utc="2026-04-10T12:00:00Z",
        )
    ]  # fmt: skip


def _load_assignment(path: Path) -> None:
    _, store = _club()
    preview = preview_assignment(store, read_file_bytes(path), MEMBER.public_key, NOW)
    take_assignment(store, preview, NOW)


def _load_card(path: Path) -> None:
    read_card(read_file_bytes(path), "member_card")


def spoil_packet(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Spoil an exchange file; most are signed again afterwards, as a member can do."""
    try:
        envelope = json.loads(data)
        text, kind = envelope["payload"], envelope["kind"]
        payload = text.encode()
    except (ValueError, KeyError, TypeError, AttributeError):
        return spoil_text(chance, data, others)
    if chance.random() < 0.25 or not isinstance(kind, str):
        return spoil_text(chance, data, others)
    text = spoil_text(chance, payload, [payload]).decode("utf-8", "replace")
    return signed(kind, text)


def signed(kind: str, text: str) -> bytes:
    """Return a payload in an envelope that the member has signed, or the lead if it is theirs."""
    key = LEAD if kind in ("assignment", "book_card") else MEMBER
    envelope = {
        "format": packet.FORMAT, "version": packet.VERSION, "kind": kind, "payload": text,
        "sha256": packet._hash(kind, text),
        "signer": base64.b64encode(key.public_key).decode(),
        "signature": base64.b64encode(key.sign(packet._signed(kind, text))).decode(),
    }  # fmt: skip
    return json.dumps(envelope).encode()


def _store_seed() -> bytes:
    path = Path(mkdtemp(prefix="fuzz-store-")) / "attempts.sqlite3"
    with Store.open(path) as store:
        for number in range(1, 6):
            store.add(build_attempt(number))
        store.database.forget_freed_pages()
    return path.read_bytes()


def _book_seed() -> bytes:
    path = Path(mkdtemp(prefix="fuzz-book-")) / "club.sqlite3"
    with ClubBook.open(path) as book:
        enter_aircraft(book)
        member = book.add_member("Robin Vale", "2026-01-05T09:00:00Z")
        book.put_on_aircraft(member.id, "sister_one")
        book.database.forget_freed_pages()
    return path.read_bytes()


def _load_store(path: Path) -> None:
    with Store.open(path) as store:
        store.attempts()
        store.members()


def _load_book(path: Path) -> None:
    with ClubBook.open(path) as book:
        members = book.members()
        for one in book.aircraft():
            read_board(book, one.id, NOW)
        for member in members:
            book.aircraft_of(member.id)


_VALUES = ("NULL", "-1", "9e999", "'x'", "x'ff00'", "''", "'[]'", "'{}'", "'[1, null]'",
           "'2026-99-99'", "zeroblob(100000)", "9223372036854775807", "'' || char(0)")  # fmt: skip


def spoil_database(chance: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Spoil a record book's bytes, or what one of its tables holds."""
    if chance.random() < 0.5:
        return spoil_binary(chance, data, others)
    path = Path(mkdtemp(prefix="fuzz-spoil-")) / "x.sqlite3"
    path.write_bytes(data)
    try:
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
            _spoil_table(chance, connection)
        return path.read_bytes()
    except (sqlite3.Error, UnicodeError):
        return spoil_binary(chance, data, others)
    finally:
        shutil.rmtree(path.parent)


def _spoil_table(chance: random.Random, connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA ignore_check_constraints = ON")
    query = "SELECT name FROM sqlite_master WHERE type = 'table'"
    name = chance.choice([row[0] for row in connection.execute(query)])
    columns = [row[1] for row in connection.execute(f'PRAGMA table_info("{name}")')]
    column, value = chance.choice(columns), chance.choice(_VALUES)
    match chance.randrange(6):
        case 0:
            connection.execute(f"PRAGMA user_version = {chance.choice((-1, 0, 1, 2, 99))}")
        case 1:
            connection.execute(f'DROP TABLE "{name}"')
        case 2:
            connection.execute(f'ALTER TABLE "{name}" RENAME COLUMN "{column}" TO odd')
        case _:
            connection.execute(f'UPDATE OR IGNORE "{name}" SET "{column}" = {value}')


TARGETS = {
    target.name: target
    for target in (
        Target("chart", "small.yaml", lambda: [SMALL.encode()], load_chart),
        Target("installation", "fuzz.yaml", lambda: [_INSTALLATION],
               lambda path: load_installation(path, _charts_folder())),
        Target("misconception", "fuzz.yaml", lambda: _files(CHARTS / "misconceptions", "*.yaml"),
               lambda path: load_misconceptions(
                   path, CHARTS, workspace().installation("ship_amber").generic)),
        Target("lesson", "fuzz.yaml", lambda: _files(resource_folder("lessons"), "*.yaml"),
               _load_lesson),
        Target("aircraft", "fuzz.yaml", lambda: _files(CHARTS / "aircraft", "*.yaml"),
               load_aircraft),
        Target("competencies", "fuzz.yaml", lambda: [(CHARTS / "competencies.yaml").read_bytes()],
               lambda path: load_competencies(
                   path, workspace().installation("ship_amber").generic)),
        Target("flight_profile", "fuzz.yaml",
               lambda: [(CHARTS / "flight_profile.yaml").read_bytes()],
               lambda path: load_profile(path, workspace().installation("ship_amber").generic)),
        Target("check_plans", "check_plans.yaml",
               lambda: [(CHARTS / "check_plans.yaml").read_bytes()], load_check_plans),
        Target("scenes", "fuzz.yaml", lambda: [SCENES_PATH.read_bytes()], load_scenes),
        Target("strip_design", "fuzz.yaml", lambda: [dump_strip_design(StripDesign()).encode()],
               _load_design),
        Target("situation", "fuzz.yaml", _situation_seeds, _load_situation),
        Target("pack", "fuzz.pack", _pack_seeds, _load_pack, spoil_zip, names_line=False),
        Target("preferences", "preferences.json",
               lambda: [_preferences(Path(mkdtemp(prefix="fuzz-prefs-")))], _load_preferences,
               never_refuses=True),
        Target("aircraft_draft", "ship_amber.json", _draft_seeds, _load_draft,
               names_line=False, names_file=False),
        Target("lesson_draft", "lesson-draft.json",
               lambda: [b'{"text": "format: lesson/1", "stem": "a"}'], _load_lesson_draft,
               never_refuses=True),
        Target("answers", "fuzz.jsonl", _answers_seeds, diagnose._read),
        Target("result", "fuzz.result", _result_seeds, _load_result, spoil_packet,
               never_refuses=True),
        Target("assignment", "fuzz.assignment", _assignment_seeds, _load_assignment, spoil_packet,
               names_line=False, names_file=False),
        Target("card", "fuzz.card",
               lambda: [write_card("member_card", "Robin Vale", NOW, MEMBER)], _load_card,
               spoil_packet, names_line=False, names_file=False),
        Target("attempts_book", "attempts.sqlite3", lambda: [_store_seed()], _load_store,
               spoil_database, names_line=False),
        Target("club_book", "club.sqlite3", lambda: [_book_seed()], _load_book,
               spoil_database, names_line=False),
    )
}  # fmt: skip


@cache
def seeds_of(name: str) -> tuple[bytes, ...]:
    """Return the good files of a kind, made once."""
    return tuple(TARGETS[name].seeds())
