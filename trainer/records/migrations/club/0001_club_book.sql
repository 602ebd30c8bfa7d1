-- Who belongs to the club, what they must be able to do in which aircraft, and what came back.
CREATE TABLE club (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    retention_days INTEGER NOT NULL CHECK (retention_days > 0)
);
CREATE TABLE member (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    pseudonym TEXT NOT NULL UNIQUE,
    joined_utc TEXT NOT NULL,
    is_active INTEGER NOT NULL DEFAULT 1 CHECK (is_active IN (0, 1)),
    public_key BLOB UNIQUE
);
CREATE TABLE instructor (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
);
CREATE TABLE aircraft (
    id TEXT PRIMARY KEY,
    title TEXT NOT NULL,
    installation_id TEXT NOT NULL,
    stage INTEGER NOT NULL CHECK (stage >= 1)
);
CREATE TABLE member_aircraft (
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    PRIMARY KEY (member_id, aircraft_id)
) WITHOUT ROWID;
-- One row for each competency an aircraft requires at a stage; rules_json is {rule: hash}.
CREATE TABLE requirement (
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    stage INTEGER NOT NULL CHECK (stage >= 1),
    competency_id TEXT NOT NULL,
    title TEXT NOT NULL,
    valid_days INTEGER NOT NULL CHECK (valid_days > 0),
    rules_json TEXT NOT NULL,
    PRIMARY KEY (aircraft_id, stage, competency_id)
);
CREATE TABLE assignment (
    id TEXT PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    issued_utc TEXT NOT NULL,
    due_utc TEXT NOT NULL,
    payload_json TEXT NOT NULL
);
CREATE TABLE result (
    id TEXT PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    assignment_id TEXT REFERENCES assignment (id),
    made_utc TEXT NOT NULL,
    imported_utc TEXT NOT NULL,
    program_version TEXT NOT NULL
);
-- Texts that repeat in many attempts (strips, questions, titles, rule lists), each stored once.
CREATE TABLE shared_text (
    id INTEGER PRIMARY KEY,
    value TEXT NOT NULL UNIQUE
);
CREATE TABLE attempt (
    sequence INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    result_id TEXT NOT NULL REFERENCES result (id),
    at_utc TEXT NOT NULL,
    lesson_id INTEGER NOT NULL,
    lesson_title INTEGER NOT NULL,
    installation_id INTEGER NOT NULL,
    prompt_number INTEGER NOT NULL,
    prompt_kind INTEGER NOT NULL,
    question INTEGER NOT NULL,
    before_json INTEGER NOT NULL,
    predicted_json INTEGER NOT NULL,
    actual_json INTEGER NOT NULL,
    wrong_cells_json INTEGER NOT NULL,
    is_right INTEGER NOT NULL CHECK (is_right IN (0, 1)),
    confidence TEXT NOT NULL CHECK (confidence IN ('sure', 'think_so', 'guess')),
    rule_ids_json INTEGER NOT NULL,
    taken_s REAL NOT NULL,
    program_version INTEGER NOT NULL
);
CREATE INDEX attempt_by_member ON attempt (member_id, at_utc);
CREATE TABLE outcome (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    result_id TEXT NOT NULL REFERENCES result (id),
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    stage INTEGER NOT NULL,
    competency_id TEXT NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('ready', 'not_yet', 'undecided', 'needs_briefing')),
    at_utc TEXT NOT NULL,
    rules_json TEXT NOT NULL,
    evidence_json TEXT NOT NULL,
    sure_and_wrong_json TEXT NOT NULL,
    misconceptions_json TEXT NOT NULL,
    UNIQUE (member_id, aircraft_id, competency_id, at_utc)
);
CREATE INDEX outcome_by_cell ON outcome (aircraft_id, member_id, competency_id, at_utc);
-- Sums over a member's attempts, kept with each import so that the board need not read them.
CREATE TABLE practice (
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    installation_id TEXT NOT NULL,
    rule_id TEXT NOT NULL,
    attempts INTEGER NOT NULL,
    right_answers INTEGER NOT NULL,
    sure_and_wrong INTEGER NOT NULL,
    last_utc TEXT NOT NULL,
    PRIMARY KEY (member_id, installation_id, rule_id)
) WITHOUT ROWID;
CREATE TABLE anonymous_total (
    installation_id TEXT NOT NULL,
    rule_id TEXT NOT NULL,
    attempts INTEGER NOT NULL,
    right_answers INTEGER NOT NULL,
    sure_and_wrong INTEGER NOT NULL,
    PRIMARY KEY (installation_id, rule_id)
) WITHOUT ROWID;
