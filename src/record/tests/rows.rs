//! Rows are read back as they were stored.

use std::sync::Arc;

use proptest::prelude::*;

use crate::Answer;
use crate::digest_of;
use crate::trial::{Home, Rows, history, name, reading};
use bench::plan::Holding;
use bench::row::{Body, Reading, Repeated, Source, Spot, State};
use bench::{Bench, Row, Seq};
use quantity::{Length, Quoted, Stamp, Unit, Wall};

#[test]
fn every_kind_of_row_comes_back_as_it_was() {
    let rows = history();
    let (_home, store) = Home::holding(&rows);
    let back = store.all_rows().unwrap();
    for (stored, back) in rows.rows.iter().zip(&back) {
        assert_eq!(stored, back);
    }
    assert_eq!(rows.rows.len(), back.len());
}

#[test]
fn the_history_of_the_tests_holds_every_kind_of_row() {
    // `match` without a wildcard: a new kind of row does not compile until it has a number here.
    let kind = |row: &Row| match row.body {
        Body::Started { .. } => 0,
        Body::JobOpened(_) => 1,
        Body::JobClosed { .. } => 2,
        Body::JobReopened { .. } => 3,
        Body::JobActive { .. } => 4,
        Body::CheckActive { .. } => 5,
        Body::AttemptBegan(_) => 6,
        Body::AttemptEnded { .. } => 7,
        Body::Reading(_) => 8,
        Body::Marked { .. } => 9,
        Body::Skipped { .. } => 10,
        Body::Asked { .. } => 11,
        Body::MasterNext { .. } => 12,
        Body::Verdict(_) => 13,
        Body::AlertRaised(_) => 14,
        Body::AlertSeen { .. } => 15,
        Body::AlertCleared { .. } => 16,
        Body::Noted { .. } => 17,
        Body::FileTaken(_) => 18,
        Body::FileRefused(_) => 19,
        Body::Answered { .. } => 20,
        Body::StackPlaced { .. } => 21,
        Body::StackTaken { .. } => 22,
        Body::PartReplaced { .. } => 23,
        Body::Swept { .. } => 24,
        Body::PersonAt { .. } => 25,
        Body::Signed { .. } => 26,
        Body::RuleChanged { .. } => 30,
        Body::Seated { .. } => 27,
        Body::TurnUnderWay { .. } => 28,
        Body::WentOn { .. } => 29,
        Body::ProofBegan(_) => 31,
        Body::Proved(_) => 32,
        Body::Registered(_) => 33,
        Body::Repeated(_) => 34,
        Body::Attached(_) => 35,
        Body::AttachedTakenBack { .. } => 36,
        Body::Intake { .. } => 37,
        Body::Decided { .. } => 38,
        Body::Serial { .. } => 39,
        Body::SpeedStep(_) => 40,
        Body::LogWentOn(_) => 41,
        Body::Temperature(_) => 42,
        Body::SpotMarked { .. } => 43,
        Body::JobEdited { .. } => 44,
    };
    let mut kinds: Vec<u8> = history().rows.iter().map(kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds, (0..45).collect::<Vec<u8>>());
}

#[test]
fn a_bench_read_back_at_start_is_the_running_one_at_every_step() {
    let rows = history();
    let home = Home::new();
    let (mut store, _) = home.open();
    let mut running = Bench::default();
    for row in &rows.rows {
        store.commit(std::slice::from_ref(row), &[]).unwrap();
        running.apply(row);
        store.close().unwrap();
        let (again, back) = home.open();
        store = again;
        assert_eq!(Bench::rebuilt(&back.rows, back.last, back.feed), running, "row {}", row.seq);
        assert!(back.rows.is_sorted_by_key(|row| row.seq));
    }
    let all = store.all_rows().unwrap();
    assert_eq!(Bench::rebuilt(&all, running.last, running.feed), running);
    assert_eq!(Bench::rebuilt(&all, Seq(0), 0).jobs, running.jobs);
}

#[test]
fn what_was_seen_of_a_gauge_comes_back_as_far_as_it_is_used() {
    let mut rows = Rows::default();
    rows.add(Body::Started { boot: 1 });
    for count in 0..3 * i64::try_from(bench::NEWEST).unwrap() {
        let gauge = name(if count % 3 == 0 { "height" } else { "plate" });
        let lengths = vec![Length::from_picometres((count % 7 - 3) * 254_000)];
        let (spot, setup, reading) = (Spot::Return, Holding::Plate, Seq(1));
        let seen = Repeated { gauge, serial: None, spot, setup, at: None, lengths, reading };
        rows.add(Body::Repeated(Arc::new(seen)));
    }
    let (home, store) = Home::holding(&rows);
    store.close().unwrap();
    let (_store, back) = home.open();
    let read = back.rows.iter().filter(|row| matches!(row.body, Body::Repeated(_))).count();
    assert_eq!(read, 2 * bench::NEWEST, "no more than that is read");
    assert_eq!(Bench::rebuilt(&back.rows, back.last, back.feed), rows.bench);
}

