//! Command lines that are accepted, and those that are refused.

use std::ffi::OsString;

use clap::{CommandFactory, Parser};

use super::args::with_negative_values;
use super::global::Asking;
use super::job::JobCommand;
use super::remeasure::Why;
use super::sought::Loudness;
use super::stack::StackCommand;
use super::*;

fn parse(typed: &[&str]) -> Result<Cli, clap::Error> {
    let words = std::iter::once("tenths").chain(typed.iter().copied()).map(OsString::from);
    Cli::try_parse_from(with_negative_values(words))
}

fn typed(words: &[&str]) -> Command {
    parse(words).unwrap_or_else(|error| panic!("{words:?}: {error}")).command
}

#[track_caller]
fn refused(words: &[&str]) {
    let error = parse(words).expect_err("it is refused");
    assert_eq!(error.exit_code(), 2, "{words:?}");
}

#[test]
fn the_commands_are_well_formed() {
    Cli::command().debug_assert();
}

#[test]
fn global_options_may_stand_anywhere() {
    for words in
        [["--config", "b.toml", "--json", "status"], ["status", "--json", "--config", "b.toml"]]
    {
        let cli = parse(&words).unwrap();
        assert!(cli.global.json && cli.global.config.is_some_and(|path| path.ends_with("b.toml")));
    }
    let cli = parse(&["job", "list", "--json"]).unwrap();
    assert!(cli.global.json);
}

#[test]
fn jobs_are_opened_used_listed_shown_closed_and_reopened() {
    let words = [
        "job",
        "open",
        "J-1042",
        "--plan",
        "wheelhead",
        "--serial",
        "S7",
        "--customer",
        "Acme",
        "--by",
        "ann",
        "--station",
        "bench-1",
    ];
    let Command::Job(JobCommand::Open(args)) = typed(&words) else { panic!("job open") };
    assert_eq!((args.name.as_str(), args.plan.as_str()), ("J-1042", "wheelhead"));
    assert_eq!((args.serial.as_deref(), args.customer.as_deref()), (Some("S7"), Some("Acme")));
    let Asking { station, by } = args.asking;
    assert_eq!((station.as_deref(), by.as_deref()), (Some("bench-1"), Some("ann")));
    refused(&["job", "open", "J-1042"]);
    assert!(
        matches!(typed(&["job", "use", "J"]), Command::Job(JobCommand::Use(args)) if args.name == "J")
    );
    assert!(matches!(typed(&["job", "list"]), Command::Job(JobCommand::List(_))));
    assert!(
        matches!(typed(&["job", "show", "J"]), Command::Job(JobCommand::Show { name, .. }) if name == "J")
    );
    assert!(matches!(typed(&["job", "close"]), Command::Job(JobCommand::Close { name: None, .. })));
    assert!(matches!(
        typed(&["job", "close", "J"]),
        Command::Job(JobCommand::Close { name: Some(_), .. })
    ));
    assert!(
        matches!(typed(&["job", "reopen", "J"]), Command::Job(JobCommand::Reopen(args)) if args.name == "J")
    );
    refused(&["job"]);
}

#[test]
fn a_check_is_made_active_stopped_or_measured_again() {
    assert!(
        matches!(typed(&["measure", "a/b"]), Command::Measure(args) if args.target.as_deref() == Some("a/b") && !args.stop)
    );
    assert!(
        matches!(typed(&["measure", "--stop"]), Command::Measure(args) if args.target.is_none() && args.stop)
    );
    refused(&["measure"]);
    refused(&["measure", "a/b", "--stop"]);
    for (word, why) in [("ground", Why::Ground), ("cleaned", Why::Cleaned), ("again", Why::Again)] {
        assert!(
            matches!(typed(&["remeasure", word]), Command::Remeasure(args) if args.why == why && args.target.is_none())
        );
    }
    assert!(
        matches!(typed(&["remeasure", "ground", "a/b"]), Command::Remeasure(args) if args.target.is_some())
    );
    refused(&["remeasure", "first"]);
    refused(&["remeasure"]);
    assert!(
        matches!(typed(&["next", "--station", "s"]), Command::Next(asking) if asking.station.is_some())
    );
}

