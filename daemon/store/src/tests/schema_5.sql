-- What makes a data file of schema 5, as version 0.1.0 wrote it, of one of schema 4: the step as
-- it was then. Never edited once released: later schemas open it.
ALTER TABLE job ADD COLUMN outstanding INTEGER NOT NULL DEFAULT 1 CHECK (outstanding IN (0, 1));
CREATE INDEX job_outstanding ON job (number) WHERE outstanding = 1;
CREATE INDEX journal_made ON journal (made_us, job);
CREATE INDEX journal_evening ON journal (payload ->> 'day') WHERE kind = 'evening-written';
INSERT INTO migration VALUES(5,'0.1.0');
