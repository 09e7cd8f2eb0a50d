//! Logins that are refused, each with what is wrong and what to do about it.

use std::fs;

use super::{Forward, arrives, bench_of, measured, until_trouble};
use crate::postgres::{DATABASE, Postgres};

#[test]
fn a_wrong_secret_is_told_and_the_right_one_is_taken_without_a_new_start() {
    let server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    measured(&bench, "J-1", 2);
    let file = server.path("north.secret");
    let right = fs::read_to_string(&file).unwrap();
    fs::write(&file, "wrong\n").unwrap();
    let forward = Forward::of(&bench);
    let trouble = until_trouble(&bench, "refuses the secret of north");
    assert_eq!(trouble["state"], "held");
    assert!(trouble["hint"].as_str().unwrap().contains("secret ="), "{trouble}");
    fs::write(&file, "\n").unwrap();
    until_trouble(&bench, "is empty");
    fs::remove_file(&file).unwrap();
    until_trouble(&bench, "cannot be read: No such file");
    fs::write(&file, right).unwrap();
    arrives(&server, &bench, "north");
    assert_eq!(forward.ended(), Some(0));
    assert!(!super::forward_log(&bench).contains("wrong\n"));
}

#[test]
fn what_is_not_set_up_yet_is_told_step_by_step() {
    let server = Postgres::started();
    fs::write(server.path("north.secret"), "s\n").unwrap();
    let bench = bench_of(&server, "north");
    measured(&bench, "J-1", 1);
    let _forward = Forward::of(&bench);
    // No role of that name: a server does not say more about that than about a wrong secret.
    until_trouble(&bench, "refuses the secret of north");
    server.sql("postgres", "CREATE ROLE north LOGIN PASSWORD 's'");
    until_trouble(&bench, "holds no record of a shop");
    server.admin(&["shop", "migrate"]);
    until_trouble(&bench, "may not do that");
    server.sql(
        "postgres",
        &format!("GRANT CONNECT ON DATABASE {DATABASE} TO north; GRANT tenths_office TO north"),
    );
    until_trouble(&bench, "permission denied for table bench");
    server.sql("postgres", "GRANT tenths_bench TO north");
    arrives(&server, &bench, "north");
    server.sql(DATABASE, "INSERT INTO step (number) VALUES (2)");
    server.sql(
        "postgres",
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'north'",
    );
    let trouble = until_trouble(&bench, "this program knows 1 and no later one");
    assert!(trouble["hint"].as_str().unwrap().contains("install the newer version"), "{trouble}");
}

#[test]
fn a_login_of_another_name_adds_nothing() {
    let server = Postgres::of_a_shop(&["north"]);
    let table =
        server.table("south").replace("south.secret", "north.secret") + "user = \"north\"\n";
    let mut bench = crate::rig::Bench::new(&crate::rig::Make {
        gauge: super::GAUGE,
        more: &table,
        plan: super::PLAN,
    });
    bench.start();
    let _forward = Forward::of(&bench);
    until_trouble(&bench, "north can only add rows of a bench north; this bench is south");
    assert_eq!(server.value("SELECT count(*) FROM fact"), "0");
}
