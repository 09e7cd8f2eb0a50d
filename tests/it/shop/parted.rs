//! Two benches with one name, and a bench whose record was restored from an older copy: told, and nothing overwritten.

use std::fs;

use super::{Forward, arrives, bench_of, link, measured, newest, same, until_trouble};
use crate::postgres::{DATABASE, Postgres};
use crate::rig::in_time;

#[test]
fn of_two_benches_with_one_name_the_second_sends_nothing() {
    let server = Postgres::of_a_shop(&["north"]);
    let first = bench_of(&server, "north");
    measured(&first, "J-1", 3);
    let _first_link = Forward::of(&first);
    arrives(&server, &first, "north");
    // One that has fewer rows, and then more.
    let second = bench_of(&server, "north");
    measured(&second, "K-1", 1);
    let second_link = Forward::of(&second);
    let trouble = until_trouble(&second, "the shop has rows of north up to");
    assert_eq!(trouble["state"], "held", "{trouble}");
    measured(&second, "K-2", 20);
    second_link.kill();
    let _second_link = Forward::of(&second);
    let trouble = until_trouble(&second, "in the shop are not those of this bench");
    let hint = trouble["hint"].as_str().unwrap();
    assert!(
        hint.contains("nothing there is changed") && hint.contains("tenths restore --from-shop"),
        "{hint}"
    );
    measured(&first, "J-2", 3);
    arrives(&server, &first, "north");
    assert_eq!(server.value("SELECT count(*) FROM sought WHERE word LIKE 'k-%'"), "0");
}

#[test]
fn two_that_begin_at_the_same_moment_never_mix_their_rows() {
    let server = Postgres::of_a_shop(&["north"]);
    let benches = [bench_of(&server, "north"), bench_of(&server, "north")];
    for (bench, job) in benches.iter().zip(["J-1", "K-1"]) {
        measured(bench, job, 30);
    }
    let _links = benches.each_ref().map(Forward::of);
    let parted = |one: &crate::rig::Bench| link(one)["state"] == "held";
    assert!(in_time(|| benches.iter().any(parted)), "{} {}", link(&benches[0]), link(&benches[1]));
    let winner = benches.iter().position(|bench| !parted(bench)).expect("one of them came through");
    measured(&benches[winner], "L-1", 2);
    arrives(&server, &benches[winner], "north");
    assert!(parted(&benches[1 - winner]));
}

#[test]
fn a_bench_restored_from_an_older_copy_is_told_and_overwrites_nothing() {
    let server = Postgres::of_a_shop(&["north"]);
    let mut bench = bench_of(&server, "north");
    measured(&bench, "J-1", 10);
    let copy = bench.path("monday.db");
    bench.ok(&["backup", copy.to_str().unwrap()]);
    measured(&bench, "J-2", 30);
    let forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
    let before = server.sql(DATABASE, "SELECT seq, body FROM fact ORDER BY seq");
    let whole = bench.path("whole");
    bench.stop();
    fs::create_dir(&whole).unwrap();
    fs::copy(bench.path("state/tenths.db"), whole.join("tenths.db")).unwrap();
    // While the forwarder runs: it sees that the record is another one.
    bench.ok(&["restore", copy.to_str().unwrap()]);
    let trouble = until_trouble(&bench, "the shop has rows of north up to");
    assert!(
        trouble["wrong"].as_str().unwrap().contains("restored from an older copy"),
        "{trouble}"
    );
    bench.start();
    measured(&bench, "K-2", 60);
    let shop =
        server.value("SELECT max(seq) FROM (SELECT seq FROM fact UNION SELECT seq FROM reading) a");
    assert!(newest(&bench) > shop.parse().unwrap());
    until_trouble(&bench, "in the shop are not those of this bench");
    assert_eq!(server.sql(DATABASE, "SELECT seq, body FROM fact ORDER BY seq"), before);
    // With the record that the shop knows everything goes on.
    bench.stop();
    bench.ok(&["restore", whole.join("tenths.db").to_str().unwrap()]);
    bench.start();
    measured(&bench, "J-3", 2);
    arrives(&server, &bench, "north");
    assert_eq!(forward.ended(), Some(0));
    same(&server, &bench, "north");
}