#[test]
fn closed_jobs_are_left_on_disk_at_start() {
    let rows = history();
    let (home, store) = Home::holding(&rows);
    store.close().unwrap();
    let (_store, back) = home.open();
    let closed = rows.rows.iter().find(|row| matches!(row.body, Body::JobClosed { .. })).unwrap();
    let of_closed = |row: &&Row| matches!(row.body, Body::Reading(_)) && row.seq < closed.seq;
    assert_eq!(back.rows.iter().filter(of_closed).count(), 0);
    assert_eq!(back.last, rows.bench.last);
}

#[test]
fn a_closed_job_can_be_rebuilt_by_its_name() {
    let rows = history();
    let (_home, store) = Home::holding(&rows);
    let id = store.closed_job("S-1041").unwrap().unwrap();
    let own = store.job_rows("S-1041").unwrap().unwrap();
    assert_eq!(Bench::rebuilt_job(own.iter(), id), Bench::rebuilt_job(&rows.rows, id));
    assert!(Bench::rebuilt_job(own.iter(), id).is_some());
    assert_eq!(store.closed_job("S-1042").unwrap(), None, "it is open again");
    assert_eq!(store.job_rows("S-1042").unwrap(), None);
    assert!(store.name_used("S-1042").unwrap());
    assert!(!store.name_used("S-1044").unwrap());
}

#[test]
fn answers_are_kept_by_age_and_keys_for_ever() {
    let home = Home::new();
    let (mut store, _) = home.open();
    let day = |number: i64| Wall::from_micros(number * 24 * 3600 * 1_000_000);
    let answer = |number: i64| Answer {
        key: format!("key-{number}"),
        digest: digest_of("asked"),
        at: day(number),
        reply: format!("{number}"),
        called: None,
    };
    // One a day, ten times a commit's share; the first one is of a clock that was ahead.
    store.commit(&[], &[Answer { at: day(9000), ..answer(-1) }]).unwrap();
    for number in 0..160 {
        store.commit(&[], &[answer(number)]).unwrap();
    }
    let again = Answer { reply: "another".to_owned(), ..answer(159) };
    store.commit(&[], &[again]).unwrap();
    store.close().unwrap();
    let (store, _) = home.open();
    for number in -1..160 {
        let found = store.answer_of(&format!("key-{number}")).unwrap().expect("the key is known");
        assert_eq!(found.digest, digest_of("asked"));
        // 30 days of replies, and the day itself; the first one of a key counts.
        let kept = (number >= 159 - 30).then(|| number.to_string());
        assert_eq!(found.reply, kept, "{number}");
    }
    assert_eq!(store.answer_of("key-160").unwrap(), None);
}

#[test]
fn a_plan_and_a_pin_are_stored_once() {
    let (_home, store) = Home::holding(&history());
    let count = |table: &str| -> i64 {
        let sql = format!("SELECT count(*) FROM {table}");
        store.connection().query_row(&sql, [], |row| row.get(0)).unwrap()
    };
    // One plan, and two pins: with the gauge, and of the question that needs none.
    assert_eq!(count("pinned"), 3);
    assert_eq!(count("fact WHERE kind = 'job-opened'"), 3);
    assert_eq!(count("fact WHERE kind = 'attempt-began'"), 6);
}

fn any_value() -> impl Strategy<Value = Quoted> {
    let unit = prop_oneof![
        Just((Unit::Inch, 8_u8)),
        Just((Unit::Millimetre, 9)),
        Just((Unit::Micrometre, 6)),
    ];
    let counted = (unit, 0_u8..=9, -90_000_000_000_i128..90_000_000_000).prop_map(
        |((unit, most), places, count)| {
            Quoted::from_count(count, places.min(most), unit).unwrap_or(Quoted {
                length: Length::ZERO,
                unit,
                places: 3,
            })
        },
    );
    let long = (0_u32..2).prop_map(|whole| {
        // More places than an i64 can count.
        Quoted::parse(&format!("{whole}.{}", "0".repeat(25)), Unit::Inch).unwrap()
    });
    prop_oneof![9 => counted, 1 => long]
}

