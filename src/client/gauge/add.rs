//! `gauge add`: hears a gauge out and adds it to bench.toml. Every byte that stands there stays.

use std::fs;
use std::io::Write as _;
use std::path::Path;

use clap::Args;
use tempfile::NamedTempFile;

use super::describe::{Described, Said};
use crate::failure::{Failure, REFUSED, UNREACHABLE};
use crate::global::Global;
use crate::{bench, screen};
use config::Finding;
use wire::printable;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths gauge add /dev/serial/by-id/usb-Cable_0001-if00-port0
  tenths gauge add keys:/dev/input/by-id/usb-Adapter_0001-event-kbd --gauge bore --gauge-unit mm
  tenths gauge add tcp:192.0.2.7:4001 --gauge-unit in")]
pub(crate) struct AddArgs {
    /// The port: /dev/serial/by-id/…, keys:DEVICE for an adapter that types, or tcp:HOST:PORT; press
    /// the gauge's button while it is listened to
    port: String,
    #[command(flatten)]
    said: Said,
}

pub(super) fn run(global: &Global, args: &AddArgs) -> Result<u8, Failure> {
    let path = bench::config_path(global)?;
    // A link is followed: the file it leads to is the one that is written anew.
    let path = path.canonicalize().unwrap_or(path);
    let before = fs::read_to_string(&path).map_err(|error| unreadable(&path, &error))?;
    let gauge = args.said.heard_at(&args.port, Some(&path))?;
    let text = with_lines(&before, &gauge);
    let new = new_findings(&path, &text)?;
    if new.iter().any(Finding::is_error) {
        let found: Vec<String> =
            new.iter().map(|finding| printable(&finding.to_string())).collect();
        let text = format!("{} is left as it was: {}", path.display(), found.join("; "));
        let hint = "say it in another way (tenths gauge add --help), or write the lines yourself: tenths gauge listen PORT";
        return Err(Failure::new(REFUSED, text, hint));
    }
    replace(&path, &text).map_err(|error| unwritable(&path, &error))?;
    for finding in &new {
        screen::line(&bench::shown(finding))?;
    }
    let name = ::bench::words::typed(gauge.name.as_str());
    screen::sentence(&format!(
        "{name} is added to {}. Not proven: `tenths reload`, then `tenths prove {name}` before its verdicts count.",
        printable(&path.to_string_lossy())
    ))?;
    Ok(0)
}

/// What stands there, and the new gauge below it.
fn with_lines(before: &str, gauge: &Described) -> String {
    let gap = match before {
        "" => "",
        before if before.ends_with('\n') => "\n",
        _ => "\n\n",
    };
    format!("{before}{gap}{}", gauge.lines)
}

/// What `config check` says of a text in place of the file that it did not say of the file.
fn new_findings(path: &Path, text: &str) -> Result<Vec<Finding>, Failure> {
    let before = config::check_all(path);
    let beside = written_beside(path, text).map_err(|error| unwritable(path, &error))?;
    let (tried, named) = (beside.path().display().to_string(), path.display().to_string());
    let mut after = config::check_all(beside.path());
    for finding in &mut after {
        finding.file = finding.file.replace(&tried, &named);
    }
    after.retain(|finding| !before.contains(finding));
    Ok(after)
}

/// The text in a file beside the one it is to replace: paths in it are relative to their folder.
fn written_beside(path: &Path, text: &str) -> std::io::Result<NamedTempFile> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file =
        tempfile::Builder::new().prefix(".bench-").suffix(".toml").tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Puts the text in place of the file, whole or not at all, with the rights and the owner that the file has.
fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    use std::os::unix::fs::MetadataExt;
    let there = fs::metadata(path)?;
    let file = written_beside(path, text)?;
    file.as_file().set_permissions(there.permissions())?;
    let now = file.as_file().metadata()?;
    if (now.uid(), now.gid()) != (there.uid(), there.gid()) {
        std::os::unix::fs::fchown(file.as_file(), Some(there.uid()), Some(there.gid()))?;
    }
    file.persist(path).map(drop).map_err(|error| error.error)
}

fn unreadable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::plain(REFUSED, format!("cannot read {}: {error}", path.display()))
}

fn unwritable(path: &Path, error: &std::io::Error) -> Failure {
    let text = format!("cannot write {}: {error}", path.display());
    Failure::new(UNREACHABLE, text, "change it as somebody who may, such as root")
}
