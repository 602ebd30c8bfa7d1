"""What happens when the disk, the folder or the file is not as it should be."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from collections import deque
from pathlib import Path
from typing import Any

import pytest

import trainer
from trainer.records import database
from trainer.records.club_book import ClubBook
from trainer.records.error import (
    BusyError,
    ChangedSchemaError,
    CorruptStoreError,
    DiskFullError,
    ForeignFileError,
    NotWritableError,
    ReadOnlyError,
    RecordsError,
)
from trainer.records.store import Store

_ENVIRONMENT = {**os.environ, "PYTHONPATH": str(Path(trainer.__file__).parents[1])}


def _damage(path: Path, start: int = 4096, length: int = 4096 * 3) -> None:
    with path.open("rb+") as stream:
        stream.seek(start)
        stream.write(bytes(range(256)) * (length // 256))


def test_full_disk_is_said_and_nothing_is_lost(filled_path: Path, make_attempt: Any) -> None:
    with Store.open(filled_path) as store:
        (pages,) = store.database.read("PRAGMA page_count")[0]
        # SQLite reports a file at its page limit exactly as it reports a full disk.
        store.database.read(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(DiskFullError, match="free some space"):
            deque((store.add(make_attempt(number)) for number in range(100, 200)), maxlen=0)
        stored = len(store.attempts())
        store.database.read("PRAGMA max_page_count = 1000000")
        store.add(make_attempt(300))
        assert len(store.attempts()) == stored + 1 > 40


_LIMITED = """
import json, resource, signal, sys
from dataclasses import replace
from pathlib import Path
from trainer.records.attempt_check import attempt_from_json
from trainer.records.error import RecordsError
from trainer.records.store import Store
store = Store.open(Path(sys.argv[1]))
attempt = attempt_from_json(json.loads(sys.argv[2]))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
try:
    for number in range(1000):
        store.add(replace(attempt, id=f"limited-{number}"))
        print(f"limited-{number}", flush=True)
except RecordsError as error:
    print(error, file=sys.stderr)
    sys.exit(3)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs setrlimit")
def test_write_refused_by_the_system_keeps_what_was_acknowledged(
    filled_path: Path, make_attempt: Any
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", _LIMITED, str(filled_path), json.dumps(make_attempt(1).to_json())],
        capture_output=True,
        text=True,
        check=False,
        env=_ENVIRONMENT,
    )
    assert done.returncode == 3
    assert "attempts.sqlite3: the disk" in done.stderr
    with Store.open(filled_path) as store:
        store.check()
        assert set(done.stdout.split()) <= {attempt.id for attempt in store.attempts()}


_AS_NOBODY = """
import os, sys
from pathlib import Path
from trainer.records.error import TrainerError
from trainer.records.store import ATTEMPTS, Store
ATTEMPTS.migrations  # loads every module while the interpreter's own files may be read
if os.getuid() == 0:
    os.setuid(65534)
try:
    store = Store.open(Path(sys.argv[1]))
    print(len(store.attempts()), store.read_only_reason)
except TrainerError as error:
    print(error)
"""


def _open_without_permission(path: Path) -> str:
    """Return what an unprivileged process says about opening `path`."""
    folder = path.parent
    parents = [parent for parent in path.parents if str(parent).startswith("/tmp/")]
    for parent in parents:
        parent.chmod(0o755)
    folder.chmod(0o555)
    try:
        done = subprocess.run(
            [sys.executable, "-c", _AS_NOBODY, str(path)],
            capture_output=True,
            text=True,
            check=False,
            env=_ENVIRONMENT,
        )
        return done.stdout + done.stderr
    finally:
        folder.chmod(0o755)


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX permissions")
def test_read_only_folder_opens_to_read_and_says_why(filled_path: Path) -> None:
    said = _open_without_permission(filled_path)
    assert said.startswith("40 no permission to write")
    assert not list(filled_path.parent.glob("*-wal"))


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX permissions")
def test_read_only_folder_without_a_file_is_a_clear_error(store_path: Path) -> None:
    store_path.parent.mkdir()
    said = _open_without_permission(store_path)
    assert "can't be written" in said
    assert "MODE_TRAINER_DATA" in said


