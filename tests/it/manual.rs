//! The manual: a page for each command, each with what a reader of manuals looks for.

use std::fs;
use std::process::{Command, Stdio};

use crate::rig::{Bench, Make, RING_PLAN, skipped};

fn bench() -> Bench {
    Bench::new(&Make { gauge: "resolution = \"0.00001 in\"", more: "", plan: RING_PLAN })
}

/// The headings of a page.
fn headings(page: &str) -> Vec<String> {
    let lines = page.lines().filter_map(|line| line.strip_prefix(".SH "));
    lines.map(|heading| heading.trim_matches('"').to_owned()).collect()
}

#[test]
fn every_command_has_a_page_with_files_environment_exit_status_and_examples() {
    let bench = bench();
    let folder = bench.path("man1");
    let said = bench.ok(&["man", "--out", folder.to_str().unwrap()]);
    let mut pages: Vec<_> = fs::read_dir(&folder).unwrap().map(|one| one.unwrap().path()).collect();
    pages.sort();
    assert!(said.starts_with(&format!("{} pages are written", pages.len())), "{said}");
    assert!(pages.len() > 70, "{} pages", pages.len());
    for path in &pages {
        let (page, name) = (fs::read_to_string(path).unwrap(), path.display());
        let found = headings(&page);
        for wanted in [
            "NAME",
            "SYNOPSIS",
            "DESCRIPTION",
            "OPTIONS",
            "FILES",
            "ENVIRONMENT",
            "EXIT STATUS",
            "SEE ALSO",
        ] {
            let times = found.iter().filter(|heading| *heading == wanted).count();
            assert_eq!(times, 1, "{name}: {wanted} in {found:?}");
        }
        // A group has its commands, which have the examples.
        let shown = ["EXAMPLES", "SUBCOMMANDS"].iter().any(|one| found.iter().any(|is| is == one));
        assert!(shown, "{name} has no example: {found:?}");
        assert!(!page.contains("EXTRA"), "{name}");
    }
    let page = fs::read_to_string(folder.join("tenths-job-open.1")).unwrap();
    assert!(page.contains("/etc/tenths/bench.toml") && page.contains("TENTHS_CONFIG"), "{page}");
    // Whoever is asked for a page gets the same.
    assert_eq!(bench.ok(&["man", "job", "open"]), page);
    assert_eq!(bench.ok(&["man"]), fs::read_to_string(folder.join("tenths.1")).unwrap());
    assert!(bench.refused(2, &["man", "job", "opne"]).contains("job opne"));
    set_without_a_word(&pages);
}

/// A reader of manuals of somebody else sets each page and has nothing to say against it.
fn set_without_a_word(pages: &[std::path::PathBuf]) {
    for path in pages {
        let mut reader = Command::new("man");
        reader.args(["--warnings", "-l"]).arg(path).env("MANWIDTH", "80").env("LC_ALL", "C.UTF-8");
        let Ok(output) = reader.stdin(Stdio::null()).output() else {
            return skipped("pages set by a reader of manuals", "there is no `man` here");
        };
        let complaint = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && complaint.is_empty(), "{}: {complaint}", path.display());
        let text = String::from_utf8_lossy(&output.stdout);
        assert!(text.contains("EXIT STATUS"), "{}: {text}", path.display());
    }
}
