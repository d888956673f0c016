-- What a report of a day or a week looks at without reading the whole history: jobs of which
-- something is outstanding, entries by when they were made, and which evenings were written.
ALTER TABLE job ADD COLUMN outstanding INTEGER NOT NULL DEFAULT 1 CHECK (outstanding IN (0, 1));
CREATE INDEX job_outstanding ON job (number) WHERE outstanding = 1;
CREATE INDEX journal_made ON journal (made_us, job);
CREATE INDEX journal_evening ON journal (payload ->> 'day') WHERE kind = 'evening-written';
