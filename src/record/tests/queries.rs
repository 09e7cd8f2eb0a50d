//! The answers to queries.

use crate::seals::CHANGED;
use crate::trial::{Home, Rows, as_stored, history, name, parse, verdict};
use crate::{
    AlertStage, FeedEvent, Filter, Place, Progress, Reader, ReadingRecord, ReadingSource,
    StackRecord, StackedPart, StoreError, Verified,
};
use bench::row::{AttemptReason, Body, Level, State};
use bench::{Job, Seq};
use judgement::Word;
use quantity::Wall;

fn of_job(job: &str) -> Filter {
    Filter { job: Some(job.to_owned()), ..Filter::default() }
}

fn numbers(readings: &[ReadingRecord]) -> Vec<u64> {
    readings.iter().map(|reading| reading.id.0).collect()
}

#[test]
fn a_reading_comes_with_its_names_and_its_place() {
    let (home, _store) = Home::holding(&history());
    let readings = home.reader().readings(&of_job("S-1041")).unwrap();
    assert_eq!(readings.len(), 8);
    let third = readings.iter().find(|reading| reading.position == Some(2)).unwrap();
    assert_eq!(third.state, State::Void);
    assert_eq!(third.why.as_deref(), Some("wild"));
    assert_eq!(third.value.to_string(), "0.00012 in");
    // Position 2 of 8, counted clockwise: 360 − 90.
    assert_eq!(third.angle_deg, Some(270.0));
    assert_eq!(third.radius.unwrap().picometres(), 38_100_000_000);
    let place = third.place.clone().unwrap();
    assert_eq!(place.job, name("S-1041"));
    let check = place.check.unwrap();
    assert_eq!((check.part, check.check, check.number), (name("inner"), name("face-a"), 1));
    assert_eq!(third.at.micros(), 1_800_000_000_000_000 + 11 * 2_500_017);
    assert_eq!(third.id, Seq(11));
}

#[test]
fn readings_are_found_by_every_part_of_a_filter() {
    let rows = history();
    let (home, _store) = Home::holding(&rows);
    let reader = home.reader();
    let found = |filter: Filter| numbers(&reader.readings(&filter).unwrap());
    let all = found(Filter::default());
    let stored = |row: &&bench::Row| matches!(row.body, Body::Reading(_));
    let expected: Vec<u64> = rows.rows.iter().filter(stored).map(|row| row.seq.0).collect();
    assert_eq!(all, expected, "everything, oldest first, readings without a job too");
    let with_state = |state| found(Filter { state: Some(state), ..Filter::default() });
    assert_eq!(with_state(State::Unclaimed), [2]);
    assert_eq!(with_state(State::Void), [11, 90], "the second is a touch of a proof");
    assert_eq!(with_state(State::Master), [8]);
    assert!(!with_state(State::Placed).contains(&11), "the newest mark counts");
    assert_eq!(found(Filter { last: Some(2), ..Filter::default() }), all[all.len() - 2..]);
    assert_eq!(found(Filter { last: Some(2), ..of_job("S-1041") }), [14, 15]);
    let at = |seq: i64| Some(Wall::from_micros(1_800_000_000_000_000 + seq * 2_500_017));
    let between = Filter { since: at(2), until: at(9), ..Filter::default() };
    assert_eq!(found(between), [2, 8], "start in, end out");
    let part = |part: &str, check: &str| Filter {
        part: Some(part.to_owned()),
        check: Some(check.to_owned()),
        ..Filter::default()
    };
    assert_eq!(found(part("inner", "face-a")), (8..16).collect::<Vec<u64>>());
    let wrong = |part_name: &str, check: &str| match reader.readings(&part(part_name, check)) {
        Err(StoreError::NoSuchName { what, near, .. }) => (what, near),
        other => panic!("{other:?}"),
    };
    assert_eq!(wrong("inner", "face-c"), ("check", vec!["face-a".into(), "face-b".into()]));
    assert_eq!(wrong("iner", "face-a"), ("part", vec!["inner".into()]));
    let outer = reader.readings(&part("outer", "face-b")).unwrap();
    let file = "S-1042__outer__face-b.csv".to_owned();
    assert_eq!(outer[0].source, ReadingSource::Drop { file, line: 2 });
    assert_eq!(outer[0].angle_deg, Some(90.0));
    assert_eq!(outer[0].value.number(), "-12.3450");
    assert_eq!(outer[2].place.as_ref().unwrap().check.as_ref().unwrap().number, 2);
    let gauge = |gauge: &str| Filter { gauge: Some(gauge.to_owned()), ..Filter::default() };
    assert_eq!(found(gauge("plate")), all);
    assert!(found(gauge("height")).is_empty());
}

