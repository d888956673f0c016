-- What makes a data file of schema 2, as version 0.1.0 wrote it, of one of schema 1: the step as
-- it was then, and one entry of the shop as a whole. The hash is a regression value. Never
-- edited once released: later schemas open it.
CREATE TABLE shop (
    id       INTEGER PRIMARY KEY CHECK (id = 1),
    revision INTEGER NOT NULL CHECK (revision > 0),
    state    TEXT NOT NULL CHECK (json_valid(state))
) STRICT;
INSERT INTO migration VALUES(2,'0.1.0');
INSERT INTO journal VALUES(12,0,2,1780030000000000,1780030000000000,'AB','bench 1','shut',1,'{"event":"shop","what":"shut","days":["2026-04-03"],"why":"spring"}',X'DC9E19F2BD9E29DE026EDBF0625902FDA10A456A90C2194F1F5C75360E24C59F',X'2D5558F97CF8BC7B32EDD04B9D6774696DE7F649E2F6D69CB8640CAF33E6043D');
INSERT INTO shop VALUES(1,2,'{"revision":2,"calendar":{"working_days":["monday","tuesday","wednesday","thursday","friday"],"holidays":["2026-04-03"]},"own_rules":[]}');