prop_compose! {
    fn any_reading(job: Seq, attempt: Seq)(
        tagged in 0_u8..3,
        gauge in "[a-zØ][a-z0-9 .-]{0,8}[a-z]",
        source in 0_u8..3,
        line in any::<u32>(),
        value in any_value(),
        as_sent in ".{0,12}",
        state in 0_usize..8,
        why in proptest::option::of(".{0,9}"),
        position in proptest::option::of(any::<u32>()),
        measured in proptest::option::of(any::<i64>()),
    ) -> Reading {
        let states = [
            State::Placed, State::Closure, State::Master, State::HalfTurn,
            State::Void, State::Repeat, State::Unclaimed, State::Suspect,
        ];
        let sources = [Source::Serial, Source::Drop { file: Seq(1), line }, Source::Keyed];
        Reading {
            job: (tagged > 0).then_some(job),
            attempt: (tagged > 1).then_some(attempt),
            gauge: name(&gauge),
            source: sources[usize::from(source)],
            value,
            as_sent,
            state: states[state],
            why,
            position,
            measured_at: measured.map(Wall::from_micros),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_reading_at_any_time_comes_back(
        readings in proptest::collection::vec((any_reading(Seq(1), Seq(2)), any::<(i64, u64)>()), 1..20),
        (wall, mono_us) in any::<(i64, u64)>(),
    ) {
        let mut rows = Rows::default();
        let job = rows.open("S-1");
        let attempt = rows.begin(job, (0, 0), 1);
        prop_assert_eq!((job, attempt), (Seq(1), Seq(2)));
        rows.rows[1].at = Stamp { wall: Wall::from_micros(wall), mono_us };
        for (reading, (wall, mono_us)) in readings {
            // Stored but not applied: a bench has no room for position four thousand million.
            let seq = rows.rows.last().unwrap().seq.next();
            let at = Stamp { wall: Wall::from_micros(wall), mono_us };
            rows.rows.push(Row { seq, at, by: None, body: Body::Reading(reading), restored: None });
        }
        let (_home, store) = Home::holding(&rows);
        prop_assert_eq!(store.all_rows().unwrap(), rows.rows);
    }
}

#[test]
fn a_reading_costs_at_most_32_bytes_beside_its_text() {
    const TOUCHES: u32 = 8;
    const ATTEMPTS: u32 = 12_500;
    let mut rows = Rows::default();
    let mut text = 0;
    let mut job = rows.open("S-0");
    for number in 0..ATTEMPTS {
        if number % 125 == 0 && number > 0 {
            job = rows.open(&format!("S-{number}"));
        }
        rows.bench = Bench::rebuilt([], rows.bench.last, 0);
        let attempt = rows.begin(job, (0, 0), number % 125 + 1);
        for position in 0..TOUCHES {
            let value =
                Quoted::from_count(i128::from(number * position % 700) - 350, 5, Unit::Inch);
            let value = value.unwrap();
            let as_sent = value.number();
            text += as_sent.len();
            let taken = Reading { value, as_sent, ..reading(Some(job), Some(attempt), position) };
            rows.add(Body::Reading(taken));
        }
    }
    let home = Home::new();
    let (mut store, _) = home.open();
    for some in rows.rows.chunks(90) {
        store.commit(some, &[]).unwrap();
    }
    let sql = "SELECT sum(pgsize) FROM dbstat WHERE name LIKE 'reading%' OR name = 'form'";
    let count = f64::from(TOUCHES * ATTEMPTS);
    let bytes: i64 = store.connection().query_row(sql, [], |row| row.get(0)).unwrap();
    #[expect(clippy::cast_precision_loss, reason = "a size")]
    let (each, text) = (bytes as f64 / count, text as f64 / count);
    println!("{each:.1} bytes a reading, {text:.1} of them text");
    assert!(each <= 32.0 + text, "{each:.1} bytes a reading, {text:.1} of them text");
}

#[test]
fn the_readings_of_a_job_are_found_without_looking_at_others() {
    let (_home, store) = Home::holding(&history());
    let readings = crate::compact::READINGS;
    let sql = format!("EXPLAIN QUERY PLAN {readings} WHERE t.job = ?1");
    let mut statement = store.connection().prepare(&sql).unwrap();
    let steps = statement.query_map([3], |row| row.get::<_, String>(3)).unwrap();
    let steps: Vec<String> = steps.map(Result::unwrap).collect();
    assert!(steps.iter().all(|step| !step.starts_with("SCAN")), "{steps:#?}");
    assert!(steps.iter().any(|step| step.contains("PRIMARY KEY (job=?)")), "{steps:#?}");
}
