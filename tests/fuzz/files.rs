//! Dropped files, and the files that people write.

use std::collections::BTreeSet;

use proptest::prelude::*;

use crate::gauges::digits;
use crate::mutate::{Bytes, changed, corpus, files, tried};
use config::{Finding, load, parse_plan, parse_profile};
use gauge::{BadRows, Columns, FileRows, RowFormat, parse_rows};
use quantity::Unit;

fn format(delimiter: u8, decimal: u8, value: &str) -> RowFormat {
    let named = |name: &str| Some(name.to_owned());
    let columns = if delimiter == b',' {
        Columns {
            value: value.to_owned(),
            position: named("Pos"),
            part: named("Part"),
            ..Columns::default()
        }
    } else {
        Columns {
            value: "Höhe".to_owned(),
            time: named("Zeit"),
            part: named("Teil"),
            ..Columns::default()
        }
    };
    let skip_lines = if delimiter == b',' { 0 } else { 3 };
    RowFormat {
        columns,
        delimiter,
        decimal,
        skip_lines,
        unit: Some(Unit::Millimetre),
        time_zone: None,
    }
}

fn rows_are_there(file: &[u8], found: &FileRows, format: &RowFormat) -> Result<(), TestCaseError> {
    let mut end = 0;
    for row in &found.rows {
        let (start, length) =
            (usize::try_from(row.start).unwrap(), usize::try_from(row.length).unwrap());
        prop_assert!(start >= end && start + length <= file.len(), "line {} overlaps", row.line);
        if end > 0 {
            let between = &file[end..start];
            let empty = between.iter().all(|byte| b"\r\n \t,;\"".contains(byte));
            prop_assert!(
                empty || file.contains(&b'"'),
                "bytes before line {} are nowhere",
                row.line
            );
        }
        end = start + length;
        let text = row.text(file);
        let there: String = text.chars().filter(|c| *c != char::from(format.decimal)).collect();
        prop_assert!(
            there.contains(&digits(&row.value.number())),
            "{} is not in {text:?}",
            row.value
        );
        prop_assert!(usize::try_from(row.tag).unwrap() < found.tags.len());
    }
    Ok(())
}

fn rows_hold(file: &[u8], format: &RowFormat) -> Result<(), TestCaseError> {
    let lines = file.iter().filter(|byte| b"\r\n".contains(byte)).count() + 1;
    match parse_rows(file, format) {
        Ok(found) => {
            rows_are_there(file, &found, format)?;
            let last =
                found.rows.last().map_or(0, |row| usize::try_from(row.start + row.length).unwrap());
            let rest = &file[last..];
            let empty =
                rest.iter().all(|byte| b"\r\n \t,;\"".contains(byte) || !byte.is_ascii_graphic());
            prop_assert!(empty || found.rows.is_empty(), "bytes at the end are nowhere");
        }
        Err(BadRows { faults, good }) => {
            prop_assert!(!faults.is_empty());
            for fault in &faults {
                let line = usize::try_from(fault.line).unwrap();
                prop_assert!((1..=lines).contains(&line), "line {line} of {lines}: {}", fault.what);
                prop_assert!(!fault.what.trim().is_empty());
            }
            let wrong: BTreeSet<u32> = faults.iter().map(|fault| fault.line).collect();
            let right = good.rows.iter().filter(|row| wrong.contains(&row.line)).count();
            prop_assert_eq!(right, 0, "a line is good and bad");
            // Between good rows a byte is only where a fault is told.
            if faults.len() <= 100 && wrong.len() == faults.len() {
                rows_between_faults(file, (&good, &wrong), format)?;
            }
        }
    }
    Ok(())
}

/// Blank lines, and the header again: a logger that was switched off and on writes it once more.
fn only_blanks_or_header(between: &[u8], format: &RowFormat) -> bool {
    let name = if format.columns.value.is_empty() { "\u{0}" } else { &format.columns.value };
    let mut lines = between.split(|byte| b"\r\n".contains(byte));
    lines.all(|line| {
        let blank = line.iter().all(|byte| b" \t,;\"".contains(byte));
        blank || line.windows(name.len()).any(|at| at == name.as_bytes())
    })
}

fn rows_between_faults(
    file: &[u8],
    (good, wrong): (&FileRows, &BTreeSet<u32>),
    format: &RowFormat,
) -> Result<(), TestCaseError> {
    for pair in good.rows.windows(2) {
        let end = usize::try_from(pair[0].start + pair[0].length).unwrap();
        let between = &file[end..usize::try_from(pair[1].start).unwrap()];
        let told = only_blanks_or_header(between, format)
            || wrong.range(pair[0].line..pair[1].line).next().is_some();
        let lines = (pair[0].line, pair[1].line);
        prop_assert!(told, "between lines {} and {} something is nowhere", lines.0, lines.1);
    }
    Ok(())
}

#[test]
fn dropped_files() {
    let drops = corpus(files("fixtures/drops", ".csv"));
    for (delimiter, decimal, value) in [(b',', b'.', "Value"), (b';', b',', "")] {
        let format = format(delimiter, decimal, value);
        let name = format!("drops, {:?}", char::from(delimiter));
        tried(&name, &changed(drops), |Bytes(file)| rows_hold(&file, &format));
    }
}

fn findings_have_places(findings: &[Finding], text: &str, file: &str) -> Result<(), TestCaseError> {
    let lines = text.split('\n').count();
    for finding in findings {
        prop_assert!(!finding.text.trim().is_empty() && !finding.file.is_empty());
        let line = finding.line.map_or(1, |line| usize::try_from(line).unwrap());
        prop_assert!(
            finding.file != file || (1..=lines).contains(&line),
            "{finding} of {lines} lines"
        );
    }
    Ok(())
}

#[test]
fn plans() {
    let plans = corpus(files("config/plans", ".toml"));
    tried("plans", &changed(plans), |Bytes(bytes)| {
        let text = String::from_utf8_lossy(&bytes);
        match parse_plan(&text, "plan") {
            Ok(plan) => prop_assert_eq!(parse_plan(&text, "other").ok(), Some(plan)),
            Err(findings) => {
                prop_assert!(findings.iter().any(Finding::is_error));
                findings_have_places(&findings, &text, "plan")?;
            }
        }
        Ok(())
    });
}

#[test]
fn profiles() {
    let profiles = corpus(files("config/profiles", ".toml"));
    tried("profiles", &changed(profiles), |Bytes(bytes)| {
        let text = String::from_utf8_lossy(&bytes);
        if let Err(findings) = parse_profile(&text, "profile") {
            prop_assert!(findings.iter().any(Finding::is_error));
            findings_have_places(&findings, &text, "profile")?;
        }
        Ok(())
    });
}

#[test]
fn configurations() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config");
    let folder = tempfile::tempdir().unwrap();
    for name in ["plans", "profiles", "drops"] {
        std::os::unix::fs::symlink(root.join(name), folder.path().join(name)).unwrap();
    }
    let path = folder.path().join("bench.toml");
    let benches = corpus(vec![std::fs::read(root.join("bench.toml")).unwrap()]);
    tried("configurations", &changed(benches), |Bytes(bytes)| {
        std::fs::write(&path, &bytes).unwrap();
        let checked = load(&path);
        let wrong = checked.findings.iter().any(Finding::is_error);
        prop_assert!(checked.loaded.is_some() || wrong, "refused without a word");
        let text = String::from_utf8_lossy(&bytes);
        findings_have_places(&checked.findings, &text, &path.to_string_lossy())
    });
}