#[test]
fn an_unknown_job_is_told_with_names_near_it() {
    let (home, _store) = Home::holding(&history());
    for wrong in [
        home.reader().readings(&of_job("S-1401")).map(drop),
        home.reader().verdicts(&of_job("S-1401")).map(drop),
        home.reader().job("S-1401").map(drop),
    ] {
        let Err(StoreError::NoSuchJob { name, near }) = wrong else { panic!("{wrong:?}") };
        assert_eq!(name, "S-1401");
        assert_eq!(near.first().map(String::as_str), Some("S-1041"));
    }
}

/// Jobs `a-1`, `A-1`, `b-2` and `7731`, with serials; three of one spindle.
fn with_serials() -> Rows {
    let mut rows = Rows::default();
    let jobs = [
        ("a-1", Some("SP 7731"), "ann", "Sedge & Co"),
        ("A-1", Some("sp 7731"), "Bob", "Sedge & Co"),
        ("b-2", Some("0815"), "ann", "Rush GmbH"),
        ("c-3", Some(" SP 7731\n"), "ann", "Rush GmbH"),
        ("0816", None, "", ""),
    ];
    for (job, serial, by, customer) in jobs {
        let text = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        rows.open_as(
            job,
            serial.map(str::to_owned),
            text(customer),
            Some(by).filter(|by| !by.is_empty()),
        );
    }
    rows
}

#[test]
fn a_job_is_found_by_its_name_in_any_letters_and_by_its_serial() {
    let (home, _store) = Home::holding(&with_serials());
    let reader = home.reader();
    let named = |typed: &str| reader.job(typed).map(|job| job.name.to_string());
    for (typed, job) in [
        ("a-1", "a-1"),
        ("A-1", "A-1"),
        ("B-2", "b-2"),
        (" b-2\n", "b-2"),
        ("0815", "b-2"),
        (" 0815\r\n", "b-2"),
        ("0816", "0816"),
    ] {
        assert_eq!(named(typed).unwrap(), job, "{typed:?}");
    }
    let Err(StoreError::SeveralJobs { by_serial, jobs, .. }) = named("Sp 7731") else { panic!() };
    assert_eq!((by_serial, jobs), (true, ["c-3", "A-1", "a-1"].map(str::to_owned).to_vec()));
    let Err(StoreError::SeveralJobs { by_serial, jobs, .. }) = named(" a-1") else { panic!() };
    assert_eq!((by_serial, jobs), (false, ["A-1", "a-1"].map(str::to_owned).to_vec()));
    let Err(StoreError::NoSuchJob { near, .. }) = named("0817") else { panic!() };
    assert_eq!(near, ["0816", "b-2 (serial 0815)"]);
    let Err(StoreError::NoSuchJob { near, .. }) = named("") else { panic!() };
    assert!(near.is_empty(), "{near:?}");
}

