-- What makes a data file of schema 6, as version 0.1.0 wrote it, of one of schema 5: the step as
-- it was then. Never edited once released: later schemas open it.
CREATE TABLE private (
    entry   INTEGER NOT NULL REFERENCES journal (id),
    hash    BLOB NOT NULL CHECK (length(hash) = 32),
    salt    BLOB CHECK (length(salt) = 32),
    text    TEXT,
    removed TEXT,
    PRIMARY KEY (entry, hash),
    CHECK ((salt IS NULL) = (text IS NULL) AND (text IS NULL) = (removed IS NOT NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE uncleaned (
    id INTEGER PRIMARY KEY CHECK (id = 1)
) STRICT;

ALTER TABLE answered ADD COLUMN places TEXT CHECK (places IS NULL OR json_valid(places));

CREATE INDEX job_rider ON job (rider COLLATE NOCASE);
INSERT INTO migration VALUES(6,'0.1.0');
