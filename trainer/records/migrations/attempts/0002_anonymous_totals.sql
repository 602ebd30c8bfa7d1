-- What remains of deleted members: how many answers, how many right; no name, time or text.
CREATE TABLE anonymous_total (
    installation_id TEXT NOT NULL,
    lesson_id TEXT NOT NULL,
    prompt_number INTEGER NOT NULL,
    attempts INTEGER NOT NULL,
    right_answers INTEGER NOT NULL,
    sure_and_wrong INTEGER NOT NULL,
    PRIMARY KEY (installation_id, lesson_id, prompt_number)
) WITHOUT ROWID;
