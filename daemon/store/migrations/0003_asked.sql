-- What was asked under a request id, so that the same id with something else in it is told
-- from a retry; and a seal over the row, which no journal covers. Both are missing from answers
-- kept before.
ALTER TABLE answered ADD COLUMN asked BLOB CHECK (asked IS NULL OR length(asked) = 32);
ALTER TABLE answered ADD COLUMN seal BLOB CHECK (seal IS NULL OR length(seal) = 32);