#[test]
fn readings_are_keyed_in_with_signs_units_and_graduations() {
    let entered = |words: &[&str]| {
        let Command::Enter(args) = typed(words) else { panic!("{words:?}") };
        let values: Vec<_> = args.values.iter().map(|value| value.trim().to_owned()).collect();
        (values, args.graduation, args.asking.by)
    };
    assert_eq!(entered(&["enter", "0.00012"]).0, ["0.00012"]);
    assert_eq!(entered(&["enter", "-0.00012"]).0, ["-0.00012"]);
    assert_eq!(entered(&["enter", "3 um", "-3 um", "-.5"]).0, ["3 um", "-3 um", "-.5"]);
    let (values, graduation, _) =
        entered(&["enter", "--graduation", "0.0001in", "0", "2", "3", "3", "2", "1", "-1", "-1"]);
    assert_eq!(values, ["0", "2", "3", "3", "2", "1", "-1", "-1"]);
    assert_eq!(graduation.as_deref(), Some("0.0001in"));
    let (values, graduation, by) =
        entered(&["enter", "0", "-1", "--graduation", "0.0001in", "--by", "ann"]);
    assert_eq!(values, ["0", "-1"]);
    assert_eq!((graduation.as_deref(), by.as_deref()), (Some("0.0001in"), Some("ann")));
    assert!(parse(&["enter", "-1", "--json"]).unwrap().global.json);
    refused(&["enter"]);
    refused(&["enter", "--graduations", "1"]);
}

#[test]
fn questions_are_answered_and_values_written_down() {
    let Command::Confirm(args) = typed(&["confirm", "nut/locked", "not", "yet"]) else {
        panic!("confirm")
    };
    assert_eq!((args.target.as_str(), args.answer.join(" ")), ("nut/locked", "not yet".to_owned()));
    refused(&["confirm", "nut/locked"]);
    let recorded = |words: &[&str]| {
        let Command::Record(args) = typed(words) else { panic!("{words:?}") };
        (args.target, args.value.join(" ").trim().to_owned())
    };
    let value = |text: &str| ("nut/torque".to_owned(), text.to_owned());
    assert_eq!(recorded(&["record", "nut/torque", "40", "Nm"]), value("40 Nm"));
    assert_eq!(recorded(&["record", "nut/torque", "-0.2"]), value("-0.2"));
    assert_eq!(recorded(&["record", "nut/torque", "--", "-0.2"]), value("-0.2"));
    refused(&["record", "nut/torque"]);
    let remark = Some("face b down");
    assert!(
        matches!(typed(&["measure", "a/b", "--remark", "face b down"]), Command::Measure(args) if args.remark.as_deref() == remark)
    );
    assert!(
        matches!(typed(&["remeasure", "ground", "--remark", "face b down"]), Command::Remeasure(args) if args.remark.as_deref() == remark)
    );
    refused(&["measure", "--stop", "--remark", "face b down"]);
}

#[test]
fn the_stack_is_written_down_and_parts_are_replaced() {
    let words = [
        "stack",
        "found",
        "bearing-1",
        "--towards-nose",
        "thrust-side",
        "--mark",
        "359",
        "--serial",
        "B7",
    ];
    let Command::Stack(StackCommand::Found(args)) = typed(&words) else { panic!("stack found") };
    assert_eq!((args.part.as_deref(), args.back), (Some("bearing-1"), false));
    assert_eq!(args.towards_nose.as_deref(), Some("thrust-side"));
    assert_eq!((args.mark_deg, args.serial.as_deref()), (Some(359), Some("B7")));
    let Command::Stack(StackCommand::Built(args)) = typed(&["stack", "built", "--back"]) else {
        panic!("stack built")
    };
    assert!(args.part.part.is_none() && args.part.back);
    refused(&["stack"]);
    refused(&["stack", "found"]);
    refused(&["stack", "found", "bearing-1", "--back"]);
    refused(&["stack", "found", "--back", "--serial", "B7"]);
    refused(&["stack", "built", "bearing-1", "--mark", "360"]);
    let words = ["replace", "bearing-1", "--serial", "B8", "--why", "bore worn"];
    let Command::Replace(args) = typed(&words) else { panic!("replace") };
    assert_eq!((args.part.as_str(), args.why.as_str()), ("bearing-1", "bore worn"));
    assert_eq!(args.serial.as_deref(), Some("B8"));
    refused(&["replace", "bearing-1"]);
    refused(&["replace", "bearing-1", "--why", ""]);
}

