//! The database goes away, is killed in the middle of a batch, or has a full disk; the forwarder is killed.

use std::fs;
use std::time::Duration;

use rustix::process::geteuid;

use super::{Forward, arrives, bench_of, link, measured, newest, same, until_trouble};
use crate::postgres::{DATABASE, Postgres};
use crate::rig::{Dice, in_time, skipped};

#[test]
fn a_database_that_is_gone_for_a_whole_job_gets_it_afterwards() {
    let mut server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    let forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
    server.stop();
    measured(&bench, "J-1", 5);
    bench.ok(&["note", "J-1", "while nobody listened"]);
    bench.ok(&["job", "close", "J-1", "--why", "a try"]);
    let trouble = until_trouble(&bench, &format!("127.0.0.1:{}", server.port));
    assert_eq!(trouble["state"], "broken", "{trouble}");
    assert!(
        in_time(|| link(&bench)["waiting"].as_u64().is_some_and(|rows| rows > 50)),
        "{}",
        link(&bench)
    );
    assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine");
    server.start();
    arrives(&server, &bench, "north");
    assert_eq!(forward.ended(), Some(0));
}

#[test]
fn a_database_killed_in_the_middle_of_batches_loses_and_doubles_nothing() {
    let mut server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    measured(&bench, "J-0", 50);
    let mut dice = Dice::seeded(18);
    let _forward = Forward::of(&bench);
    for round in 0..12 {
        let open = format!("J-{}", round + 1);
        measured(&bench, &open, 10);
        std::thread::sleep(Duration::from_millis(dice.below(700)));
        server.kill();
        server.start();
        // Whatever moment it was: rows without a gap, no block half.
        let gaps = "SELECT count(*) - coalesce(max(seq), 0) FROM (SELECT seq FROM fact UNION ALL SELECT seq FROM reading) a";
        assert_eq!(server.value(gaps), "0");
    }
    arrives(&server, &bench, "north");
}

#[test]
fn a_hundred_kills_of_the_forwarder_lose_and_double_nothing() {
    let server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    let mut dice = Dice::seeded(20_270_301);
    let mut lives = 0;
    let mut seen = Vec::new();
    for kill in 0..100 {
        measured(&bench, &format!("J-{}", kill + 1), 3);
        let forward = Forward::of(&bench);
        // Not before it has come in, however busy this machine is; then at any moment of its work.
        let is_in = "SELECT count(*) FROM pg_stat_activity WHERE usename = 'north'";
        assert!(in_time(|| server.value(is_in) != "0"), "{}", super::forward_log(&bench));
        std::thread::sleep(Duration::from_millis(dice.below(150)));
        forward.kill();
        lives += 1;
        let rows = "SELECT coalesce(max(seq), 0), count(*) FROM (SELECT seq FROM fact UNION ALL SELECT seq FROM reading) a";
        let rows = &server.sql(DATABASE, rows)[0];
        assert_eq!(rows[0], rows[1], "a gap after kill {kill}");
        seen.push(rows[0].parse::<u64>().unwrap());
    }
    assert_eq!(lives, 100);
    // It came about in the middle: several lives brought some of the rows.
    seen.dedup();
    assert!(seen.len() > 5 && seen.is_sorted(), "{seen:?}");
    let _forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
}

#[test]
fn a_full_disk_of_the_database_is_told_and_everything_arrives_once_there_is_room() {
    if !geteuid().is_root() {
        return skipped("a_full_disk_of_the_database", "only root can mount a small disk for it");
    }
    let mut server = Postgres::made();
    let small = server.path("small");
    fs::create_dir(&small).unwrap();
    server.start_on_a_small_disk(&small, "24m");
    let place = small.display();
    server.sql("postgres", &format!("CREATE TABLESPACE small LOCATION '{place}'"));
    server.sql("postgres", &format!("CREATE DATABASE {DATABASE} TABLESPACE small"));
    server.becomes_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    measured(&bench, "J-0", 30);
    let forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
    // Somebody fills the disk.
    let filler = server.inside(&small).join("filler");
    fs::write(&filler, vec![7; 64 << 20]).unwrap_err();
    measured(&bench, "J-1", 60);
    let trouble = until_trouble(&bench, "is full");
    assert_eq!(trouble["state"], "broken", "{trouble}");
    assert!(trouble["hint"].as_str().unwrap().contains("the rows wait on the bench"), "{trouble}");
    assert!(link(&bench)["newest"].as_u64().unwrap() < newest(&bench));
    fs::remove_file(&filler).unwrap();
    arrives(&server, &bench, "north");
    assert_eq!(forward.ended(), Some(0));
    same(&server, &bench, "north");
}
