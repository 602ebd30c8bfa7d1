-- What was said and what was right, for prompts that are answered by a choice or a number.
ALTER TABLE attempt ADD COLUMN said TEXT NOT NULL DEFAULT '';
ALTER TABLE attempt ADD COLUMN expected TEXT NOT NULL DEFAULT '';