#[test]
fn jobs_are_found_by_serial_customer_person_and_page() {
    let (home, _store) = Home::holding(&with_serials());
    let reader = home.reader();
    let found = |filter: Filter| -> Vec<String> {
        reader.jobs_found(&filter).unwrap().iter().map(|job| job.name.to_string()).collect()
    };
    let text = |text: &str| Some(text.to_owned());
    let of = |serial: &str| Filter { serial: text(serial), ..Filter::default() };
    assert_eq!(found(of("SP 7731")), ["a-1", "A-1", "c-3"]);
    assert_eq!(found(Filter { last: Some(1), ..of("SP 7731") }), ["c-3"]);
    assert_eq!(found(Filter { customer: text("sedge"), ..of("SP 7731") }), ["a-1", "A-1"]);
    assert_eq!(found(Filter { who: text("bob"), ..of("SP 7731") }), ["A-1"]);
    assert_eq!(found(Filter { customer: text("rush"), ..Filter::default() }), ["b-2", "c-3"]);
    let first = Filter { first: Some(2), ..Filter::default() };
    assert_eq!(found(first.clone()), ["a-1", "A-1"]);
    assert_eq!(found(Filter { after: Some(Seq(2)), ..first }), ["b-2", "c-3"]);
    let before = Filter { before: Some(Seq(4)), last: Some(2), ..Filter::default() };
    assert_eq!(found(before), ["A-1", "b-2"]);
    let wrong = |filter: Filter| match reader.readings(&filter) {
        Err(StoreError::NoSuchName { what, near, .. }) => (what, near),
        other => panic!("{other:?}"),
    };
    assert_eq!(wrong(of("SP 7713")), ("serial", vec!["SP 7731".into(), "sp 7731".into()]));
    assert_eq!(
        wrong(Filter { who: text("anne"), ..Filter::default() }),
        ("person", vec!["ann".into()])
    );
    assert_eq!(wrong(Filter { customer: text("zz"), ..Filter::default() }), ("customer", vec![]));
}

#[test]
fn pages_of_readings_join_without_a_gap_whatever_their_jobs() {
    let mut rows = Rows::default();
    let jobs = ["J-1", "J-2", "J-3"].map(|job| rows.open(job));
    for turn in 0..40_u32 {
        // Jobs are worked at in turns, and now and then nobody asked. One is closed half-way.
        let closed = usize::from(turn >= 20);
        if turn == 20 {
            rows.add(Body::JobClosed { job: jobs[0] });
        }
        let job = jobs[closed + usize::try_from(turn * 7 % 3).unwrap() % (3 - closed)];
        let job = (turn % 5 != 0).then_some(job);
        rows.add(Body::Reading(crate::trial::reading(job, None, turn)));
    }
    let (home, _store) = Home::holding(&rows);
    let reader = home.reader();
    let found = |filter: Filter| numbers(&reader.readings(&filter).unwrap());
    let all = found(Filter::default());
    assert_eq!(all.len(), 40);
    for size in [1, 3, 7, 40, 41] {
        let (mut up, mut down) = (Vec::new(), Vec::new());
        loop {
            let after = up.last().copied().map(Seq);
            let page = found(Filter { first: Some(size), after, ..Filter::default() });
            if page.is_empty() {
                break;
            }
            up.extend(page);
        }
        assert_eq!(up, all, "pages of {size}");
        loop {
            let before = down.first().copied().map(Seq);
            let mut page = found(Filter { last: Some(size), before, ..Filter::default() });
            if page.is_empty() {
                break;
            }
            page.extend(down);
            down = page;
        }
        assert_eq!(down, all, "pages of {size}, backwards");
    }
    let between = |after, before| {
        found(Filter { after: Some(Seq(after)), before: Some(Seq(before)), ..Filter::default() })
    };
    assert_eq!(between(all[3], all[6]), all[4..6]);
    assert_eq!(found(Filter { first: Some(0), ..Filter::default() }), [0; 0]);
    assert_eq!(found(Filter { last: Some(0), ..Filter::default() }), [0; 0]);
    let of_second = Filter { first: Some(2), ..of_job("j-2") };
    let second = reader.readings(&of_second).unwrap();
    assert!(second.iter().all(|one| one.place.as_ref().unwrap().job == name("J-2")));
}

