-- The state of a job is written with every change of it, by this program alone, and reading it says when
-- it is no JSON: that is not asked with every change any more. The rows stay as they are ("ALTER TABLE",
-- section 7, SQLite documentation: a constraint that is only taken away; that the schema was changed is told
-- to others by the statements below).
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(sql, ' CHECK (json_valid(state))', '') WHERE type = 'table' AND name = 'job';
PRAGMA writable_schema = RESET;

-- Answers are long and their ids random: in a table of rows each new one stands after the last, and
-- looking for an id reads an index, not the answers beside it.
CREATE TABLE answered_anew (
    request_id TEXT NOT NULL PRIMARY KEY,
    answer     BLOB NOT NULL,
    at_us      INTEGER NOT NULL,
    asked      BLOB CHECK (asked IS NULL OR length(asked) = 32),
    seal       BLOB CHECK (seal IS NULL OR length(seal) = 32),
    places     TEXT CHECK (places IS NULL OR json_valid(places))
) STRICT;
INSERT INTO answered_anew (request_id, answer, at_us, asked, seal, places)
    SELECT request_id, answer, at_us, asked, seal, places FROM answered ORDER BY at_us;
DROP TABLE answered;
ALTER TABLE answered_anew RENAME TO answered;
CREATE INDEX answered_at ON answered (at_us);
