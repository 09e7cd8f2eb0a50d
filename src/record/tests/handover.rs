//! A job leaves with everything and comes back as it was.

use crate::trial::{Home, Rows, as_stored, full_verdict, history, name};
use crate::{Callers, Handover, ImportError, Imported, Origin, Store};
use bench::row::{AlertKind, Body};
use bench::verdict::Verdict;
use bench::{Bench, Job, Row, Seq};
use quantity::Wall;

const JOBS: [&str; 3] = ["S-1041", "S-1042", "S-1043"];

fn origin() -> Origin {
    Origin { wall: Wall::from_micros(1_900_000_000_000_000), digest: [9; 32] }
}

/// The judge of the tests, for whom every attempt of a job is one of its history.
fn judge(job: &Job, attempt: Seq) -> Option<Verdict> {
    as_stored(job, attempt)
}

fn handed_on() -> Vec<Handover> {
    let (home, _store) = Home::holding(&history());
    JOBS.iter().map(|job| home.reader().handover(job).unwrap()).collect()
}

fn import(store: &mut Store, rows: &[Row]) -> Result<Imported, ImportError> {
    store.import((rows, &Callers::new()), origin(), &judge)
}

/// Whether rows say the same, number for number. What follows from others is left out: the state of
/// a job when it was opened again.
fn same(some: &[Row], others: &[Row]) -> bool {
    some.len() == others.len()
        && some.iter().zip(others).all(|(one, other)| crate::handover::same(one, other))
}

#[test]
fn a_job_leaves_with_all_its_rows_and_nothing_of_others() {
    let rows = history().rows;
    let all = handed_on();
    let numbers: Vec<u64> = all[1].rows.iter().map(|row| row.seq.0).collect();
    assert!(matches!(all[1].rows[0].body, Body::Started { .. }), "the boot it was opened in");
    assert!(all[1].rows.iter().any(|row| matches!(row.body, Body::FileTaken(_))));
    let reopened = |row: &&Row| matches!(row.body, Body::JobReopened { .. });
    assert_eq!(all[1].rows.iter().filter(reopened).count(), 2);
    assert!(numbers.is_sorted_by(|one, next| one < next));
    for handover in &all {
        for row in &handover.rows {
            assert_eq!(row, &rows[usize::try_from(row.seq.0).unwrap() - 1]);
        }
    }
    // What belongs to no job stays: a reading nobody asked for, screens, proofs, the register, a file that was refused,
    // the boots after the last row, and alerts of the bench.
    let left = |row: &&Row| !all.iter().any(|job| job.rows.contains(row));
    let left: Vec<&Row> = rows.iter().filter(left).collect();
    for row in left {
        assert!(
            matches!(
                row.body,
                Body::Reading(_)
                    | Body::PersonAt { .. }
                    | Body::Repeated(_)
                    | Body::JobActive { .. }
                    | Body::CheckActive { .. }
                    | Body::FileRefused(_)
                    | Body::ProofBegan(_)
                    | Body::Proved(_)
                    | Body::Registered(_)
                    | Body::Marked { attempt: None, .. }
                    | Body::AlertRaised(_)
                    | Body::AlertSeen { .. }
                    | Body::Started { .. }
            ),
            "{row:?}"
        );
    }
}

#[test]
fn jobs_come_back_the_same_on_an_empty_bench_and_on_one_with_work() {
    let mut busy = Rows::default();
    busy.add(Body::Started { boot: 9 });
    let other = busy.open("other");
    let attempt = busy.begin(other, (0, 0), 1);
    busy.touch(other, attempt, 0);
    busy.alert(Some(other), Some(attempt));
    for before in [Rows::default(), busy] {
        let (home, mut store) = Home::holding(&before);
        for (job, handed) in JOBS.iter().zip(handed_on()) {
            import(&mut store, &handed.rows).unwrap();
            let back = home.reader().handover(job).unwrap();
            assert!(same(&back.rows, &handed.rows), "{job}");
        }
        let found = home.reader().verify(&judge).unwrap();
        assert_eq!(found.differences, []);
        assert_eq!(store.feed_since(0, 99).unwrap().len() as u64, before.bench.feed);
    }
}