#[test]
fn alerts_are_found_by_level_kind_and_stage() {
    let (home, _store) = Home::holding(&history());
    let reader = home.reader();
    let all = reader.alerts(&Filter::default()).unwrap();
    let found = |filter: Filter| reader.alerts(&filter).unwrap();
    for stage in [AlertStage::Open, AlertStage::Seen, AlertStage::Cleared] {
        let expected: Vec<_> = all.iter().filter(|one| one.stage() == stage).cloned().collect();
        assert_eq!(found(Filter { stage: Some(stage), ..Filter::default() }), expected);
        assert_eq!(expected.len(), 1, "{stage:?}");
    }
    for level in [Level::Log, Level::Note, Level::Interrupt] {
        let louder = all.iter().filter(|one| one.alert.level >= level).cloned();
        let expected: Vec<_> = louder.collect();
        assert_eq!(found(Filter { level: Some(level), ..Filter::default() }), expected);
    }
    let kind = all[0].alert.kind;
    let expected: Vec<_> = all.iter().filter(|one| one.alert.kind == kind).cloned().collect();
    assert_eq!(found(Filter { kind: Some(kind), ..Filter::default() }), expected);
}

#[test]
fn readings_are_found_by_the_standing_verdict_of_their_attempt() {
    let (home, _store) = Home::holding(&history());
    let reader = home.reader();
    let of = |word| Filter { word: Some(word), ..Filter::default() };
    let found = reader.readings(&of(Word::Undecided)).unwrap();
    let judged = reader.verdicts(&of(Word::Undecided)).unwrap();
    let attempts: Vec<Seq> = judged.iter().map(|one| one.verdict.attempt).collect();
    let attempt = |one: &ReadingRecord| one.place.as_ref()?.check.as_ref().map(|c| c.attempt);
    assert!(!found.is_empty());
    assert!(found.iter().all(|one| attempts.contains(&attempt(one).unwrap())));
    let all = reader.readings(&Filter::default()).unwrap();
    let count =
        all.iter().filter(|one| attempt(one).is_some_and(|at| attempts.contains(&at))).count();
    assert_eq!(count, found.len());
    assert_eq!(reader.readings(&of(Word::Conforms)).unwrap().len(), 0);
    assert_eq!(reader.superseded(&attempts).unwrap(), 1);
}

#[test]
fn the_standing_verdict_is_shown_and_the_others_on_demand() {
    let (home, _store) = Home::holding(&history());
    let reader = home.reader();
    let standing = reader.verdicts(&of_job("S-1041")).unwrap();
    let all = reader.verdicts(&Filter { all: true, ..of_job("S-1041") }).unwrap();
    assert_eq!((standing.len(), all.len()), (1, 2));
    assert_eq!(all[0].superseded_by, Some(all[1].id));
    assert_eq!(all[1], standing[0]);
    let record = &standing[0];
    assert_eq!(record.superseded_by, None);
    assert_eq!((&record.part, &record.check), (&name("inner"), &name("face-a")));
    assert_eq!((record.attempt, record.reason), (1, AttemptReason::First));
    assert_eq!(*record.verdict, verdict(record.verdict.attempt));
    let word = |word| Filter { word: Some(word), ..Filter::default() };
    assert_eq!(reader.verdicts(&word(Word::Undecided)).unwrap().len(), 2);
    assert_eq!(reader.verdicts(&word(Word::Conforms)).unwrap().len(), 0);
    let gauge = Filter { gauge: Some("height".to_owned()), ..Filter::default() };
    assert_eq!(reader.verdicts(&gauge).unwrap().len(), 0);
}

#[test]
fn alerts_tell_when_they_were_seen_and_over() {
    let (home, _store) = Home::holding(&history());
    let alerts = home.reader().alerts(&Filter::default()).unwrap();
    assert_eq!(alerts.len(), 3);
    assert!(alerts[0].acked_at.is_some() && alerts[0].cleared_at > alerts[0].acked_at);
    assert_eq!(alerts[0].place.as_ref().unwrap().job, name("S-1041"));
    assert_eq!(alerts[1].place, None);
    assert!(alerts[1].acked_at.is_some() && alerts[1].cleared_at.is_none());
    assert_eq!((alerts[2].acked_at, alerts[2].cleared_at), (None, None));
    let last = Filter { last: Some(1), ..Filter::default() };
    assert_eq!(home.reader().alerts(&last).unwrap(), alerts[2..]);
}

