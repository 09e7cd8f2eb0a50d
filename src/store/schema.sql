-- Facts are only ever added. `seq` is the number of the row of the record, one series over all
-- tables. `wall` is microseconds since 1970 UTC, `mono` microseconds since the machine was
-- switched on (the 64 bits of an unsigned number). Two columns are pointers to a later fact, kept
-- beside the first so that an index can find what is open: job.closed_by and alert.cleared_by.
-- `by_whom` is who did it, where that is known; of a verdict who touched last.

CREATE TABLE counter (
    id   INTEGER PRIMARY KEY CHECK (id = 1),
    last INTEGER NOT NULL,               -- the newest seq
    feed INTEGER NOT NULL,               -- the newest line of the feed
    plain    INTEGER NOT NULL,           -- the sum of the rows since the last whole block, as they
    weighted INTEGER NOT NULL            -- are read back
) STRICT;
INSERT INTO counter VALUES (1, 0, 0, 0, 0);

-- Which feed its numbers belong to: made with the record, and anew by every restore. `began` is the
-- newest line that came with the copy. A record without it gets a new one at the start.
CREATE TABLE feed_origin (
    id    INTEGER PRIMARY KEY CHECK (id = 1),
    name  TEXT NOT NULL,
    began INTEGER NOT NULL,
    sum   BLOB NOT NULL                  -- BLAKE3 of both, by which a damaged one is known
) STRICT;

CREATE TABLE sum (                       -- of 256 rows each: those with seq / 256 = block
    block    INTEGER PRIMARY KEY,
    plain    INTEGER NOT NULL,
    weighted INTEGER NOT NULL
) STRICT;

-- Rows that were acknowledged and are not in the record any more: their numbers are given to no other.
CREATE TABLE lost (
    first INTEGER PRIMARY KEY,
    last  INTEGER NOT NULL,
    since INTEGER NOT NULL,              -- wall of the newest row before them
    until INTEGER NOT NULL               -- wall of the last of them
) STRICT;

CREATE TABLE plan (
    id     INTEGER PRIMARY KEY,
    digest BLOB NOT NULL,                -- BLAKE3 of the text, by which a damaged one is known
    text   TEXT NOT NULL
) STRICT;
CREATE INDEX plan_digest ON plan (digest);

CREATE TABLE job (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    name      TEXT NOT NULL UNIQUE,
    plan_name TEXT NOT NULL,
    plan      INTEGER NOT NULL REFERENCES plan,
    serial TEXT, customer TEXT,
    rule      TEXT NOT NULL,             -- what it is judged by, until a step "rule-changed"
    closed_by INTEGER,                   -- the step that closed it; null while it is open
    short     INTEGER NOT NULL UNIQUE    -- 1, 2, 3 …: what readings call it
) STRICT;
CREATE INDEX job_name ON job (name COLLATE NOCASE);  -- names are one in any letter case
CREATE INDEX job_open ON job (seq) WHERE closed_by IS NULL;
CREATE INDEX job_closed ON job (closed_by) WHERE closed_by IS NOT NULL;

CREATE TABLE pin (                       -- what attempts are judged with, each set-up once
    id    INTEGER PRIMARY KEY,
    gauge TEXT NOT NULL,
    body  TEXT NOT NULL,                 -- JSON
    UNIQUE (body, gauge)
) STRICT;

CREATE TABLE attempt (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    job    INTEGER NOT NULL REFERENCES job,
    part   INTEGER NOT NULL,             -- place in the plan, from 0
    chk    INTEGER NOT NULL,             -- place in the part, from 0
    number INTEGER NOT NULL,
    reason TEXT NOT NULL,
    grinds INTEGER NOT NULL,             -- 1: metal was taken off right before it
    pin    INTEGER NOT NULL REFERENCES pin
) STRICT;
CREATE INDEX attempt_job ON attempt (job, seq);

CREATE TABLE attempt_remark (            -- so that an attempt without one costs nothing
    attempt INTEGER PRIMARY KEY REFERENCES attempt,
    text    TEXT NOT NULL
) STRICT;

CREATE TABLE form (                      -- what many readings have in common
    id     INTEGER PRIMARY KEY,
    gauge  TEXT NOT NULL,
    unit   TEXT NOT NULL,
    places INTEGER NOT NULL,
    counts TEXT NOT NULL,                -- reading.number counts: "place" the last place, "pm" picometres
    source TEXT NOT NULL,
    file   INTEGER NOT NULL,             -- the file row of a dropped file, otherwise 0
    by_whom TEXT NOT NULL,               -- who touched; empty where that is not known
    UNIQUE (gauge, unit, places, counts, source, file, by_whom)
) STRICT;

-- Small on purpose: what is usually absent lives in reading_more, the job has a short number, the
-- seq is kept as a difference from the job's, and the two times from the beginning of the attempt
-- (from zero where there is none). The view below shows job and seq.
CREATE TABLE reading (
    short  INTEGER NOT NULL,             -- of the job; 0: no job
    nth    INTEGER NOT NULL,             -- seq minus the job's seq
    back   INTEGER NOT NULL,             -- seq minus the attempt's seq; 0: no attempt
    form   INTEGER NOT NULL,
    number INTEGER NOT NULL,
    mono   INTEGER NOT NULL,             -- minus the attempt's mono
    drift  INTEGER NOT NULL,             -- wall minus mono, minus the same of the attempt
    place  INTEGER NOT NULL,             -- state + 8·(position + 1); state alone without a position
    as_sent TEXT NOT NULL,
    PRIMARY KEY (short, nth)
) STRICT, WITHOUT ROWID;
CREATE VIEW reading_seq AS
    SELECT coalesce(j.seq, 0) AS job, coalesce(j.seq, 0) + r.nth AS seq, r.short, r.back, r.form,
           r.number, r.mono, r.drift, r.place, r.as_sent
    FROM reading r LEFT JOIN job j ON j.short = r.short;

