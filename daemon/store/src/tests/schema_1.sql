-- A data file of schema 1, written by version 0.1.0 and dumped as text: one job with every
-- projected table filled, one part, one answer. Hashes and states are regression values.
-- Never edited once released: later schemas open it. The header's application_id and
-- user_version are set by the test.
PRAGMA foreign_keys = OFF;
BEGIN TRANSACTION;
CREATE TABLE answered (
    request_id TEXT PRIMARY KEY,
    answer     BLOB NOT NULL,
    at_us      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "answered" VALUES('request 1',X'616E73776572',1780000180000000);
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
INSERT INTO "block" VALUES(1,1,'parts','intake','parts.received','motor not here','supplier','2026-06-03','it is here',1780000120000000,'AB');
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
INSERT INTO "build_line" VALUES(1,'pack','pack-48-14','supplier one','2026-06-01',1780000120000000,1,'S-1','L-7');
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
INSERT INTO "fact" VALUES(1,'chainline-front','measured','{"number":0.0515}',3,1780000120000000,NULL);
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
INSERT INTO "job" VALUES(1,'intake',0,'rider 1',10,1780000000000000,1780000000000000,1780000180000000,'{"number":1,"rider":"rider 1","stage":"intake","revision":10,"opened":"2026-05-28T20:26:40Z","stage_since":"2026-05-28T20:26:40Z","touched":"2026-05-28T20:29:40Z","facts":{"chainline-front":{"value":{"number":0.0515},"provenance":"measured","readings":[{"value":{"number":0.0515},"at":"2026-05-28T20:28:40Z","by":"AB","seq":3}],"spread":0.0,"seq":3,"at":"2026-05-28T20:28:40Z","stale":null}},"build":{"pack":{"part":{"id":"pack-48-14","kind":"pack","attributes":{"mass":{"number":0.30000000000000004},"name":{"text":"part pack-48-14"},"price":{"money":12345}}},"order":{"supplier":"supplier one","due":"2026-06-01","at":"2026-05-28T20:28:40Z"},"receipt":{"slot":"pack","found":{"capacity":{"number":41760.00000000001}},"serial":"S-1","lot":"L-7","volts":51.7,"group_spread":0.012,"papers":"UN 38.3 summary","damage":null}}},"passed":{},"trials":[{"gate":"intake","at":"2026-05-28T20:28:40Z","passed":false}],"concessions":{},"blocks":[{"number":1,"family":"parts","gate":"intake","check":"parts.received","about":"motor not here","whose":"supplier","chase":"2026-06-03","clears_when":"it is here","opened":"2026-05-28T20:28:40Z","by":"AB"}],"last_block":1,"hold":null,"closed_because":null}');
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
INSERT INTO "journal" VALUES(1,1,1,1780000000000000,1780000000000000,'AB','bench 1','taken-in',1,'{"event":"taken-in","rider":"rider 1"}',X'0000000000000000000000000000000000000000000000000000000000000000',X'79EC454F5E04502A2C940108B59B077478269A314E9DED61D1269A1D75D0900D');
INSERT INTO "journal" VALUES(2,0,1,1780000060000000,1780000060000000,'AB','bench 1','catalogued',1,'{"event":"catalogued","parts":[{"id":"pack-48-14","kind":"pack","attributes":{"mass":{"number":0.30000000000000004},"name":{"text":"part pack-48-14"},"price":{"money":12345}}}]}',X'79EC454F5E04502A2C940108B59B077478269A314E9DED61D1269A1D75D0900D',X'0889ADF5E3C91873FF7D6EFB39C2A953C431BB2483F1558A29EE7C4EFDD59CCD');
INSERT INTO "journal" VALUES(3,1,2,1780000120000000,1780000120000000,'AB','bench 1','stated',1,'{"event":"stated","values":{"hill-grade":{"number":0.12}},"provenance":"stated"}',X'0889ADF5E3C91873FF7D6EFB39C2A953C431BB2483F1558A29EE7C4EFDD59CCD',X'5929AED796991F62B7DF7F029CAB5615F4E848584A1378134E4D96E0B6F6027D');
INSERT INTO "journal" VALUES(4,1,3,1780000120000000,1780000120000000,'AB','bench 1','recorded',1,'{"event":"recorded","run":null,"readings":{"chainline-front":{"number":0.0515}},"forced":false,"anew":false}',X'5929AED796991F62B7DF7F029CAB5615F4E848584A1378134E4D96E0B6F6027D',X'F2F74D7476AFE62DCE1B03E2A4376F86294BD3F095493D2914FE86670DFF986C');
INSERT INTO "journal" VALUES(5,1,4,1780000120000000,1780000120000000,'AB','bench 1','chosen',1,'{"event":"chosen","slot":"pack","part":{"id":"pack-48-14","kind":"pack","attributes":{"mass":{"number":0.30000000000000004},"name":{"text":"part pack-48-14"},"price":{"money":12345}}}}',X'F2F74D7476AFE62DCE1B03E2A4376F86294BD3F095493D2914FE86670DFF986C',X'51BBC9BD98ACBC5A963BBDB22A76CC4D19E0F0FBCE32A0929EA358F39F2BA3E7');
INSERT INTO "journal" VALUES(6,1,5,1780000120000000,1780000120000000,'AB','bench 1','ordered',1,'{"event":"ordered","slot":"pack","supplier":"supplier one","due":"2026-06-01"}',X'51BBC9BD98ACBC5A963BBDB22A76CC4D19E0F0FBCE32A0929EA358F39F2BA3E7',X'A526B74A0AEFB251BD96CBBF250F117D2B949A66D5F27504C184740D0654BE8C');
INSERT INTO "journal" VALUES(7,1,6,1780000120000000,1780000120000000,'AB','bench 1','received',1,'{"event":"received","slot":"pack","found":{"capacity":{"number":41760.00000000001}},"serial":"S-1","lot":"L-7","volts":51.7,"group_spread":0.012,"papers":"UN 38.3 summary","damage":null}',X'A526B74A0AEFB251BD96CBBF250F117D2B949A66D5F27504C184740D0654BE8C',X'AC57158C8EB515A9A29440FAD44A436C75C875399B8EC9742135240E8127DB3A');
INSERT INTO "journal" VALUES(8,1,7,1780000120000000,1780000120000000,'AB','bench 1','gate-tried',1,'{"event":"gate-tried","gate":"intake","findings":[{"check":"pack.c-rate","version":1,"verdict":"open","summary":"missing: capacity","uses":["pack.capacity"],"fingerprint":"00ff","conceded":false}],"passed":false}',X'AC57158C8EB515A9A29440FAD44A436C75C875399B8EC9742135240E8127DB3A',X'197E661AC024BECF0F04E61EF0E3AD58F973B7E9F658C6E9B77063FDF8108349');
INSERT INTO "journal" VALUES(9,1,8,1780000120000000,1780000120000000,'AB','bench 1','blocked',1,'{"event":"blocked","number":1,"family":"parts","check":"parts.received","about":"motor not here","whose":"supplier","chase":"2026-06-03","clears_when":"it is here"}',X'197E661AC024BECF0F04E61EF0E3AD58F973B7E9F658C6E9B77063FDF8108349',X'9E74E12FB1E7A81817824750949CBD97E858E3E362273018B301D9E46FC2C60C');
INSERT INTO "journal" VALUES(10,1,9,1780000180000000,1780000180000000,'AB','bench 1','noted',1,'{"event":"noted","text":"a note"}',X'9E74E12FB1E7A81817824750949CBD97E858E3E362273018B301D9E46FC2C60C',X'69DD9E0D0667B0663FCAE87058567CD219CDBEE4EBD770303D931F39053A13FF');
INSERT INTO "journal" VALUES(11,1,10,1780000180000000,1780000180000000,'AB','bench 1','retracted',1,'{"event":"retracted","seq":2,"why":"typed in error"}',X'69DD9E0D0667B0663FCAE87058567CD219CDBEE4EBD770303D931F39053A13FF',X'DC9E19F2BD9E29DE026EDBF0625902FDA10A456A90C2194F1F5C75360E24C59F');
CREATE TABLE migration (
    number  INTEGER PRIMARY KEY,
    program TEXT NOT NULL
) STRICT;
INSERT INTO "migration" VALUES(1,'0.1.0');
CREATE TABLE part (
    id         TEXT PRIMARY KEY,
    kind       TEXT NOT NULL,
    attributes TEXT NOT NULL CHECK (json_valid(attributes)),
    entry      INTEGER NOT NULL REFERENCES journal (id)
) STRICT, WITHOUT ROWID;
INSERT INTO "part" VALUES('pack-48-14','pack','{"mass":{"number":0.30000000000000004},"name":{"text":"part pack-48-14"},"price":{"money":12345}}',2);
CREATE TRIGGER journal_is_never_changed BEFORE UPDATE ON journal BEGIN
    SELECT RAISE(ABORT, 'a journal entry is never changed; a correction is a new entry');
END;
CREATE TRIGGER journal_is_never_shortened BEFORE DELETE ON journal BEGIN
    SELECT RAISE(ABORT, 'a journal entry is never deleted; a correction is a new entry');
END;
CREATE TRIGGER journal_has_no_gaps BEFORE INSERT ON journal
WHEN NEW.id <> (SELECT coalesce(max(id), 0) + 1 FROM journal)
  OR NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM journal WHERE job = NEW.job)
BEGIN
    SELECT RAISE(ABORT, 'journal entries follow one another without gaps');
END;
CREATE INDEX job_open ON job (is_over, number);
CREATE INDEX block_whose ON block (whose, job, number);
CREATE INDEX build_line_lot ON build_line (lot) WHERE lot IS NOT NULL;
CREATE INDEX build_line_serial ON build_line (serial) WHERE serial IS NOT NULL;
CREATE INDEX build_line_due ON build_line (received, due) WHERE due IS NOT NULL;
CREATE INDEX part_kind ON part (kind, id);
CREATE INDEX answered_at ON answered (at_us);
COMMIT;
