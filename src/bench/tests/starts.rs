//! A start, and a configuration that is read again: what goes on as it was, and what does not.

use crate::event::{Command, Event, StorageNews};
use crate::fact::row::{AlertKind, Ending, Piece};
use crate::setup::{GaugeWire, StationSetup};
use crate::tests::kit::{Kit, face, gauge, inch, name};
use gauge::{Capture, Sign};

/// The plate gauge on a line, counting this way.
fn wired(sign: Sign) -> crate::setup::GaugeSetup {
    let wire = GaugeWire {
        port: "/dev/ttyUSB0".to_owned(),
        profile: "plain".to_owned(),
        channel: None,
        sign,
        scale: None,
        capture: Capture::Send,
    };
    crate::setup::GaugeSetup { wire: Some(wire), ..gauge("plate") }
}

/// Three touches of a face with the plate gauge on its line.
fn under_way() -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.gauges.insert(name("plate"), wired(Sign::Plus));
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0.00001", "0"]);
    kit
}

#[test]
fn a_start_with_the_same_configuration_changes_nothing_for_the_person_at_the_bench() {
    let mut kit = under_way();
    let (stations, jobs) = (kit.bench.stations.clone(), kit.bench.jobs.clone());
    kit.event(&Event::Started { boot: 2 });
    assert_eq!(kit.open(), Vec::<String>::new());
    assert_eq!((&kit.bench.stations, &kit.bench.jobs), (&stations, &jobs));
    kit.send(&["0"; 5]);
    assert_eq!(kit.verdict().taken, 8, "touches from before and after are one series");
}

#[test]
fn touches_from_before_a_gauge_was_turned_round_are_no_series_with_those_after() {
    let mut kit = under_way();
    kit.setup.gauges.insert(name("plate"), wired(Sign::Minus));
    kit.event(&Event::Started { boot: 1 });
    assert_eq!(
        kit.alerts(AlertKind::SetupChanged),
        ["ring/face: plate is not as it was (sign changed). Touches from before and after do not \
          go together. Begin again: tenths measure ring/face"]
    );
    let job = kit.job();
    let endings: Vec<_> = job.attempts.values().map(|attempt| attempt.ending).collect();
    assert_eq!(endings, [Some(Ending::Stopped)]);
    assert!(kit.bench.stations.values().all(|station| station.attempt.is_none()));
}

#[test]
fn a_gauge_taken_off_its_line_is_told_as_that_alone() {
    let mut kit = under_way();
    kit.setup.gauges.insert(name("plate"), gauge("plate"));
    kit.event(&Event::Started { boot: 1 });
    let told = kit.alerts(AlertKind::SetupChanged);
    assert!(told.len() == 1 && told[0].contains("(port changed)"), "{told:?}");
}

#[test]
fn a_station_keeps_its_job_over_a_start_and_loses_it_with_its_name() {
    let mut kit = Kit::new(vec![face("face")]);
    let job = kit.bench.stations[&name("bench")].job;
    assert!(job.is_some());
    kit.event(&Event::Started { boot: 2 });
    assert_eq!(kit.bench.stations[&name("bench")].job, job);
    let gauges = kit.setup.stations[0].gauges.clone();
    kit.setup.stations = vec![StationSetup { name: name("window"), gauges }];
    kit.event(&Event::Started { boot: 2 });
    assert_eq!(kit.bench.stations[&name("bench")].job, None);
}

#[test]
fn a_job_that_is_set_aside_is_in_use_nowhere() {
    let mut kit = Kit::new(vec![face("face")]);
    let mut rows = std::mem::take(&mut kit.rows);
    // Its opening cannot be read back; the station's choice can.
    rows.retain(|row| !matches!(row.body, crate::fact::row::Body::JobOpened { .. }));
    kit.bench = crate::Bench::rebuilt(&rows, kit.bench.last, kit.bench.feed);
    kit.rows = rows;
    let why = "row 2 is damaged".to_owned();
    kit.event(&Event::Storage(StorageNews::Damaged { what: Piece::Job(name("j1")), why }));
    assert_eq!(kit.bench.stations[&name("bench")].job, None);
    assert!(kit.measure("ring/face").is_err(), "nothing is put down to a job that is not there");
}

#[test]
fn damage_is_told_until_a_start_reads_the_job_back() {
    let mut kit = Kit::new(vec![face("face")]);
    let damaged = |what: Piece| {
        let why = "row 7 is damaged".to_owned();
        Event::Storage(StorageNews::Damaged { what, why })
    };
    kit.event(&damaged(Piece::Job(name("j1"))));
    kit.event(&damaged(Piece::Job(name("gone"))));
    kit.event(&damaged(Piece::Counters));
    assert_eq!(kit.alerts(AlertKind::RecordDamaged).len(), 3);
    kit.event(&Event::Started { boot: 2 });
    let told = kit.alerts(AlertKind::RecordDamaged);
    assert!(told.len() == 1 && told[0].starts_with("gone is set aside"), "{told:?}");
}

#[test]
fn a_master_is_asked_for_only_where_one_is_due() {
    let master = || Command::Master { gauge: None };
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    assert_eq!(kit.ask(master()).unwrap_err().text, "face asks for no master now");

    let mut check = face("face");
    check.master = crate::plan::MasterUse::Opening;
    check.master_size = Some(inch("1"));
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.ask(master()).unwrap();
    kit.send(&["0"; 9]);
    assert_eq!(kit.verdict().taken, 8);
    assert_eq!(kit.ask(master()).unwrap_err().text, "face asks for no master now", "it is over");
}
