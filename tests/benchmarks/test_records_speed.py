"""How fast answers are stored and books are read.

The fastest round is held against a budget, since other work on the machine only adds to it.
Budgets: `Store.add` under 5 ms, opening a member's file under 30 ms, on two ordinary cores with
an ordinary disk.
"""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest

from trainer.records.attempt import Attempt
from trainer.records.board_change import board_changes, call_list, seen_statuses
from trainer.records.board_query import cell_evidence, member_outcomes, read_board, read_facts
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_attempts import attempts_of
from trainer.records.club_book import ClubBook
from trainer.records.club_import import FileImport, ResultPreview, apply_result, import_results
from trainer.records.packet import write_packet
from trainer.records.result import Result
from trainer.records.roster import Aircraft, Requirement
from trainer.records.signing import SigningKey
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation, changed_cells

_STRIP = Annunciation(engagement="autopilot").to_json()


def _attempt(number: int) -> Attempt:
    return Attempt(
        f"attempt-{number}",
        f"2026-03-01T18:{number // 60 % 60:02d}:{number % 60:02d}Z",
        f"member {number % 7}",
        f"lesson_{number % 12}",
        "A lesson",
        "sister_one",
        number % 6,
        "after_key",
        "What will the strip read next?",
        _STRIP,
        _STRIP,
        _STRIP,
        (),
        True,
        "sure",
        ("lateral.select_heading", "vertical.hold_pitch"),
        3.5,
        "0.1.0",
    )


@pytest.fixture
def ten_thousand(tmp_path: Path) -> Path:
    """Return a closed store with 10,000 attempts."""
    path = tmp_path / "attempts.sqlite3"
    with Store.open(path) as store:
        from trainer.records import store as module

        with store.database.write() as connection:
            rows = (module._to_row(_attempt(number)) for number in range(10_000))
            connection.executemany(module._INSERT, rows)
    return path


def test_add_one_attempt(benchmark: Any, ten_thousand: Path) -> None:
    numbers = itertools.count(1_000_000)
    with Store.open(ten_thousand) as store:
        benchmark(lambda: store.add(_attempt(next(numbers))))


def test_open_a_store_of_ten_thousand(benchmark: Any, ten_thousand: Path) -> None:
    benchmark(lambda: Store.open(ten_thousand).close())


def test_read_the_newest_hundred(benchmark: Any, ten_thousand: Path) -> None:
    with Store.open(ten_thousand) as store:
        assert len(benchmark(lambda: store.attempts(limit=100))) == 100


def test_create_a_store(benchmark: Any, tmp_path: Path) -> None:
    numbers = itertools.count()
    benchmark(lambda: Store.open(tmp_path / f"{next(numbers)}.sqlite3").close())


MEMBERS = 300
ATTEMPTS_EACH = 3_334
COMPETENCIES = 12
RULES_EACH = 6
_NOW = "2026-03-10T12:00:00Z"


def _rule(competency: int, number: int) -> str:
    return f"competency_{competency}.rule_{number}"


def _member_attempt(member: int, number: int) -> Attempt:
    competency = number % COMPETENCIES
    actual = Annunciation(engagement="autopilot", alert=f"alert_{number % 50}")
    right = (number * 7 + member) % 10 > 2
    predicted = actual if right else Annunciation()
    return Attempt(
        f"{member}-{number}",
        f"2026-{1 + number % 2:02d}-{1 + number % 28:02d}T18:{number % 60:02d}:00Z",
        f"Member {member:03d}",
        f"lesson_{competency}",
        f"Lesson about competency {competency}",
        "sister_one",
        number % 6,
        "after_key",
        f"What will the strip read after key {number % 20}?",
        actual.to_json(),
        predicted.to_json(),
        actual.to_json(),
        changed_cells(predicted, actual),
        right,
        ("sure", "think_so", "guess")[number % 3],  # type: ignore[arg-type]
        tuple(_rule(competency, (number + step) % RULES_EACH) for step in range(2)),
        3.5,
        "0.1.0",
    )


