"""Keep a sample of today's newest schemas under `samples`; a sample that is there stays."""

from __future__ import annotations

import importlib.util
import shutil
import sqlite3
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from trainer.records.club_schema import CLUB_BOOK
from trainer.records.migration import apply_migration
from trainer.records.store import _COLUMNS, ATTEMPTS, _to_row

SAMPLES = Path(__file__).with_name("samples")


def _builders() -> object:
    spec = importlib.util.spec_from_file_location("builders", SAMPLES.parent / "conftest.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["builders"] = module
    spec.loader.exec_module(module)
    return module


def _make(kind: object, schema: int, target: Path) -> None:
    builders = _builders()
    with TemporaryDirectory() as folder:
        path = Path(folder) / "one.sqlite3"
        connection = sqlite3.connect(path, isolation_level=None)
        for migration in kind.migrations[:schema]:
            apply_migration(connection, migration, kind.application_id)
        if kind is ATTEMPTS:
            marks = ", ".join("?" * len(_COLUMNS))
            connection.executemany(
                f"INSERT INTO attempt ({', '.join(_COLUMNS)}) VALUES ({marks})",
                [_to_row(builders.build_attempt(number)) for number in range(1, 13)],
            )
        else:
            connection.executescript(_CLUB)
        connection.execute("VACUUM")
        connection.close()
        shutil.copyfile(path, target)


_CLUB = """
INSERT INTO club VALUES (1, 'Meadow Flying Club', 1825);
INSERT INTO member VALUES (1, 'Robin Vale', 'Amber Bay', '2026-01-05T09:00:00Z', 1, x'0102');
INSERT INTO member VALUES (2, 'Bo Hill', 'Amber Brook', '2026-01-06T09:00:00Z', 0, NULL);
INSERT INTO instructor VALUES (1, 'Kim Lark');
INSERT INTO aircraft VALUES ('sister_one', 'First sister ship', 'sister_one', 1);
INSERT INTO member_aircraft VALUES (1, 'sister_one');
INSERT INTO requirement VALUES ('sister_one', 1, 'lateral', 'Lateral', 365, '{"r": "aa"}');
INSERT INTO result VALUES ('packet', 1, NULL, '2026-03-02T10:00:00Z', '2026-03-02T10:00:00Z', '0');
INSERT INTO outcome (id, member_id, result_id, aircraft_id, stage, competency_id, verdict, at_utc,
    rules_json, evidence_json, sure_and_wrong_json, misconceptions_json)
    VALUES (1, 1, 'packet', 'sister_one', 1, 'lateral', 'ready',
    '2026-03-02T10:00:00Z', '{"r": "aa"}', '[]', '[]', '[]');
INSERT INTO practice VALUES (1, 'sister_one', 'r', 9, 8, 0, '2026-03-02T10:00:00Z');
"""

if __name__ == "__main__":
    for one in (ATTEMPTS, CLUB_BOOK):
        for number in range(1, one.schema + 1):
            sample = SAMPLES / f"{one.folder}-{number}.sqlite3"
            if not sample.exists():
                _make(one, number, sample)
