"""Attempts in a club book: repeated texts stored once, sums kept for the board."""

# Names of tables and columns in the SQL are this module's own constants; values are bound.
# ruff: noqa: S608

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from typing import Any

from trainer.records.attempt import Attempt
from trainer.records.club_book import ClubBook
from trainer.records.database import Database, understood

_JSON_FIELDS = frozenset({"before", "predicted", "actual", "wrong_cells", "rule_ids"})
_PLAIN_FIELDS = frozenset(
    {
        "id", "at_utc", "prompt_number", "is_right", "confidence", "taken_s", "said", "expected",
        "item_id", "check_id",
    }
)  # fmt: skip
_FIELDS = tuple(field.name for field in fields(Attempt) if field.name != "member")
_COLUMNS = tuple(f"{name}_json" if name in _JSON_FIELDS else name for name in _FIELDS)
_INSERT = (
    f"INSERT INTO attempt (member_id, result_id, {', '.join(_COLUMNS)}) "
    f"VALUES ({', '.join('?' * (len(_COLUMNS) + 2))})"
)
_SELECT = f"SELECT m.name, {', '.join('a.' + name for name in _COLUMNS)} FROM attempt a "
_JOIN = "JOIN member m ON m.id = a.member_id "
_MOST_VALUES = 500
"""Values bound in one query; SQLite's own limit is larger everywhere."""


def add_attempts(
    connection: sqlite3.Connection, member_id: int, result_id: str, attempts: Sequence[Attempt]
) -> None:
    """Store attempts and bring the member's sums up to date, inside the caller's transaction."""
    known: dict[str, int] = {}
    rows = [
        [member_id, result_id, *(_stored(connection, known, attempt, name) for name in _FIELDS)]
        for attempt in attempts
    ]
    connection.executemany(_INSERT, rows)
    connection.executemany(_ADD_PRACTICE, _practice_rows(member_id, attempts))
    installation, rules, check = (
        _COLUMNS.index(name) + 2 for name in ("installation_id", "rule_ids_json", "check_id")
    )
    connection.executemany(
        _ADD_PRACTISED,
        [
            (member_id, row[installation], row[rules], one.is_right, one.at_utc)
            for row, one in zip(rows, attempts, strict=True)
            if not row[check]
        ],
    )


def attempts_of(
    book: ClubBook, member_id: int, limit: int | None = None, installation_id: str | None = None
) -> list[Attempt]:
    """Return a member's attempts, newest first, in one installation if given."""
    values: list[object] = [member_id]
    where = "WHERE a.member_id = ? "
    if installation_id is not None:
        where += "AND a.installation_id = (SELECT id FROM shared_text WHERE value = ?) "
        values.append(installation_id)
    values.append(-1 if limit is None else limit)
    sql = f"{_SELECT}{_JOIN}{where}ORDER BY a.at_utc DESC, a.sequence DESC LIMIT ?"
    return _to_attempts(book.database, book.database.read(sql, values))


def attempts_by_id(book: ClubBook, ids: Sequence[str]) -> list[Attempt]:
    """Return the attempts with these ids that the book holds, oldest first."""
    rows: list[tuple[Any, ...]] = []
    for part in _parts(ids):
        marks = ", ".join("?" * len(part))
        rows += book.database.read(f"{_SELECT}{_JOIN}WHERE a.id IN ({marks})", part)
    return sorted(_to_attempts(book.database, rows), key=lambda one: (one.at_utc, one.id))


def member_of_attempts(database: Database, ids: Sequence[str]) -> dict[str, int]:
    """Return the number of the member that each known attempt belongs to."""
    found: dict[str, int] = {}
    for part in _parts(ids):
        marks = ", ".join("?" * len(part))
        sql = f"SELECT id, member_id FROM attempt WHERE id IN ({marks})"
        found.update((row[0], row[1]) for row in database.read(sql, part))
    return found


def _parts(ids: Sequence[str]) -> Iterable[Sequence[str]]:
    return (ids[start : start + _MOST_VALUES] for start in range(0, len(ids), _MOST_VALUES))


def _stored(
    connection: sqlite3.Connection, known: dict[str, int], attempt: Attempt, name: str
) -> object:
    """Return what the column of a field holds: the value, or the number of its shared text."""
    value = getattr(attempt, name)
    if name in _PLAIN_FIELDS:
        return value
    text = json.dumps(value, separators=(",", ":")) if name in _JSON_FIELDS else value
    if text not in known:
        connection.execute("INSERT OR IGNORE INTO shared_text (value) VALUES (?)", (text,))
        row = connection.execute("SELECT id FROM shared_text WHERE value = ?", (text,)).fetchone()
        known[text] = row[0]
    return known[text]


def _to_attempts(database: Database, rows: Sequence[tuple[Any, ...]]) -> list[Attempt]:
    shared = [place for place, name in enumerate(_FIELDS, 1) if name not in _PLAIN_FIELDS]
    with understood(database.path):
        texts = _texts(database, sorted({row[place] for row in rows for place in shared}))
    parsed: dict[int, Any] = {}

    def value(name: str, stored: Any) -> Any:
        if name in _PLAIN_FIELDS:
            return bool(stored) if name == "is_right" else stored
        if name not in _JSON_FIELDS:
            return texts[stored]
        if stored not in parsed:
            found = json.loads(texts[stored])
            parsed[stored] = tuple(found) if isinstance(found, list) else found
        return parsed[stored]

    with understood(database.path):
        return [
            Attempt(
                member=row[0], **{name: value(name, row[at]) for at, name in enumerate(_FIELDS, 1)}
            )
            for row in rows
        ]


def _texts(database: Database, numbers: list[int]) -> dict[int, str]:
    found: dict[int, str] = {}
    for start in range(0, len(numbers), _MOST_VALUES):
        part = numbers[start : start + _MOST_VALUES]
        marks = ", ".join("?" * len(part))
        sql = f"SELECT id, value FROM shared_text WHERE id IN ({marks})"
        found.update((row[0], row[1]) for row in database.read(sql, part))
    return found


_ADD_PRACTICE = """
INSERT INTO practice VALUES (?, ?, ?, ?, ?, ?, ?)
ON CONFLICT DO UPDATE SET
    attempts = attempts + excluded.attempts,
    right_answers = right_answers + excluded.right_answers,
    sure_and_wrong = sure_and_wrong + excluded.sure_and_wrong,
    last_utc = max(last_utc, excluded.last_utc)
"""


_ADD_PRACTISED = """
INSERT INTO practised VALUES (?, ?, ?, 1, ?, ?)
ON CONFLICT DO UPDATE SET
    attempts = attempts + 1,
    right_answers = right_answers + excluded.right_answers,
    last_utc = max(last_utc, excluded.last_utc)
"""


def _practice_rows(member_id: int, attempts: Sequence[Attempt]) -> list[list[object]]:
    sums: dict[tuple[str, str], tuple[int, int, int, str]] = {}
    for one in attempts:
        for rule in set(one.rule_ids):
            count, right, sure, last = sums.get((one.installation_id, rule), (0, 0, 0, ""))
            sums[one.installation_id, rule] = (
                count + 1,
                right + one.is_right,
                sure + one.is_sure_and_wrong,
                max(last, one.at_utc),
            )
    return [[member_id, *key, *values] for key, values in sums.items()]


def named(attempt: Attempt, member: str) -> Attempt:
    """Return the attempt under the member's name in the book."""
    return replace(attempt, member=member)