#[test]
fn a_job_that_goes_on_here_counts_on_from_the_numbers_it_had() {
    let handed = handed_on().remove(1);
    let mut rows = Rows::default();
    rows.add(Body::Started { boot: 9 });
    rows.open("other");
    let (home, mut store) = Home::holding(&rows);
    import(&mut store, &handed.rows).unwrap();
    store.close().unwrap();
    let (mut store, back) = home.open();
    let mut bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    let (job, _) = bench.job_named("S-1042").unwrap();
    let stamp = rows.rows[0].at;
    let mut added = Vec::new();
    for body in [
        Body::Started { boot: 11 },
        Body::Noted { job, text: "goes on here".to_owned() },
        Body::Started { boot: 12 },
        Body::JobClosed { job },
        Body::Started { boot: 13 },
    ] {
        let row = Row { seq: bench.last.next(), at: stamp, by: None, body, restored: None };
        bench.apply(&row);
        added.push(row);
    }
    store.commit(&added, &[]).unwrap();
    let again = home.reader().handover("S-1042").unwrap().rows;
    assert!(same(&again[..handed.rows.len()], &handed.rows));
    let boots = |row: &Row| if let Body::Started { boot } = row.body { Some(boot) } else { None };
    let new = &again[handed.rows.len()..];
    assert_eq!(new.iter().filter_map(boots).collect::<Vec<_>>(), [11, 12]);
    assert_eq!(new.len(), 4);
    let (next, mut other) = Home::holding(&Rows::default());
    import(&mut other, &again).unwrap();
    assert!(same(&next.reader().handover("S-1042").unwrap().rows, &again));
    assert_eq!(home.reader().verify(&judge).unwrap().differences, []);
}

#[test]
fn what_came_along_rings_no_more_and_is_no_boot_of_this_bench() {
    let handed = handed_on().remove(2);
    let mut rows = Rows::default();
    rows.add(Body::Started { boot: 9 });
    let (home, mut store) = Home::holding(&rows);
    import(&mut store, &handed.rows).unwrap();
    store.close().unwrap();
    let (store, back) = home.open();
    let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    assert_eq!((bench.boot, bench.feed), (9, 0));
    assert!(bench.stations.is_empty());
    let alerts: Vec<_> = bench.alerts.values().collect();
    assert_eq!(alerts.len(), 1);
    assert!(alerts[0].seen && alerts[0].alert.kind == AlertKind::OutSoFar);
    let (_, job) = bench.job_named("S-1043").unwrap();
    assert_eq!(job.opened.name, name("S-1043"));
    assert_eq!(job.attempts.len(), 3);
    drop(store);
}

/// Refused, and nothing of it is left.
fn refused(rows: &[Row], judge: crate::Judge<'_>) -> String {
    let before = history();
    let (home, mut store) = Home::holding(&before);
    let error = store.import((rows, &Callers::new()), origin(), judge).unwrap_err();
    assert_eq!(store.all_rows().unwrap(), before.rows);
    let found = home.reader().verify(&as_stored).unwrap();
    assert_eq!(found.differences, []);
    let mut more = before;
    let from = more.rows.len();
    more.add(Body::Started { boot: 1 });
    store.commit(&more.rows[from..], &[]).unwrap();
    error.to_string()
}

fn renamed(mut rows: Vec<Row>) -> Vec<Row> {
    for row in &mut rows {
        if let Body::JobOpened(opened) = &mut row.body {
            std::sync::Arc::make_mut(opened).name = name("elsewhere");
        }
    }
    rows
}

#[test]
fn a_used_name_a_stray_row_and_another_verdict_are_refused_whole() {
    let first = || handed_on().remove(0).rows;
    let said = refused(&first(), &judge);
    assert_eq!(said, "the record already has a job named S-1041, opened on 2027-01-15");
    assert_eq!(refused(&[], &judge), "no job is opened in it");

    let mut rows = renamed(first());
    let began = rows.iter().position(|row| matches!(row.body, Body::AttemptBegan(_))).unwrap();
    rows.remove(began);
    assert_eq!(refused(&rows, &judge), "row 7 points to a row that is not there");

    let other = |job: &Job, attempt: Seq| {
        judge(job, attempt).map(|verdict| Verdict { taken: 1, ..verdict })
    };
    let said = refused(&renamed(first()), &other);
    assert_eq!(said, "verdict 26, computed again, it differs in taken");
    let said = refused(&renamed(first()), &|_, attempt| Some(full_verdict(attempt)));
    assert!(said.starts_with("verdict 26, computed again"), "{said}");

    let mut rows = renamed(first());
    let last = rows.last().unwrap().clone();
    rows.push(Row { seq: last.seq.next(), body: Body::Started { boot: 2 }, ..last });
    let stations = Body::JobActive { station: name("bench"), job: None };
    rows.push(Row { seq: Seq(9000), at: rows[0].at, by: None, body: stations, restored: None });
    let said = refused(&rows, &judge);
    assert!(said.ends_with("rows belong to the job"), "{said}");
}
