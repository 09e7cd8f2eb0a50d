-- The record of a shop: the rows of each bench as they are stored there (src/record/schema.sql says what
-- they mean), with the bench beside them. Rows are only added. The name of the bench is the login of the
-- session that adds them: no bench has the right to write that column, so none can write as another.
--
-- Texts are compared byte by byte, whatever the locale of the server: its next version may sort otherwise,
-- and an index would no longer fit. Times are microseconds since 1970 UTC, as on the bench: a clock that
-- was never set gives times that no calendar has.

-- Benches that ever added a row.
CREATE TABLE bench (
    bench text COLLATE "C" PRIMARY KEY DEFAULT session_user,
    since timestamptz NOT NULL DEFAULT now()
);

CREATE TABLE fact (
    bench   text COLLATE "C" NOT NULL DEFAULT session_user,
    seq     bigint NOT NULL,
    wall    bigint NOT NULL,
    mono    bigint NOT NULL,
    by_whom text COLLATE "C",
    job     bigint,
    attempt bigint,
    about   bigint,
    key     text COLLATE "C",
    line    bigint,
    kind    text COLLATE "C" NOT NULL,
    body    text COLLATE "C" NOT NULL,
    PRIMARY KEY (bench, seq)
) PARTITION BY RANGE (seq);

-- A reading has no `nth`: it is seq minus job. What a bench keeps in `reading_more` stands here in the last
-- three columns: what is absent costs a bit. The order of the columns leaves no gaps between them.
CREATE TABLE reading (
    seq     bigint NOT NULL,
    job     bigint NOT NULL,             -- 0: no job
    number  bigint NOT NULL,
    mono    bigint NOT NULL,
    drift   bigint NOT NULL,
    wall    bigint NOT NULL,             -- of the reading itself; it follows from the others, and is searched by
    back    bigint NOT NULL,
    place   bigint NOT NULL,
    form    integer NOT NULL,            -- of the same bench
    bench   text COLLATE "C" NOT NULL DEFAULT session_user,
    as_sent text COLLATE "C" NOT NULL,
    line        bigint,
    measured_at bigint,
    why         text COLLATE "C",
    PRIMARY KEY (bench, seq)
) PARTITION BY RANGE (seq);

-- Each bench counts from 1, so a part holds the same stretch of all benches. A working day is some 1,500
-- rows: one part is about eight months of every bench. The later ones are wider. Together they hold every
-- number there is, so nobody ever has to add one while benches wait.
CREATE TABLE fact_00 PARTITION OF fact FOR VALUES FROM (0) TO (262144);
CREATE TABLE fact_01 PARTITION OF fact FOR VALUES FROM (262144) TO (524288);
CREATE TABLE fact_02 PARTITION OF fact FOR VALUES FROM (524288) TO (786432);
CREATE TABLE fact_03 PARTITION OF fact FOR VALUES FROM (786432) TO (1048576);
CREATE TABLE fact_04 PARTITION OF fact FOR VALUES FROM (1048576) TO (1310720);
CREATE TABLE fact_05 PARTITION OF fact FOR VALUES FROM (1310720) TO (1572864);
CREATE TABLE fact_06 PARTITION OF fact FOR VALUES FROM (1572864) TO (1835008);
CREATE TABLE fact_07 PARTITION OF fact FOR VALUES FROM (1835008) TO (2097152);
CREATE TABLE fact_08 PARTITION OF fact FOR VALUES FROM (2097152) TO (2359296);
CREATE TABLE fact_09 PARTITION OF fact FOR VALUES FROM (2359296) TO (2621440);
CREATE TABLE fact_10 PARTITION OF fact FOR VALUES FROM (2621440) TO (2883584);
CREATE TABLE fact_11 PARTITION OF fact FOR VALUES FROM (2883584) TO (3145728);
CREATE TABLE fact_12 PARTITION OF fact FOR VALUES FROM (3145728) TO (3407872);
CREATE TABLE fact_13 PARTITION OF fact FOR VALUES FROM (3407872) TO (3670016);
CREATE TABLE fact_14 PARTITION OF fact FOR VALUES FROM (3670016) TO (3932160);
CREATE TABLE fact_15 PARTITION OF fact FOR VALUES FROM (3932160) TO (4194304);
CREATE TABLE fact_16 PARTITION OF fact FOR VALUES FROM (4194304) TO (8388608);
CREATE TABLE fact_17 PARTITION OF fact FOR VALUES FROM (8388608) TO (16777216);
CREATE TABLE fact_18 PARTITION OF fact FOR VALUES FROM (16777216) TO (33554432);
CREATE TABLE fact_19 PARTITION OF fact FOR VALUES FROM (33554432) TO (67108864);
CREATE TABLE fact_20 PARTITION OF fact FOR VALUES FROM (67108864) TO (134217728);
CREATE TABLE fact_21 PARTITION OF fact FOR VALUES FROM (134217728) TO (268435456);
CREATE TABLE fact_22 PARTITION OF fact FOR VALUES FROM (268435456) TO (536870912);
CREATE TABLE fact_23 PARTITION OF fact FOR VALUES FROM (536870912) TO (1073741824);
CREATE TABLE fact_24 PARTITION OF fact FOR VALUES FROM (1073741824) TO (MAXVALUE);

