-- The member's side of the exchange: books they trust, what was assigned, what was found.
CREATE TABLE trusted_book (
    public_key BLOB PRIMARY KEY,
    club_name TEXT NOT NULL,
    trusted_utc TEXT NOT NULL
);
CREATE TABLE assignment (
    id TEXT PRIMARY KEY,
    book_key BLOB NOT NULL REFERENCES trusted_book (public_key),
    member TEXT NOT NULL,
    received_utc TEXT NOT NULL,
    due_utc TEXT NOT NULL,
    payload_json TEXT NOT NULL
);
CREATE TABLE check_outcome (
    id INTEGER PRIMARY KEY,
    member TEXT NOT NULL,
    aircraft_id TEXT NOT NULL,
    competency_id TEXT NOT NULL,
    at_utc TEXT NOT NULL,
    outcome_json TEXT NOT NULL,
    UNIQUE (member, aircraft_id, competency_id, at_utc)
);