#[test]
fn readings_are_taken_back_and_positions_left_out() {
    assert!(matches!(typed(&["void"]), Command::Void(args) if args.id.is_none()));
    assert!(
        matches!(typed(&["void", "17", "--why", "chip"]), Command::Void(args) if args.id == Some(17) && args.why.as_deref() == Some("chip"))
    );
    refused(&["void", "last"]);
    assert!(
        matches!(typed(&["skip", "--why", "slot"]), Command::Skip(args) if args.position.is_none())
    );
    assert!(
        matches!(typed(&["skip", "3", "--why", "slot"]), Command::Skip(args) if args.position == Some(3))
    );
    refused(&["skip", "3"]);
    refused(&["skip", "3", "--why", ""]);
    assert!(matches!(typed(&["take"]), Command::Take(asking) if asking.station.is_none()));
    refused(&["take", "3"]);
    assert!(matches!(typed(&["master"]), Command::Master(args) if args.gauge.is_none()));
    assert!(
        matches!(typed(&["master", "height"]), Command::Master(args) if args.gauge.as_deref() == Some("height"))
    );
    assert!(
        matches!(typed(&["note", "J", "came", "in", "dirty"]), Command::Note(args) if args.text.join(" ") == "came in dirty")
    );
    refused(&["note", "J"]);
    assert!(matches!(typed(&["ack", "9"]), Command::Ack(args) if args.id == Some(9)));
    refused(&["ack"]);
}

#[test]
fn the_feed_is_followed_and_the_record_looked_up() {
    let Command::Tail(args) = typed(&["tail", "--since", "41", "--level", "note", "--job", "J"])
    else {
        panic!("tail")
    };
    assert_eq!(
        (args.since, args.level, args.job.as_deref()),
        (Some(tail::Since::Number(41)), Some(Loudness::Note), Some("J"))
    );
    refused(&["tail", "--since", "someday"]);
    refused(&["tail", "--level", "loud"]);
    for word in ["readings", "verdicts", "alerts"] {
        let words = [
            word,
            "J",
            "--part",
            "p",
            "--check",
            "c",
            "--gauge",
            "g",
            "--state",
            "s",
            "--since",
            "2027-03-01",
            "--until",
            "2027-03-02",
            "--last",
            "5",
            "--all",
        ];
        assert!(parse(&words).is_ok(), "{word}");
        refused(&[word, "--since", "someday"]);
        refused(&[word, "--csv", "--json"]);
    }
}

#[test]
fn the_record_is_copied_and_verified_and_the_shell_helped() {
    assert!(
        matches!(typed(&["backup", "b.db"]), Command::Backup(args) if args.file.as_deref() == Some(std::path::Path::new("b.db")))
    );
    refused(&["backup"]);
    assert!(matches!(typed(&["verify"]), Command::Verify(args) if args.file.is_none()));
    assert!(matches!(typed(&["verify", "b.db"]), Command::Verify(args) if args.file.is_some()));
    for shell in ["bash", "zsh", "fish"] {
        assert!(matches!(typed(&["completions", shell]), Command::Completions(_)));
    }
    refused(&["completions", "cmd"]);
    assert!(matches!(typed(&["man"]), Command::Man(_)));
    assert!(matches!(typed(&["config", "check"]), Command::Config(ConfigCommand::Check)));
    assert!(matches!(typed(&["status"]), Command::Status));
}

#[test]
fn a_usage_error_reads_like_every_other_error() {
    let error = parse(&["status", "--col\u{7}our"]).unwrap_err();
    let args = ["tenths", "status", "--col\u{7}our"].map(OsString::from);
    let Err(Failure::Told(told)) = usage(&error, &args, false) else { panic!("it is told") };
    let text = told.to_string();
    assert!(text.starts_with("tenths: unexpected argument '--col"), "{text}");
    assert!(text.ends_with("hint: see tenths status --help\n"), "{text}");
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text}");
}

#[test]
fn usage_errors_end_with_2_and_help_with_0() {
    refused(&["frobnicate"]);
    refused(&[]);
    refused(&["status", "--colour"]);
    assert_eq!(parse(&["--help"]).unwrap_err().exit_code(), 0);
    assert_eq!(parse(&["--version"]).unwrap_err().exit_code(), 0);
}

#[test]
fn the_guide_says_which_columns_are_left_out_first() {
    let zone = jiff::tz::TimeZone::UTC;
    let unit = quantity::Unit::Inch;
    let guide = include_str!("../../docs/scripts.md");
    for (command, table) in [
        ("verdicts", verdicts::table(&[], unit, false, &zone)),
        ("readings", readings::table(&[], unit, false, &zone)),
        ("alerts", alerts::table(&[], false, &zone)),
        ("job list", job::job_table(&[], &std::collections::BTreeSet::new(), &zone)),
    ] {
        let order: Vec<&str> = table.left_out_first().collect();
        let row = format!("| `{command}` | {} |", order.join(", "));
        assert!(guide.lines().any(|line| line == row), "docs/scripts.md has no line\n{row}");
    }
}
