-- What makes a data file of schema 3, as version 0.1.0 wrote it, of one of schema 2: the step as
-- it was then. Never edited once released: later schemas open it.
ALTER TABLE answered ADD COLUMN asked BLOB CHECK (asked IS NULL OR length(asked) = 32);
ALTER TABLE answered ADD COLUMN seal BLOB CHECK (seal IS NULL OR length(seal) = 32);
INSERT INTO migration VALUES(3,'0.1.0');
