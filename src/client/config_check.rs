//! `config check`: everything that is wrong with the configuration, all at once.

use clap::Subcommand;

use config::{self, Finding};
use wire::{finding_line, printable};

use super::config_keys::KeysArgs;
use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::{bench, screen};

/// Commands about the configuration.
#[derive(Debug, Subcommand)]
pub(crate) enum ConfigCommand {
    /// Check everything in it, and list all that is wrong
    #[command(after_help = "Examples:
  tenths config check
  tenths --config bench.toml config check --json")]
    Check,
    /// Show the keys of bench.toml, plans and profiles, and what each is for
    Keys(KeysArgs),
}

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let path = bench::config_path(global)?;
    let findings = config::check_all(&path);
    for finding in &findings {
        let line = if global.json { finding_line(finding) } else { bench::shown(finding) };
        screen::line(&line)?;
    }
    if !global.json {
        screen::line(&summary(&findings, &path.display().to_string()))?;
    }
    Ok(if findings.iter().any(Finding::is_error) { REFUSED } else { 0 })
}

fn summary(findings: &[Finding], path: &str) -> String {
    let errors = findings.iter().filter(|finding| finding.is_error()).count();
    let warnings = findings.len() - errors;
    let counted = |count: usize, what: &str| match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    };
    match (errors, warnings) {
        (0, 0) => format!("{}: no errors.", printable(path)),
        (0, _) => format!("{}. The configuration can be used.", counted(warnings, "warning")),
        (_, 0) => format!("{}. Correct them first.", counted(errors, "error")),
        _ => format!("{}, {}.", counted(errors, "error"), counted(warnings, "warning")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::Level;

    #[test]
    fn the_summary_counts_what_was_found() {
        let finding = |level| Finding {
            file: "bench.toml".to_owned(),
            line: None,
            level,
            text: String::new(),
            hint: String::new(),
            excerpt: None,
        };
        assert_eq!(summary(&[], "b.toml"), "b.toml: no errors.");
        assert_eq!(
            summary(&[finding(Level::Warning)], "b.toml"),
            "1 warning. The configuration can be used."
        );
        let both = [finding(Level::Error), finding(Level::Error), finding(Level::Warning)];
        assert_eq!(summary(&both, "b.toml"), "2 errors, 1 warning.");
        assert_eq!(summary(&both[..2], "b.toml"), "2 errors. Correct them first.");
    }
}