def test_folder_that_is_a_file_is_a_clear_error(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("x")
    with pytest.raises(NotWritableError, match="can't be written"):
        Store.open(tmp_path / "data" / "attempts.sqlite3")


def test_damaged_page_is_found_on_open_and_names_the_backup(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
    _damage(filled_path)
    damaged = filled_path.read_bytes()
    with pytest.raises(CorruptStoreError, match=r"newest backup is attempts\.2026-03-01"):
        Store.open(filled_path)
    assert filled_path.read_bytes() == damaged


def test_recovery_starts_from_the_backup_and_keeps_the_damaged_file(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
    _damage(filled_path)
    damaged = filled_path.read_bytes()
    recovery = Store.recover(filled_path)
    assert recovery.restored_from is not None
    assert recovery.damaged_kept_at is not None
    assert recovery.damaged_kept_at.read_bytes() == damaged
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 40


def test_recovery_salvages_what_is_younger_than_the_backup(
    filled_path: Path, make_attempt: Any
) -> None:
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
        for number in range(100, 200):
            store.add(make_attempt(number))
        (root,) = store.database.read(
            "SELECT rootpage FROM sqlite_master WHERE name = 'attempt_by_member'"
        )[0]
        (size,) = store.database.read("PRAGMA page_size")[0]
    _damage(filled_path, (root - 1) * size, size)
    with pytest.raises(CorruptStoreError):
        Store.open(filled_path)
    recovery = Store.recover(filled_path)
    assert recovery.salvaged == 100
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 140


def test_recovery_without_a_backup_keeps_what_can_be_read(filled_path: Path) -> None:
    filled_path.write_bytes(filled_path.read_bytes()[:-5000])
    with pytest.raises(CorruptStoreError, match="there is no backup"):
        Store.open(filled_path)
    recovery = Store.recover(filled_path)
    assert recovery.restored_from is None
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == recovery.salvaged > 0


def test_chosen_backup_is_put_back_and_the_replaced_file_kept(
    filled_path: Path, make_attempt: Any
) -> None:
    with Store.open(filled_path) as store:
        backup = store.back_up("2026-03-01")
        store.add(make_attempt(100))
    assert backup is not None
    kept = Store.restore(filled_path, backup)
    assert kept is not None
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 40
    with Store.open(kept) as store:
        assert len(store.attempts()) == 41


def test_unusable_backup_is_not_put_back(filled_path: Path, tmp_path: Path) -> None:
    other = ClubBook.open(tmp_path / "club.sqlite3")
    other.database.forget_freed_pages()
    with pytest.raises(ForeignFileError, match="a member's attempts"):
        Store.restore(filled_path, other.path)
    other.close()
    with pytest.raises(RecordsError, match="damaged or missing"):
        Store.restore(filled_path, tmp_path / "none")
    newer = tmp_path / "newer.sqlite3"
    newer.write_bytes(filled_path.read_bytes())
    connection = sqlite3.connect(newer)
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(RecordsError, match="schema 99 is newer"):
        Store.restore(filled_path, newer)
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 40


def test_damaged_backup_is_passed_over(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        first = store.back_up("2026-03-01")
        second = store.back_up("2026-03-02")
    assert first is not None
    assert second is not None
    os.utime(second, ns=(first.stat().st_mtime_ns + 10, first.stat().st_mtime_ns + 10))
    _damage(second)
    _damage(filled_path)
    assert Store.recover(filled_path).restored_from == first


def test_damaged_file_is_never_backed_up(
    filled_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(filled_path) as store:
        good = store.back_up("2026-03-01")
    _damage(filled_path, 4096 * 3)
    monkeypatch.setattr(database, "CHECK_ON_OPEN_BYTES", 0)
    with Store.open(filled_path) as store:
        with pytest.raises(CorruptStoreError):
            store.back_up("2026-03-02")
        assert store.backups() == [good]


def test_missing_file_with_backups_is_not_begun_anew(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
    filled_path.unlink()
    with pytest.raises(CorruptStoreError, match="missing, but there are backups"):
        Store.open(filled_path)
    recovery = Store.recover(filled_path)
    assert recovery.damaged_kept_at is None
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 40


def test_recovery_leaves_nothing_but_the_file_and_the_damaged_one(filled_path: Path) -> None:
    _damage(filled_path)
    Store.recover(filled_path)
    assert sorted(entry.name for entry in filled_path.parent.iterdir()) == [
        "attempts.sqlite3",
        "attempts.sqlite3.damaged-1",
    ]


def test_emptied_file_with_backups_is_damage_not_a_new_file(filled_path: Path) -> None:
    with Store.open(filled_path) as store:
        store.back_up("2026-03-01")
    filled_path.write_bytes(b"")
    with pytest.raises(CorruptStoreError, match="empty"):
        Store.open(filled_path)
    Store.recover(filled_path)
    with Store.open(filled_path) as store:
        assert len(store.attempts()) == 40


def test_text_file_in_the_place_is_refused_untouched(store_path: Path) -> None:
    store_path.parent.mkdir()
    store_path.write_text("my shopping list\n" * 100)
    with pytest.raises(CorruptStoreError, match="not a database"):
        Store.open(store_path)
    assert store_path.read_text() == "my shopping list\n" * 100


def test_database_of_another_kind_is_refused_untouched(store_path: Path) -> None:
    store_path.parent.mkdir()
    connection = sqlite3.connect(store_path)
    connection.execute("CREATE TABLE flower (name TEXT)")
    connection.close()
    before = store_path.read_bytes()
    with pytest.raises(ForeignFileError, match="another kind"):
        Store.open(store_path)
    assert store_path.read_bytes() == before


def test_newer_schema_opens_to_read_with_a_message(filled_path: Path, make_attempt: Any) -> None:
    connection = sqlite3.connect(filled_path)
    connection.execute("ALTER TABLE attempt ADD COLUMN weather TEXT")
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with Store.open(filled_path) as store:
        assert "schema 99" in store.read_only_reason
        assert len(store.attempts()) == 40
        with pytest.raises(ReadOnlyError, match="newer program"):
            store.add(make_attempt(50))


def test_migration_by_another_program_stops_writing(filled_path: Path, make_attempt: Any) -> None:
    with Store.open(filled_path) as store:
        connection = sqlite3.connect(filled_path)
        connection.execute("PRAGMA user_version = 99")
        connection.close()
        with pytest.raises(ChangedSchemaError, match="schema 99"):
            store.add(make_attempt(50))


def test_file_held_by_another_program_is_a_clear_error(
    filled_path: Path, make_attempt: Any
) -> None:
    with Store.open(filled_path) as store:
        store.database.read("PRAGMA busy_timeout = 50")
        other = sqlite3.connect(filled_path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BusyError, match="another program"):
            store.add(make_attempt(50))
        other.execute("ROLLBACK")
        store.add(make_attempt(50))
        other.close()


def test_every_fault_is_one_family(filled_path: Path) -> None:
    _damage(filled_path)
    with pytest.raises(RecordsError) as caught:
        Store.open(filled_path)
    assert caught.value.path == filled_path
