-- Facts are only ever added, and none is changed. `seq` is the number of a row of the record, one
-- series over `fact` and `reading`. `wall` is microseconds since 1970 UTC, `mono` microseconds since
-- the machine was switched on (the 64 bits of an unsigned number).

CREATE TABLE counter (
    id   INTEGER PRIMARY KEY CHECK (id = 1),
    last INTEGER NOT NULL,               -- the newest seq
    feed INTEGER NOT NULL,               -- the newest line of the feed
    head BLOB NOT NULL,                  -- the seal after the newest row
    tags BLOB NOT NULL                   -- of the open block, as in `seal`
) STRICT;
INSERT INTO counter VALUES (1, 0, 0, zeroblob(32), x'');

-- Which feed its numbers belong to: made with the record, and anew by every restore. `began` is the
-- newest line that came with the copy. A record without it gets a new one at the start.
CREATE TABLE feed_origin (
    id    INTEGER PRIMARY KEY CHECK (id = 1),
    name  TEXT NOT NULL,
    began INTEGER NOT NULL,
    sum   BLOB NOT NULL                  -- BLAKE3 of both, by which a damaged one is known
) STRICT;

CREATE TABLE seal (                      -- of 256 rows each: those with seq / 256 = block
    block INTEGER PRIMARY KEY,
    seal  BLOB NOT NULL,                 -- after the last row of the block
    tags  BLOB NOT NULL                  -- two bytes of the leaf of each of its rows
) STRICT;

-- Rows that were acknowledged and are not in the record any more: their numbers are given to no other.
CREATE TABLE lost (
    first INTEGER PRIMARY KEY,
    last  INTEGER NOT NULL,
    since INTEGER NOT NULL,              -- wall of the newest row before them
    until INTEGER NOT NULL               -- wall of the last of them
) STRICT;

CREATE TABLE pinned (                    -- texts that facts have by their digest: plans, and what attempts
    digest BLOB PRIMARY KEY,             -- are judged with. BLAKE3 of the text
    text   TEXT NOT NULL
) STRICT;

-- What happened: the fact as it is described in the core, as JSON, and what it is searched by.
CREATE TABLE fact (
    seq INTEGER PRIMARY KEY, wall INTEGER NOT NULL, mono INTEGER NOT NULL,
    by_whom TEXT,                        -- who did it, where that is known; of a verdict who touched last
    job     INTEGER,                     -- of a fact of an attempt the attempt's
    attempt INTEGER,
    about   INTEGER,                     -- the reading that is marked, the alert that is seen or over
    key     TEXT,                        -- the word that it is searched by
    line    INTEGER,                     -- of the feed: 1, 2, 3 … without a gap; null where it is none
    kind    TEXT NOT NULL,
    body    TEXT NOT NULL
) STRICT;
CREATE INDEX fact_job ON fact (job, kind) WHERE job IS NOT NULL;
CREATE INDEX fact_about ON fact (about) WHERE about IS NOT NULL;
CREATE UNIQUE INDEX fact_line ON fact (line) WHERE line IS NOT NULL;
CREATE INDEX fact_verdict ON fact (attempt) WHERE kind = 'verdict';
CREATE UNIQUE INDEX fact_name ON fact (key) WHERE kind = 'job-opened';
CREATE INDEX fact_name_any_case ON fact (key COLLATE NOCASE) WHERE kind = 'job-opened';
CREATE INDEX fact_station ON fact (key, kind)
    WHERE kind = 'job-active' OR kind = 'person' OR kind = 'check-active';
CREATE INDEX fact_shop ON fact (key, kind)
    WHERE kind = 'proof-began' OR kind = 'proved' OR kind = 'registered';
CREATE INDEX fact_mark ON fact (about) WHERE kind = 'marked' AND job IS NULL;
CREATE INDEX fact_attached ON fact (key) WHERE kind = 'attached';
CREATE INDEX fact_repeated ON fact (key, seq) WHERE kind = 'repeated';
CREATE INDEX fact_kind ON fact (kind)
    WHERE kind = 'job-opened' OR kind = 'job-closed' OR kind = 'alert-raised' OR kind = 'started'
        OR kind = 'signed';

-- Two tables that follow from the facts. A start makes the first anew where it does not.

CREATE TABLE pending (                   -- jobs that are open and alerts that are not over
    kind TEXT NOT NULL,                  -- of the fact: "job-opened" or "alert-raised"
    fact INTEGER NOT NULL,
    PRIMARY KEY (kind, fact)
) STRICT, WITHOUT ROWID;

CREATE TABLE found (                     -- what dropped files are searched by
    word BLOB NOT NULL,
    fact INTEGER NOT NULL,
    PRIMARY KEY (word, fact)
) STRICT, WITHOUT ROWID;

CREATE TABLE form (                      -- what many readings have in common
    id     INTEGER PRIMARY KEY,
    gauge  TEXT NOT NULL,
    unit   TEXT NOT NULL,
    places INTEGER NOT NULL,
    counts TEXT NOT NULL,                -- reading.number counts: "place" the last place, "pm" picometres
    source TEXT NOT NULL,
    file   INTEGER NOT NULL,             -- the fact of a dropped file, otherwise 0
    by_whom TEXT NOT NULL,               -- who touched; empty where that is not known
    UNIQUE (gauge, unit, places, counts, source, file, by_whom)
) STRICT;

-- Small on purpose: what is usually absent lives in reading_more, the seq is kept as a difference from
-- the job's, and the two times from the beginning of the attempt (from zero where there is none).
CREATE TABLE reading (
    job    INTEGER NOT NULL,             -- 0: no job
    nth    INTEGER NOT NULL,             -- seq minus the job's seq
    back   INTEGER NOT NULL,             -- seq minus the attempt's seq; 0: no attempt
    form   INTEGER NOT NULL,
    number INTEGER NOT NULL,
    mono   INTEGER NOT NULL,             -- minus the attempt's mono
    drift  INTEGER NOT NULL,             -- wall minus mono, minus the same of the attempt
    place  INTEGER NOT NULL,             -- state + 9·(position + 1); state alone without a position
    as_sent TEXT NOT NULL,
    PRIMARY KEY (job, nth)
) STRICT, WITHOUT ROWID;

CREATE TABLE reading_more (
    reading     INTEGER PRIMARY KEY,
    line        INTEGER,                 -- of the dropped file
    measured_at INTEGER,                 -- the time the file states, as wall
    why         TEXT
) STRICT;

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
    job    INTEGER PRIMARY KEY,
    wall   INTEGER NOT NULL,             -- when
    digest BLOB NOT NULL,                -- SHA-256 of the lines it came as
    sum    BLOB NOT NULL                 -- BLAKE3 of this row and its runs
) STRICT;

-- Rows of such a job: those from `first` to `last` had the numbers from `was` on where they came
-- from. Their boots are facts of the kind "started" with the job beside it.
CREATE TABLE import_run (
    first INTEGER PRIMARY KEY,
    last  INTEGER NOT NULL,
    was   INTEGER NOT NULL,
    job   INTEGER NOT NULL
) STRICT;
CREATE INDEX import_run_job ON import_run (job, first);
