-- What makes a data file of schema 4, as version 0.1.0 wrote it, of one of schema 3: the step as
-- it was then. Never edited once released: later schemas open it.
CREATE TABLE piece (
    job        INTEGER NOT NULL REFERENCES job (number),
    number     INTEGER NOT NULL CHECK (number > 0),
    slot       TEXT NOT NULL,
    part_id    TEXT NOT NULL,
    kind       TEXT NOT NULL,
    name       TEXT NOT NULL,
    serial     TEXT,
    lot        TEXT,
    serial_key TEXT,
    lot_key    TEXT,
    supplier   TEXT,
    supplier_key TEXT,
    came_us    INTEGER NOT NULL,
    item       INTEGER,
    fate       TEXT,
    left_us    INTEGER,
    why        TEXT,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX piece_serial ON piece (serial_key) WHERE serial_key IS NOT NULL;
CREATE INDEX piece_lot ON piece (lot_key) WHERE lot_key IS NOT NULL;
CREATE INDEX piece_came ON piece (supplier_key, came_us);

CREATE TABLE order_line (
    job     INTEGER NOT NULL REFERENCES job (number),
    number  INTEGER NOT NULL CHECK (number > 0),
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)),
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX order_line_unsettled ON order_line (settled, job);

CREATE TABLE shelf_line (
    number  INTEGER PRIMARY KEY CHECK (number > 0),
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)),
    state   TEXT NOT NULL CHECK (json_valid(state))
) STRICT;
CREATE INDEX shelf_line_unsettled ON shelf_line (settled, number);

CREATE TABLE shelf_item (
    number     INTEGER PRIMARY KEY CHECK (number > 0),
    count      INTEGER NOT NULL CHECK (count >= 0),
    part_id    TEXT NOT NULL,
    serial_key TEXT,
    lot_key    TEXT,
    supplier_key TEXT,
    came_us    INTEGER NOT NULL,
    state      TEXT NOT NULL CHECK (json_valid(state))
) STRICT;
CREATE INDEX shelf_item_there ON shelf_item (number) WHERE count > 0;
CREATE INDEX shelf_item_serial ON shelf_item (serial_key) WHERE serial_key IS NOT NULL;
CREATE INDEX shelf_item_lot ON shelf_item (lot_key) WHERE lot_key IS NOT NULL;
CREATE INDEX shelf_item_came ON shelf_item (supplier_key, came_us);
INSERT INTO migration VALUES(4,'0.1.0');
