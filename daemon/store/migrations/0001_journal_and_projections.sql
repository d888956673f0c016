-- The journal is the truth: one line a fact, in the order it was stored, never changed.
-- Times are UTC microseconds; dates are ISO 8601 days; payloads are JSON.
CREATE TABLE migration (
    number  INTEGER PRIMARY KEY,
    program TEXT NOT NULL
) STRICT;

CREATE TABLE journal (
    id        INTEGER PRIMARY KEY CHECK (id > 0),
    job       INTEGER NOT NULL CHECK (job >= 0),
    seq       INTEGER NOT NULL CHECK (seq > 0),
    made_us   INTEGER NOT NULL,
    stored_us INTEGER NOT NULL,
    by_whom   TEXT NOT NULL,
    terminal  TEXT NOT NULL,
    kind      TEXT NOT NULL,
    version   INTEGER NOT NULL CHECK (version > 0),
    payload   TEXT NOT NULL CHECK (json_valid(payload)),
    previous  BLOB NOT NULL CHECK (length(previous) = 32),
    hash      BLOB NOT NULL CHECK (length(hash) = 32),
    UNIQUE (job, seq)
) STRICT;

CREATE TRIGGER journal_is_never_changed BEFORE UPDATE ON journal BEGIN
    SELECT RAISE(ABORT, 'a journal entry is never changed; a correction is a new entry');
END;

CREATE TRIGGER journal_is_never_shortened BEFORE DELETE ON journal BEGIN
    SELECT RAISE(ABORT, 'a journal entry is never deleted; a correction is a new entry');
END;

-- Also stops INSERT OR REPLACE, which would delete without asking the trigger above.
CREATE TRIGGER journal_has_no_gaps BEFORE INSERT ON journal
WHEN NEW.id <> (SELECT coalesce(max(id), 0) + 1 FROM journal)
  OR NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM journal WHERE job = NEW.job)
BEGIN
    SELECT RAISE(ABORT, 'journal entries follow one another without gaps');
END;

-- Everything below follows from the journal and can be made again from it.
CREATE TABLE job (
    number         INTEGER PRIMARY KEY CHECK (number > 0),
    stage          TEXT NOT NULL,
    is_over        INTEGER NOT NULL CHECK (is_over IN (0, 1)),
    rider          TEXT NOT NULL,
    revision       INTEGER NOT NULL CHECK (revision > 0),
    opened_us      INTEGER NOT NULL,
    stage_since_us INTEGER NOT NULL,
    touched_us     INTEGER NOT NULL,
    state          TEXT NOT NULL CHECK (json_valid(state))
) STRICT;
CREATE INDEX job_open ON job (is_over, number);

CREATE TABLE fact (
    job        INTEGER NOT NULL REFERENCES job (number),
    code       TEXT NOT NULL,
    provenance TEXT NOT NULL,
    value      TEXT NOT NULL CHECK (json_valid(value)),
    seq        INTEGER NOT NULL,
    at_us      INTEGER NOT NULL,
    stale      TEXT,
    PRIMARY KEY (job, code)
) STRICT, WITHOUT ROWID;

CREATE TABLE block (
    job         INTEGER NOT NULL REFERENCES job (number),
    number      INTEGER NOT NULL,
    family      TEXT NOT NULL,
    gate        TEXT NOT NULL,
    check_id    TEXT,
    about       TEXT NOT NULL,
    whose       TEXT NOT NULL,
    chase       TEXT,
    clears_when TEXT NOT NULL,
    opened_us   INTEGER NOT NULL,
    by_whom     TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX block_whose ON block (whose, job, number);

CREATE TABLE build_line (
    job        INTEGER NOT NULL REFERENCES job (number),
    slot       TEXT NOT NULL,
    part_id    TEXT NOT NULL,
    supplier   TEXT,
    due        TEXT,
    ordered_us INTEGER,
    received   INTEGER NOT NULL CHECK (received IN (0, 1)),
    serial     TEXT,
    lot        TEXT,
    PRIMARY KEY (job, slot)
) STRICT, WITHOUT ROWID;
CREATE INDEX build_line_lot ON build_line (lot) WHERE lot IS NOT NULL;
CREATE INDEX build_line_serial ON build_line (serial) WHERE serial IS NOT NULL;
CREATE INDEX build_line_due ON build_line (received, due) WHERE due IS NOT NULL;

CREATE TABLE part (
    id         TEXT PRIMARY KEY,
    kind       TEXT NOT NULL,
    attributes TEXT NOT NULL CHECK (json_valid(attributes)),
    entry      INTEGER NOT NULL REFERENCES journal (id)
) STRICT, WITHOUT ROWID;
CREATE INDEX part_kind ON part (kind, id);

-- Answers already given, so that a repeated request gets the first one again.
CREATE TABLE answered (
    request_id TEXT PRIMARY KEY,
    answer     BLOB NOT NULL,
    at_us      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX answered_at ON answered (at_us);