#[test]
fn the_feed_runs_without_a_gap_and_tells_each_thing_as_it_was() {
    let rows = history();
    let (home, store) = Home::holding(&rows);
    let feed = store.feed_since(0, 100).unwrap();
    assert_eq!(feed, home.reader().feed_since(0, 100).unwrap());
    let numbers: Vec<u64> = feed.iter().map(|line| line.seq).collect();
    assert_eq!(numbers, (1..=rows.bench.feed).collect::<Vec<u64>>());
    let FeedEvent::Raised(raised) = &feed[0].event else { panic!("{:?}", feed[0]) };
    assert_eq!((raised.acked_at, raised.cleared_at), (None, None));
    let FeedEvent::Seen(seen) = &feed[1].event else { panic!("{:?}", feed[1]) };
    assert_eq!((seen.acked_at, seen.cleared_at), (feed[1].at, None));
    let FeedEvent::Verdict(verdict) = &feed[2].event else { panic!("{:?}", feed[2]) };
    assert_eq!(verdict.superseded_by, None);
    let FeedEvent::Cleared(cleared) = &feed[4].event else { panic!("{:?}", feed[4]) };
    assert_eq!(cleared.cleared_at, feed[4].at);
    assert_eq!(store.feed_since(2, 2).unwrap(), feed[2..4]);
    assert_eq!(store.feed_since(rows.bench.feed, 9).unwrap(), []);
}

#[test]
fn jobs_tell_their_whole_story() {
    let rows = history();
    let (home, _store) = Home::holding(&rows);
    let jobs = home.reader().jobs().unwrap();
    let names: Vec<&str> = jobs.iter().map(|job| job.name.as_str()).collect();
    assert_eq!(names, ["S-1041", "S-1042", "S-1043"]);
    assert!(jobs[0].closed_at.is_some() && jobs[1].closed_at.is_none());
    assert_eq!(jobs[0].notes[0].text, "fed with \u{1f527}");
    assert_eq!(home.reader().job("S-1042").unwrap(), jobs[1]);
    let (id, state) = home.reader().job_state("S-1042").unwrap();
    assert_eq!(Some(&state), rows.bench.jobs.get(&id));
    assert_eq!((&jobs[0].stack, jobs[0].replaced.len()), (&StackRecord::default(), 0));
    let StackRecord { found, built, spots, together } = &jobs[2].stack;
    let parts = |list: &[StackedPart]| -> Vec<String> {
        list.iter().map(|item| item.part.to_string()).collect()
    };
    assert_eq!(
        (parts(found), parts(built)),
        (vec!["inner".into(), "outer".into()], vec!["inner".into()])
    );
    let StackedPart { towards_nose, mark_deg, serial, .. } = &found[0];
    assert_eq!((towards_nose.as_deref(), *mark_deg), (Some("thrust-side"), Some(359)));
    assert_eq!((serial.as_deref(), found[1].mark_deg), (Some("B\"7"), None));
    let spotted: Vec<_> = spots.iter().map(|one| (one.part.as_str(), one.spot.deg)).collect();
    assert_eq!(spotted, [("inner", 0), ("outer", 0)]);
    let running = bench::spots::as_built(rows.bench.jobs.get(&jobs[2].id).unwrap());
    assert_eq!(together.as_ref(), Some(&running));
    let replaced: Vec<_> =
        jobs[2].replaced.iter().map(|r| (r.part.as_str(), r.why.as_str())).collect();
    assert_eq!(replaced, [("outer", "bore worn"), ("inner", "lost")]);
    assert_eq!(jobs[2].replaced[0].serial.as_deref(), Some("B8"));
}

