-- An assignment is answered by one check: two windows can't both take its form. Where a file has
-- several already, only the first counts as the assignment's; the others stay as they are.
ALTER TABLE check_sitting ADD COLUMN assignment_id TEXT NOT NULL DEFAULT '';
UPDATE check_sitting
SET assignment_id = coalesce(json_extract(sitting_json, '$.assignment_id'), '')
WHERE json_valid(sitting_json) AND NOT EXISTS (
    SELECT 1 FROM check_sitting AS earlier
    WHERE earlier.rowid < check_sitting.rowid AND json_valid(earlier.sitting_json)
    AND json_extract(earlier.sitting_json, '$.assignment_id')
        = json_extract(check_sitting.sitting_json, '$.assignment_id')
);
CREATE UNIQUE INDEX check_once_for_an_assignment ON check_sitting (assignment_id)
WHERE assignment_id <> '';