def _outcome(member: int, competency: int, day: int) -> CheckOutcome:
    verdict = ("ready", "not_yet", "needs_briefing")[(member + competency) % 3]
    return CheckOutcome(
        "sister_one",
        1,
        f"competency_{competency}",
        verdict,  # type: ignore[arg-type]
        f"2026-02-{day:02d}T10:00:00Z",
        tuple(f"{member}-{competency + COMPETENCIES * step}" for step in range(20)),
        {_rule(competency, number): "aa" for number in range(RULES_EACH)},
    )


def _begin_book(path: Path) -> ClubBook:
    book = ClubBook.open(path)
    requirements = [
        Requirement(
            f"competency_{competency}",
            f"Competency {competency}",
            365,
            {_rule(competency, number): "aa" for number in range(RULES_EACH)},
        )
        for competency in range(COMPETENCIES)
    ]
    book.set_aircraft(Aircraft("sister_one", "First", "sister_one", 1), requirements)
    for member in range(1, MEMBERS + 1):
        book.add_member(f"Member {member:03d}", _NOW)
        book.put_on_aircraft(member, "sister_one")
    return book


@pytest.fixture(scope="module")
def great_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a closed book of 300 members with a million attempts and 10,800 outcomes."""
    book = _begin_book(tmp_path_factory.mktemp("book") / "club.sqlite3")
    for member in range(1, MEMBERS + 1):
        attempts = [_member_attempt(member, number) for number in range(ATTEMPTS_EACH)]
        outcomes = tuple(
            _outcome(member, competency, day)
            for competency in range(COMPETENCIES)
            for day in (3, 9, 15)
        )
        result = Result("", b"", None, _NOW, "0.1.0", (), ())
        preview = ResultPreview(
            f"packet-{member}", book.member(member), result, tuple(attempts), outcomes, (), ()
        )
        apply_result(book, preview, _NOW)
    book.close()
    return book.path


@pytest.mark.long
def test_open_a_great_book_and_its_board(benchmark: Any, great_book: Path) -> None:
    """Budget: under 1 s."""

    def open_board() -> int:
        with ClubBook.open(great_book) as book:
            board = read_board(book, "sister_one", _NOW)
            seen = seen_statuses(book, "sister_one")
            return len(board.cells) + len(board_changes(seen, board)) + len(call_list(board, {}))

    assert benchmark.pedantic(open_board, rounds=5) > MEMBERS * COMPETENCIES
    assert benchmark.stats["min"] < 1.0


@pytest.mark.long
def test_read_a_members_page(benchmark: Any, great_book: Path) -> None:
    """Budget: under 0.2 s for the newest 500 answers, all outcomes and one cell's evidence."""

    def read_page() -> int:
        attempts = attempts_of(book, 150, limit=500)
        outcomes = member_outcomes(book, 150)
        cell = read_facts(book, "sister_one").outcomes[150, "competency_3"]
        return len(attempts) + len(outcomes) + len(cell_evidence(book, cell.outcome_id).attempts)

    with ClubBook.open(great_book) as book:
        assert benchmark.pedantic(read_page, rounds=5) == 500 + 36 + 20
    assert benchmark.stats["min"] < 0.2


@pytest.mark.long
def test_import_three_hundred_results(benchmark: Any, great_book: Path) -> None:
    """Budget: under 30 s for 300 files of 200 new answers each, into the book of a million."""
    folder = great_book.parent / "results"
    folder.mkdir()
    book_key = SigningKey.from_seed(b"L" * 32).public_key
    with ClubBook.open(great_book) as book:
        for member in range(1, MEMBERS + 1):
            key = SigningKey.from_seed(member.to_bytes(32, "big"))
            book.set_public_key(member, key.public_key)
            attempts = tuple(
                _member_attempt(member, number)
                for number in range(ATTEMPTS_EACH, ATTEMPTS_EACH + 200)
            )
            result = Result(f"Member {member:03d}", book_key, None, _NOW, "0.1.0", attempts, ())
            data = write_packet("result", result.to_json(), key)
            (folder / f"{member}.result").write_bytes(data)
        paths = sorted(folder.iterdir())
        seen: list[FileImport] = []
        done = benchmark.pedantic(
            lambda: import_results(book, paths, book_key, _NOW, seen.append), rounds=1
        )
        assert not [one.refusal for one in done if one.refusal]
        assert sum(one.attempts for one in done) == MEMBERS * 200
        assert len(seen) == MEMBERS
    assert benchmark.stats["min"] < 30.0