#[test]
fn a_verdict_comes_with_what_was_said_of_its_attempt() {
    let (home, _store) = Home::holding(&history());
    let found = home.reader().verdicts(&Filter::default()).unwrap();
    let remarks: Vec<_> = found.iter().map(|record| record.remark.as_deref()).collect();
    assert_eq!(remarks, [None, Some("face-b down, chuck 2")]);
    assert_eq!((&found[0].gauge, &found[1].gauge), (&Some(name("plate")), &None));
    let of_gauge = Filter { gauge: Some("plate".to_owned()), ..Filter::default() };
    assert_eq!(home.reader().verdicts(&of_gauge).unwrap(), found[..1]);
}

#[test]
fn a_reader_leaves_no_file_behind_when_the_service_is_stopped() {
    let (home, store) = Home::holding(&history());
    assert_eq!(home.reader().all_rows().unwrap(), history().rows, "while it runs");
    store.close().unwrap();
    let files = || {
        let entries = std::fs::read_dir(home.0.path()).unwrap();
        let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        names
    };
    let before = files();
    assert_eq!(before, ["tenths.db", "tenths.lock", "tenths.newest"]);
    let reader = home.reader();
    assert_eq!(reader.all_rows().unwrap(), history().rows);
    assert_eq!(files(), before);
    let _service = home.open();
    assert!(matches!(reader.jobs(), Err(StoreError::Meanwhile)));
}

#[test]
fn a_folder_with_odd_letters_is_opened() {
    let home = Home::new();
    let folder = home.0.path().join("50% of #1? ö");
    let (mut store, _) = crate::Store::open_with(&folder, parse).unwrap();
    store.commit(&history().rows, &[]).unwrap();
    drop(store);
    assert_eq!(Reader::open_with(&folder, parse).unwrap().jobs().unwrap().len(), 3);
    let nothing = Reader::open_with(home.0.path(), parse).unwrap_err();
    assert!(matches!(nothing, StoreError::Missing(_)), "{nothing}");
}

#[test]
fn verify_computes_every_verdict_again() {
    let rows = history();
    let (home, _store) = Home::holding(&rows);
    let total = rows.bench.last.0;
    let (judged, verdicts) = (true, 3);
    let seal = home.reader().seal().unwrap();
    // The history names two files, which nobody put there.
    let papers_wrong = home.reader().verify(&as_stored).unwrap().papers_wrong;
    let missing = |one: &crate::Difference| one.what.ends_with("its file is missing");
    assert!(papers_wrong.len() == 2 && papers_wrong.iter().all(missing), "{papers_wrong:?}");
    let well = Verified {
        rows: total,
        verdicts,
        judged,
        seal,
        papers: 2,
        papers_wrong,
        ..Verified::default()
    };
    assert_eq!(home.reader().verify(&as_stored).unwrap(), well);

    let nearly = |job: &Job, attempt: Seq| {
        let mut verdict = as_stored(job, attempt)?;
        verdict.figures.high_side_deg = Some(1e-10.into());
        verdict.figures.slope_urad = Some(0.3.into());
        Some(verdict)
    };
    assert_eq!(home.reader().verify(&nearly).unwrap(), well, "floats to nine places");

    let other = |job: &Job, attempt: Seq| {
        let mut verdict = as_stored(job, attempt)?;
        verdict.word = Word::Conforms;
        verdict.figures.slope_urad = Some(0.300_001.into());
        Some(verdict)
    };
    let found = home.reader().verify(&other).unwrap().differences;
    assert_eq!(found.len(), 3);
    assert_eq!(found[0].what, "computed again, it differs in verdict, figures");
    assert_eq!(home.reader().verify(&|_, _| None).unwrap().differences.len(), 3);
}