CREATE TABLE reading_more (
    reading     INTEGER PRIMARY KEY,
    line        INTEGER,                 -- of the dropped file
    measured_at INTEGER,                 -- the time the file states, as wall
    why         TEXT
) STRICT;

CREATE TABLE mark (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    job     INTEGER NOT NULL REFERENCES job,
    attempt INTEGER NOT NULL REFERENCES attempt,
    reading INTEGER NOT NULL,
    state   INTEGER NOT NULL,
    why     TEXT NOT NULL
) STRICT;
CREATE INDEX mark_job ON mark (job, seq);
CREATE INDEX mark_reading ON mark (reading, seq);

CREATE TABLE verdict (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    job     INTEGER NOT NULL REFERENCES job,
    attempt INTEGER NOT NULL REFERENCES attempt,
    word    TEXT NOT NULL,
    body    TEXT NOT NULL                -- JSON; figures as fractions of a picometre
) STRICT;
CREATE INDEX verdict_job ON verdict (job, seq);
CREATE INDEX verdict_attempt ON verdict (attempt, seq);

CREATE TABLE alert (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    level   TEXT NOT NULL,
    kind    TEXT NOT NULL,
    job     INTEGER REFERENCES job,
    attempt INTEGER REFERENCES attempt,
    about   TEXT,                        -- the subject, as JSON; null where there is none
    position INTEGER,                    -- the position it tells of, where it tells of one touch
    text    TEXT NOT NULL,
    cleared_by INTEGER                   -- the alert_step that cleared it; null while it is open
) STRICT;
CREATE INDEX alert_open ON alert (seq) WHERE cleared_by IS NULL;
CREATE INDEX alert_job ON alert (job, seq) WHERE job IS NOT NULL;

CREATE TABLE alert_step (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    alert INTEGER NOT NULL REFERENCES alert,
    what  TEXT NOT NULL                  -- "seen" or "cleared"
) STRICT;
CREATE INDEX alert_step_alert ON alert_step (alert, seq);

CREATE TABLE feed (
    seq  INTEGER PRIMARY KEY,            -- of the feed: 1, 2, 3 … without a gap
    kind TEXT NOT NULL,                  -- "verdict", "raised", "seen", "cleared"
    row  INTEGER NOT NULL                -- seq of the row of the record
) STRICT;

-- Everything else that happens: the fact as it is stored, and what it is searched by.
CREATE TABLE step (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    kind    TEXT NOT NULL,
    station TEXT,
    job     INTEGER REFERENCES job,      -- of a fact of an attempt the attempt's
    attempt INTEGER REFERENCES attempt,
    body    TEXT NOT NULL                -- JSON
) STRICT;
CREATE INDEX step_job ON step (job, seq) WHERE job IS NOT NULL;
CREATE INDEX step_station ON step (station, kind, seq) WHERE station IS NOT NULL;
CREATE INDEX step_started ON step (seq) WHERE kind = 'started';

CREATE TABLE file (                      -- dropped files, taken and refused
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL, by_whom TEXT,
    taken     INTEGER NOT NULL,
    drop_name TEXT NOT NULL,
    name      TEXT NOT NULL,
    digest    BLOB NOT NULL,             -- BLAKE3 of its bytes
    bytes     INTEGER NOT NULL,
    lines     INTEGER NOT NULL,          -- data rows
    series    BLOB NOT NULL,             -- the same for every version of a file that grows
    went      BLOB NOT NULL,             -- BLAKE3 of the places its rows go to
    why       TEXT NOT NULL
) STRICT;
CREATE INDEX file_digest ON file (digest, went) WHERE taken = 1;
CREATE INDEX file_name ON file (drop_name, name, digest);
CREATE INDEX file_series ON file (drop_name, series, bytes, digest) WHERE taken = 1;
CREATE INDEX file_newest ON file (drop_name, name, seq) WHERE taken = 1;

-- Requests that were done, for ever, so that one that comes again is not done twice. Digests are the
-- first 16 bytes of a BLAKE3.
CREATE TABLE asked (
    key    BLOB PRIMARY KEY,             -- of the key
    digest BLOB NOT NULL,                -- of what was asked
    wall   INTEGER NOT NULL,
    answer INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE answer (                    -- replies to requests, as long as they are kept
    id    INTEGER PRIMARY KEY,
    wall  INTEGER NOT NULL,
    reply TEXT NOT NULL,
    sum   BLOB NOT NULL                  -- of key, digest, wall and reply
) STRICT;

-- Rows that a request on the socket led to, and the process that asked, as the kernel says.
CREATE TABLE caller (
    first INTEGER PRIMARY KEY,
    last  INTEGER NOT NULL,
    uid   INTEGER NOT NULL,
    pid   INTEGER NOT NULL,
    login TEXT,
    elsewhere INTEGER NOT NULL,          -- 1: it came with a job from another bench
    sum   BLOB NOT NULL                  -- BLAKE3 of this row, its first half
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
