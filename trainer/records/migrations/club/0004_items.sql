-- Which item of the bank an answer was to, and in which check it was given.
ALTER TABLE attempt ADD COLUMN item_id TEXT NOT NULL DEFAULT '';
ALTER TABLE attempt ADD COLUMN check_id TEXT NOT NULL DEFAULT '';
