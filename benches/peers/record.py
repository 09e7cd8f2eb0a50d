#!/usr/bin/env python3
"""The questions of the benchmark `record` to a plain table: one row a reading, every name a text, an index on the job.

    python3 benches/peers/record.py FOLDER READINGS JOBS

`cargo bench --bench record` runs it in the same run. It makes the table by formula if it is not there and keeps it. Both
sides give ready values: there records of a program, here tuples of Python.
"""

import os
import sqlite3
import sys
import time

SCHEMA = """
CREATE TABLE reading (id INTEGER PRIMARY KEY, at TEXT, job TEXT, part TEXT, chk TEXT, attempt INTEGER, position INTEGER,
                      gauge TEXT, source TEXT, value TEXT, unit TEXT, as_sent TEXT, state TEXT, why TEXT);
CREATE TABLE alert (id INTEGER PRIMARY KEY, at TEXT, level TEXT, kind TEXT, job TEXT, part TEXT, chk TEXT, gauge TEXT,
                    text TEXT, cleared_at TEXT, acked_at TEXT);
"""


def at(second):
    return time.strftime("%Y-%m-%dT%H:%M:%S.000Z", time.gmtime(1_700_000_000 + second))


def readings(count, jobs):
    each = count // jobs
    for number in range(count):
        job, nth = divmod(number, each)
        attempt, touch = divmod(nth, 25)
        check = attempt // 2
        value = f"0.{number * 7919 % 11:05d}"
        state = "closure" if touch == 24 else "placed"
        yield (number + 1, at(4 * number), f"J-{job:05d}", f"ring-{check // 2}", f"face-{check}", attempt % 2 + 1,
               None if touch == 24 else touch, "plate", "serial", value, "in", "+" + value, state, None)


def alerts(count):
    for number in range(count):
        told = f"ring-1/face-2 does not conform: 0.0001{number % 9} in, limit 0.0001."
        yield (number + 1, at(100 * number), "interrupt", "out", f"J-{number // 5:05d}", "ring-1", "face-2", "plate", told,
               None, at(100 * number + 60))


def made(path, count, jobs):
    if os.path.exists(path):
        return sqlite3.connect(path)
    os.makedirs(os.path.dirname(path), exist_ok=True)
    half = path + ".half"
    if os.path.exists(half):
        os.remove(half)
    conn = sqlite3.connect(half)
    conn.executescript("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;" + SCHEMA)
    conn.executemany("INSERT INTO reading VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)", readings(count, jobs))
    conn.executemany("INSERT INTO alert VALUES (?,?,?,?,?,?,?,?,?,?,?)", alerts(5 * jobs))
    conn.execute("CREATE INDEX reading_job ON reading (job)")
    conn.commit()
    conn.close()
    os.rename(half, path)
    return sqlite3.connect(path)


def told(what, both):
    text = f"  {'plain table: ' + what:<44}"
    for before, times in zip(("median", "  on a processor"), both):
        times.sort()
        middle, slow = times[len(times) // 2], times[len(times) * 99 // 100]
        text += f" {before} {middle * 1e6:>7.1f}µs   p99 {slow * 1e6:>7.1f}µs"
    print(text, flush=True)


def timed(ask, turns, rows):
    """By the clock on the wall, and of this thread's time on a processor."""
    wall, own = [], []
    for turn in range(turns):
        start, ran = time.perf_counter(), time.thread_time()
        found = ask(turn)
        own.append(time.thread_time() - ran)
        wall.append(time.perf_counter() - start)
        assert len(found) >= rows, len(found)
    return wall, own


def main():
    folder, count, jobs = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    path = os.path.join(folder, "plain.db")
    conn = made(path, count, jobs)
    print(f"  plain table: on disk {os.path.getsize(path) / count:.1f} bytes a reading", flush=True)
    golden = 0x9E3779B97F4A7C15
    anywhere = lambda turn: f"J-{turn * golden % 2**64 % jobs:05d}"
    of_job = "SELECT * FROM reading WHERE job = ? ORDER BY id"
    job = lambda turn: conn.execute(of_job, (anywhere(turn % 100),)).fetchall()
    for turn in range(100):
        job(turn)
    told("readings of a job, asked before", timed(job, 2000, 500))
    told("readings of any job", timed(lambda turn: conn.execute(of_job, (anywhere(turn + 100),)).fetchall(), 2000, 500))
    newest = lambda _: conn.execute("SELECT * FROM alert ORDER BY id DESC LIMIT 50").fetchall()
    told("last 50 alerts", timed(newest, 4000, 50))


if __name__ == "__main__":
    main()