CREATE TABLE reading_00 PARTITION OF reading FOR VALUES FROM (0) TO (262144);
CREATE TABLE reading_01 PARTITION OF reading FOR VALUES FROM (262144) TO (524288);
CREATE TABLE reading_02 PARTITION OF reading FOR VALUES FROM (524288) TO (786432);
CREATE TABLE reading_03 PARTITION OF reading FOR VALUES FROM (786432) TO (1048576);
CREATE TABLE reading_04 PARTITION OF reading FOR VALUES FROM (1048576) TO (1310720);
CREATE TABLE reading_05 PARTITION OF reading FOR VALUES FROM (1310720) TO (1572864);
CREATE TABLE reading_06 PARTITION OF reading FOR VALUES FROM (1572864) TO (1835008);
CREATE TABLE reading_07 PARTITION OF reading FOR VALUES FROM (1835008) TO (2097152);
CREATE TABLE reading_08 PARTITION OF reading FOR VALUES FROM (2097152) TO (2359296);
CREATE TABLE reading_09 PARTITION OF reading FOR VALUES FROM (2359296) TO (2621440);
CREATE TABLE reading_10 PARTITION OF reading FOR VALUES FROM (2621440) TO (2883584);
CREATE TABLE reading_11 PARTITION OF reading FOR VALUES FROM (2883584) TO (3145728);
CREATE TABLE reading_12 PARTITION OF reading FOR VALUES FROM (3145728) TO (3407872);
CREATE TABLE reading_13 PARTITION OF reading FOR VALUES FROM (3407872) TO (3670016);
CREATE TABLE reading_14 PARTITION OF reading FOR VALUES FROM (3670016) TO (3932160);
CREATE TABLE reading_15 PARTITION OF reading FOR VALUES FROM (3932160) TO (4194304);
CREATE TABLE reading_16 PARTITION OF reading FOR VALUES FROM (4194304) TO (8388608);
CREATE TABLE reading_17 PARTITION OF reading FOR VALUES FROM (8388608) TO (16777216);
CREATE TABLE reading_18 PARTITION OF reading FOR VALUES FROM (16777216) TO (33554432);
CREATE TABLE reading_19 PARTITION OF reading FOR VALUES FROM (33554432) TO (67108864);
CREATE TABLE reading_20 PARTITION OF reading FOR VALUES FROM (67108864) TO (134217728);
CREATE TABLE reading_21 PARTITION OF reading FOR VALUES FROM (134217728) TO (268435456);
CREATE TABLE reading_22 PARTITION OF reading FOR VALUES FROM (268435456) TO (536870912);
CREATE TABLE reading_23 PARTITION OF reading FOR VALUES FROM (536870912) TO (1073741824);
CREATE TABLE reading_24 PARTITION OF reading FOR VALUES FROM (1073741824) TO (MAXVALUE);

CREATE TABLE lost (
    bench text COLLATE "C" NOT NULL DEFAULT session_user,
    first bigint NOT NULL,
    last  bigint NOT NULL,
    since bigint NOT NULL,
    until bigint NOT NULL,
    PRIMARY KEY (bench, first)
);

CREATE TABLE seal (                      -- after the last row of a block: of the rows with seq / 256 = block
    bench text COLLATE "C" NOT NULL DEFAULT session_user,
    block bigint NOT NULL,
    seal  bytea NOT NULL,
    PRIMARY KEY (bench, block)
);

CREATE TABLE pinned (
    bench  text COLLATE "C" NOT NULL DEFAULT session_user,
    digest bytea NOT NULL,
    text   text COLLATE "C" NOT NULL,
    PRIMARY KEY (bench, digest)
);