#[test]
fn verify_finds_what_was_tampered_with() {
    for (sql, what) in [
        ("UPDATE fact SET line = NULL WHERE line = 2", CHANGED),
        ("UPDATE fact SET line = line + 100 WHERE line = 1", "it says that"),
        ("DELETE FROM fact WHERE kind = 'marked'", "it is missing"),
        ("UPDATE reading SET back = back + 1 WHERE nth = 8", CHANGED),
        ("DELETE FROM pending", "the list of what is open does not agree"),
        (
            "INSERT INTO pending SELECT kind, min(seq) FROM fact WHERE kind = 'job-opened'",
            "the list of what is open does not agree",
        ),
        ("INSERT INTO pending VALUES ('x', 0)", "the list of what is open does not agree"),
        ("DELETE FROM found WHERE fact = (SELECT max(fact) FROM found)", "the file is not found"),
        ("UPDATE found SET fact = fact + 1", "the file is not found"),
        ("INSERT INTO found VALUES (x'00', 7)", "dropped files have"),
        ("UPDATE form SET file = 99 WHERE file > 0", CHANGED),
        ("UPDATE counter SET last = last + 1", "it says that"),
        (
            "UPDATE fact SET body = replace(body, '\"in\"', '\"ell\"') WHERE kind = 'verdict'",
            "there is no unit \"ell\"",
        ),
        ("DELETE FROM pinned", "what it is judged with is missing"),
        ("UPDATE pinned SET text = replace(text, '\"places\"', '\"spots\"')", "its digest is of"),
        (
            "UPDATE fact SET job = (SELECT min(seq) FROM fact WHERE kind = 'job-opened')
             WHERE kind = 'answered'",
            CHANGED,
        ),
        ("UPDATE fact SET body = '{}' WHERE kind = 'stack-placed'", "stack-placed: missing field"),
        (
            "UPDATE fact SET body = replace(body, 'built', 'lost') WHERE kind = 'stack-taken'",
            "variant `lost`",
        ),
        ("UPDATE fact SET kind = 'noted' WHERE kind = 'part-replaced'", "unknown field"),
        ("UPDATE reading_more SET reading = 9999 WHERE line = 2", "details without a reading"),
    ] {
        let (home, store) = Home::holding(&history());
        store.connection().execute_batch(sql).unwrap();
        let found = home.reader().verify(&as_stored).unwrap().differences;
        let told = found.iter().any(|difference| difference.what.contains(what));
        assert!(told, "{sql}: {found:?}");
    }
}

#[test]
fn a_copy_made_while_rows_come_in_is_whole() {
    let mut rows = history();
    let (home, mut store) = Home::holding(&rows);
    let to = home.0.path().join("copy.db");
    let stored = rows.rows.len();
    let job = *rows.bench.jobs.keys().next().unwrap();
    for _ in 0..4000 {
        rows.add(Body::Noted { job, text: "x".repeat(900) });
    }
    std::thread::scope(|scope| {
        let copying = scope
            .spawn(|| home.reader().backup(&to, Some(&as_stored), &Progress::default()).unwrap());
        for some in rows.rows[stored..].chunks(50) {
            store.commit(some, &[]).unwrap();
        }
        copying.join().unwrap();
    });
    let copy = Reader::open_with(&to, parse).unwrap();
    let back = copy.all_rows().unwrap();
    assert!(back.len() >= stored);
    assert_eq!(back, rows.rows[..back.len()]);
    assert_eq!(copy.verify(&as_stored).unwrap().differences, []);
    let again = home.reader().backup(&to, None, &Progress::default()).unwrap_err();
    assert!(matches!(again, StoreError::Exists(_)), "{again}");
    let names: Vec<_> = std::fs::read_dir(home.0.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("copy"))
        .collect();
    assert_eq!(names, ["copy.db"], "no half copy is left");
}

#[test]
fn a_reading_outside_every_job_has_no_place() {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    rows.add(Body::Reading(crate::trial::reading(None, None, 3)));
    rows.add(Body::Reading(crate::trial::reading(Some(job), None, 3)));
    let (home, _store) = Home::holding(&rows);
    let readings = home.reader().readings(&Filter::default()).unwrap();
    assert_eq!(readings[0].place, None);
    assert_eq!(readings[0].angle_deg, None);
    assert_eq!(readings[1].place, Some(Place { job: name("S-1"), check: None }));
}
