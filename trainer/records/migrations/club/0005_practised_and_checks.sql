-- Practice alone, each answer once: by the list of rules that it was about. Answers of a check are
-- none. Numbers of the installation and of the list are rows of shared_text.
CREATE TABLE practised (
    member_id INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    installation_id INTEGER NOT NULL,
    rule_ids_json INTEGER NOT NULL,
    attempts INTEGER NOT NULL,
    right_answers INTEGER NOT NULL,
    last_utc TEXT NOT NULL,
    PRIMARY KEY (member_id, installation_id, rule_ids_json)
) WITHOUT ROWID;
INSERT INTO practised
SELECT member_id, installation_id, rule_ids_json, count(*), sum(is_right), max(at_utc)
FROM attempt WHERE check_id = '' GROUP BY member_id, installation_id, rule_ids_json;
-- What the check as a whole said; empty where an older program made the verdict.
ALTER TABLE outcome ADD COLUMN check_json TEXT NOT NULL DEFAULT '';
