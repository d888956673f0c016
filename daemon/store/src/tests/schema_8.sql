-- What makes a data file of schema 8, as version 0.1.0 wrote it, of one of schema 7: the step as
-- it was then. Never edited once released: later schemas open it.
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
-- A bolt tightened twice and turns tried twice, folded as it was then: the mean, and the last round.
INSERT INTO job VALUES(2,'intake',0,'rider 2',5,1780000120000000,1780000120000000,1780000240000000,'{"number":2,"rider":"rider 2","stage":"intake","revision":5,"opened":"2026-05-28T20:28:40Z","stage_since":"2026-05-28T20:28:40Z","touched":"2026-05-28T20:30:40Z","facts":{"back-pedal":{"value":{"tally":{"good":10,"tried":10}},"provenance":"measured","readings":[{"value":{"tally":{"good":10,"tried":12}},"at":"2026-05-28T20:29:40Z","by":"AB","seq":3},{"value":{"tally":{"good":10,"tried":10}},"at":"2026-05-28T20:30:40Z","by":"AB","seq":5}],"spread":0.0,"seq":5,"at":"2026-05-28T20:30:40Z","stale":null},"torque-stem":{"value":{"number":5.5},"provenance":"measured","readings":[{"value":{"number":2.0},"at":"2026-05-28T20:29:40Z","by":"AB","seq":2},{"value":{"number":9.0},"at":"2026-05-28T20:30:40Z","by":"AB","seq":4}],"spread":4.949747468305833,"seq":4,"at":"2026-05-28T20:30:40Z","stale":null}},"build":{},"passed":{},"trials":[],"concessions":{},"blocks":[],"last_block":0,"hold":null,"closed_because":null,"orders":[],"pieces":[]}',1);
INSERT INTO journal VALUES(13,2,1,1780000120000000,1780030000000000,'AB','bench 1','taken-in',2,'{"event":"taken-in","rider":"sealed:fad0109bf8f85c22e482c25089d8d25a8fcd41f9aafbd296e9f3086b35da4ac2"}',X'2d5558f97cf8bc7b32edd04b9d6774696de7f649e2f6d69cb8640caf33e6043d',X'17db7788bcca7d4bb3f57bb017d4e62809573f70da738c7439d1ea302aff6053');
INSERT INTO journal VALUES(14,2,2,1780000180000000,1780030000000000,'AB','bench 1','recorded',2,'{"event":"recorded","run":null,"readings":{"torque-stem":{"number":2.0}},"forced":false,"anew":false}',X'17db7788bcca7d4bb3f57bb017d4e62809573f70da738c7439d1ea302aff6053',X'3ca882716cfc8bfaa7bf971d17ec8fd31300cf0031450a5aebf201a1dc3d98aa');
INSERT INTO journal VALUES(15,2,3,1780000180000000,1780030000000000,'AB','bench 1','recorded',2,'{"event":"recorded","run":null,"readings":{"back-pedal":{"tally":{"good":10,"tried":12}}},"forced":false,"anew":false}',X'3ca882716cfc8bfaa7bf971d17ec8fd31300cf0031450a5aebf201a1dc3d98aa',X'cc5d1ea8e6795dfc10a40240bb3c42647844a2f6578160d13eb5c6d68fbf9fea');
INSERT INTO journal VALUES(16,2,4,1780000240000000,1780030000000000,'AB','bench 1','recorded',2,'{"event":"recorded","run":null,"readings":{"torque-stem":{"number":9.0}},"forced":false,"anew":false}',X'cc5d1ea8e6795dfc10a40240bb3c42647844a2f6578160d13eb5c6d68fbf9fea',X'9ef8f68cd62da6e9fde45602950200241686428b556a65b93182948659022636');
INSERT INTO journal VALUES(17,2,5,1780000240000000,1780030000000000,'AB','bench 1','recorded',2,'{"event":"recorded","run":null,"readings":{"back-pedal":{"tally":{"good":10,"tried":10}}},"forced":false,"anew":false}',X'9ef8f68cd62da6e9fde45602950200241686428b556a65b93182948659022636',X'b07a9accc79ed7cb7652011963ab588c325ccfc4d7b03a639ce1181e202dae01');
INSERT INTO private VALUES(13,X'fad0109bf8f85c22e482c25089d8d25a8fcd41f9aafbd296e9f3086b35da4ac2',X'8d634f1cb3a74895303080cf79905b9ef06a632b34ba889a75e02f01e9e692d6','rider 2',NULL);
INSERT INTO migration VALUES(8,'0.1.0');
