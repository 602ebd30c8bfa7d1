-- One row for each answer; `sequence` is the order of storing and never reused.
CREATE TABLE attempt (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    at_utc TEXT NOT NULL,
    member TEXT NOT NULL,
    lesson_id TEXT NOT NULL,
    lesson_title TEXT NOT NULL,
    installation_id TEXT NOT NULL,
    prompt_number INTEGER NOT NULL,
    prompt_kind TEXT NOT NULL,
    question TEXT NOT NULL,
    before_json TEXT NOT NULL,
    predicted_json TEXT NOT NULL,
    actual_json TEXT NOT NULL,
    wrong_cells_json TEXT NOT NULL,
    is_right INTEGER NOT NULL CHECK (is_right IN (0, 1)),
    confidence TEXT NOT NULL CHECK (confidence IN ('sure', 'think_so', 'guess')),
    rule_ids_json TEXT NOT NULL,
    taken_s REAL NOT NULL,
    program_version TEXT NOT NULL
);
CREATE INDEX attempt_by_member ON attempt (member, sequence);
CREATE INDEX attempt_by_lesson ON attempt (lesson_id, sequence);