CREATE TABLE form (
    bench   text COLLATE "C" NOT NULL DEFAULT session_user,
    id      integer NOT NULL,
    gauge   text COLLATE "C" NOT NULL,
    unit    text COLLATE "C" NOT NULL,
    places  bigint NOT NULL,
    counts  text COLLATE "C" NOT NULL,
    source  text COLLATE "C" NOT NULL,
    file    bigint NOT NULL,
    by_whom text COLLATE "C" NOT NULL,
    PRIMARY KEY (bench, id)
);

CREATE TABLE caller (
    bench text COLLATE "C" NOT NULL DEFAULT session_user,
    first bigint NOT NULL,
    last  bigint NOT NULL,
    uid   bigint NOT NULL,
    pid   bigint NOT NULL,
    login text COLLATE "C",
    elsewhere bigint NOT NULL,
    sum   bytea NOT NULL,
    PRIMARY KEY (bench, first)
);

CREATE TABLE import (
    bench  text COLLATE "C" NOT NULL DEFAULT session_user,
    job    bigint NOT NULL,
    wall   bigint NOT NULL,
    digest bytea NOT NULL,
    sum    bytea NOT NULL,
    PRIMARY KEY (bench, job)
);

CREATE TABLE import_run (
    bench text COLLATE "C" NOT NULL DEFAULT session_user,
    first bigint NOT NULL,
    last  bigint NOT NULL,
    was   bigint NOT NULL,
    job   bigint NOT NULL,
    PRIMARY KEY (bench, first)
);

-- Pictures and papers, by the name that their file has on the bench.
CREATE TABLE paper (
    bench   text COLLATE "C" NOT NULL DEFAULT session_user,
    kept_as text COLLATE "C" NOT NULL,
    bytes   bytea NOT NULL,
    PRIMARY KEY (bench, kept_as)
);

-- What jobs are looked up by over the whole shop: a word that a fact gives to a job, without blanks at its
-- ends and in lower case. A later fact may correct an earlier one: the newest of a job and a `what` counts.
CREATE TABLE sought (
    bench text COLLATE "C" NOT NULL DEFAULT session_user,
    seq   bigint NOT NULL,               -- of the fact
    job   bigint NOT NULL,
    what  text COLLATE "C" NOT NULL,     -- 'name', 'serial', 'customer', 'person', 'part-serial'
    word  text COLLATE "C" NOT NULL,
    PRIMARY KEY (bench, seq, what)
);

CREATE INDEX fact_job ON fact (bench, job) WHERE job IS NOT NULL;
CREATE INDEX fact_about ON fact (bench, about) WHERE about IS NOT NULL;
CREATE INDEX fact_when ON fact (kind, wall);
CREATE INDEX reading_job ON reading (bench, job);
CREATE INDEX reading_when ON reading (wall);
CREATE INDEX sought_word ON sought (word, what);
CREATE INDEX sought_job ON sought (bench, job);

-- Two roles that nobody logs in as: what a bench may do, and what the office may do.
GRANT USAGE ON SCHEMA tenths TO tenths_bench, tenths_office;
GRANT SELECT ON ALL TABLES IN SCHEMA tenths TO tenths_bench, tenths_office;

-- Every column but `bench`, and no right to change or delete.
GRANT INSERT (since) ON bench TO tenths_bench;
GRANT INSERT (seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body) ON fact TO tenths_bench;
GRANT INSERT (seq, job, number, mono, drift, wall, back, place, form, as_sent, line, measured_at, why) ON reading TO tenths_bench;
GRANT INSERT (first, last, since, until) ON lost TO tenths_bench;
GRANT INSERT (block, seal) ON seal TO tenths_bench;
GRANT INSERT (digest, text) ON pinned TO tenths_bench;
GRANT INSERT (id, gauge, unit, places, counts, source, file, by_whom) ON form TO tenths_bench;
GRANT INSERT (first, last, uid, pid, login, elsewhere, sum) ON caller TO tenths_bench;
GRANT INSERT (job, wall, digest, sum) ON import TO tenths_bench;
GRANT INSERT (first, last, was, job) ON import_run TO tenths_bench;
GRANT INSERT (kept_as, bytes) ON paper TO tenths_bench;
GRANT INSERT (seq, job, what, word) ON sought TO tenths_bench;
