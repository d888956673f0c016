-- What entries say about a person. The payload of an entry holds the hash of such a text; the text
-- and the salt that was hashed before it stand here, until the rider is removed. Then only the
-- day is left, and the hash alone tells nothing.
CREATE TABLE private (
    entry   INTEGER NOT NULL REFERENCES journal (id),
    hash    BLOB NOT NULL CHECK (length(hash) = 32),
    salt    BLOB CHECK (length(salt) = 32),
    text    TEXT,
    removed TEXT,
    PRIMARY KEY (entry, hash),
    CHECK ((salt IS NULL) = (text IS NULL) AND (text IS NULL) = (removed IS NOT NULL))
) STRICT, WITHOUT ROWID;

-- A row while texts were removed whose bytes may still lie in free pages or in the log.
CREATE TABLE uncleaned (
    id INTEGER PRIMARY KEY CHECK (id = 1)
) STRICT;

-- Where private texts stood in an answer that is kept: their bytes are blanked out and put back
-- for a retry, as long as they were not removed.
ALTER TABLE answered ADD COLUMN places TEXT CHECK (places IS NULL OR json_valid(places));

-- Riders by name.
CREATE INDEX job_rider ON job (rider COLLATE NOCASE);
