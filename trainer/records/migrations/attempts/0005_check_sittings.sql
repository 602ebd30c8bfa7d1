-- Checks that were begun. Their answers are attempts with the check's id, one for each item, so
-- that each is on the disk at once; a check is over when it has an end.
ALTER TABLE attempt ADD COLUMN item_id TEXT NOT NULL DEFAULT '';
ALTER TABLE attempt ADD COLUMN check_id TEXT NOT NULL DEFAULT '';
CREATE UNIQUE INDEX attempt_once_in_a_check ON attempt (check_id, item_id) WHERE check_id <> '';
CREATE TABLE check_sitting (
    id TEXT PRIMARY KEY,
    member TEXT NOT NULL,
    installation_id TEXT NOT NULL,
    begun_utc TEXT NOT NULL,
    ended_utc TEXT,
    decision TEXT NOT NULL DEFAULT '',
    sitting_json TEXT NOT NULL
);
CREATE INDEX check_sitting_by_member ON check_sitting (member, begun_utc);
