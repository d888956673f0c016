-- The shop as a whole, as its journal entries (job 0, but for the catalogue) fold.
CREATE TABLE shop (
    id       INTEGER PRIMARY KEY CHECK (id = 1),
    revision INTEGER NOT NULL CHECK (revision > 0),
    state    TEXT NOT NULL CHECK (json_valid(state))
) STRICT;
