-- A briefing that an instructor gave, and the board as it was when it was last looked at.
CREATE TABLE briefing (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    competency_id TEXT NOT NULL,
    instructor_id INTEGER NOT NULL REFERENCES instructor (id),
    at_utc TEXT NOT NULL,
    note TEXT NOT NULL
);
CREATE INDEX briefing_by_cell ON briefing (aircraft_id, member_id, competency_id, at_utc);
CREATE TABLE board_seen (
    aircraft_id TEXT NOT NULL REFERENCES aircraft (id),
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    competency_id TEXT NOT NULL,
    status TEXT NOT NULL,
    seen_utc TEXT NOT NULL,
    PRIMARY KEY (aircraft_id, member_id, competency_id)
) WITHOUT ROWID;
