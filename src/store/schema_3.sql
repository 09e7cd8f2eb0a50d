-- Sums over rows as they are read back, and jobs that came from another record.

-- The sum of the rows since the last whole block; rows before summed_from have none.
ALTER TABLE counter ADD COLUMN summed_from INTEGER NOT NULL DEFAULT 1;
ALTER TABLE counter ADD COLUMN plain INTEGER NOT NULL DEFAULT 0;
ALTER TABLE counter ADD COLUMN weighted INTEGER NOT NULL DEFAULT 0;
UPDATE counter SET summed_from = last + 1;

CREATE TABLE sum (                       -- of 256 rows each: those with seq / 256 = block
    block    INTEGER PRIMARY KEY,
    plain    INTEGER NOT NULL,
    weighted INTEGER NOT NULL
) STRICT;

CREATE TABLE import (                    -- jobs that came from another record
    job    INTEGER PRIMARY KEY REFERENCES job,
    wall   INTEGER NOT NULL,             -- when
    digest BLOB NOT NULL,                -- SHA-256 of the lines it came as
    sum    BLOB NOT NULL                 -- BLAKE3 of this row and its runs
) STRICT;

-- Rows of such a job: those from `first` to `last` had the numbers from `was` on where they came
-- from. Their boots are steps of the kind "started" with the job beside it.
CREATE TABLE import_run (
    first INTEGER PRIMARY KEY,
    last  INTEGER NOT NULL,
    was   INTEGER NOT NULL,
    job   INTEGER NOT NULL REFERENCES job
) STRICT;
CREATE INDEX import_run_job ON import_run (job, first);
