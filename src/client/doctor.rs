//! `doctor`: all that stands between this person and a reading, each with its remedy. It only looks.

mod ports;

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use rustix::fs::{Access, access};

use super::failure::{Failure, NO};
use super::global::Global;
use super::screen::{Ink, Screen};
use super::socket::{self, Trouble};
use super::status::now;
use super::{bench, screen};
use ::record::Reader;
use ::words::Calibration;
use config::Loaded;
use wire::{DoctorLine, Found, LinkState, LinkStatus, Status, doctor_line, printable};

/// Tables and the screen need this many columns.
const NARROW: usize = 60;

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let lines = looked(global);
    let to = Screen::of_stdout();
    for line in &lines {
        if global.json {
            screen::line(&doctor_line(line))?;
        } else {
            screen::told(&told(line, to))?;
        }
    }
    let wrong = lines.iter().filter(|line| line.found == Found::Wrong).count();
    if !global.json {
        screen::sentence(&match wrong {
            0 => "Nothing stands in the way of a reading.".to_owned(),
            1 => "1 thing stands in the way.".to_owned(),
            wrong => format!("{wrong} things stand in the way."),
        })?;
    }
    Ok(if wrong == 0 { 0 } else { NO })
}

fn told(line: &DoctorLine, to: Screen) -> String {
    let (word, ink) = match line.found {
        Found::Well => ("well ", Ink::Green),
        Found::Look => ("look ", Ink::Yellow),
        Found::Wrong => ("WRONG", Ink::Red),
    };
    let first = format!("{} {}: {}\n", to.ink(word, ink), line.about, printable(&line.text));
    let remedy = line.remedy.as_ref().map(|remedy| format!("      {}\n", printable(remedy)));
    first + &remedy.unwrap_or_default()
}

fn line(about: &'static str, found: Found, text: impl Into<String>) -> DoctorLine {
    DoctorLine::new(about, found, text)
}

/// Everything, in the order in which it has to be put right.
fn looked(global: &Global) -> Vec<DoctorLine> {
    let mut all = Vec::new();
    let loaded = configuration(global, &mut all);
    let state = bench::whereabouts(global).ok().map(|found| found.state);
    if let Some(state) = &state {
        all.push(folder_of_record(state));
        all.extend(disk(state));
        let status = service(state, &mut all);
        all.push(clock(state));
        all.extend(bench::links(global, state, now()).iter().map(link));
        if let Some(loaded) = &loaded {
            around(loaded, status.as_ref(), &mut all);
        }
        all.extend(
            status
                .iter()
                .flat_map(|status| &status.work)
                .map(|work| line("work", Found::Look, work.text.clone())),
        );
    }
    all.push(terminal());
    all
}

/// A link to the shop: it keeps nobody from a reading.
fn link(link: &LinkStatus) -> DoctorLine {
    let found = match link.state {
        LinkState::Sending | LinkState::Level => Found::Well,
        LinkState::Connecting | LinkState::Broken | LinkState::Held | LinkState::Ended => {
            Found::Look
        }
    };
    let said = line("shop", found, link.words());
    match (link.state, &link.hint) {
        (LinkState::Ended, _) => said.remedy("start it: systemctl start tenths-forward"),
        (_, Some(hint)) => said.remedy(hint),
        (_, None) => said,
    }
}

/// Which file is used, why that one, and whether it can be used.
fn configuration(global: &Global, all: &mut Vec<DoctorLine>) -> Option<Loaded> {
    let about = "configuration";
    let (shown, why) = match bench::chosen(global) {
        Ok(chosen) => chosen,
        Err(error) => {
            all.push(
                line(about, Found::Wrong, error.to_string()).remedy("write one with: tenths init"),
            );
            return None;
        }
    };
    let checked = config::load(&shown);
    let errors = checked.findings.iter().filter(|finding| finding.is_error()).count();
    let text = format!("{}, {why}", shown.display());
    all.push(match (errors, checked.findings.len()) {
        (0, 0) => line(about, Found::Well, text),
        (0, several) => line(about, Found::Look, format!("{text}; {several} remarks"))
            .remedy("see them with: tenths config check"),
        (errors, _) => {
            let found = if checked.loaded.is_some() { Found::Look } else { Found::Wrong };
            line(about, found, format!("{text}; {errors} errors in it or its plans"))
                .remedy("see them with: tenths config check")
        }
    });
    checked.loaded
}

fn folder_of_record(state: &Path) -> DoctorLine {
    let (about, shown) = ("state folder", state.display());
    let denied = |error: &io::Error| error.kind() == io::ErrorKind::PermissionDenied;
    let seen = std::fs::metadata(state);
    if seen.as_ref().is_err_and(|error| !denied(error)) {
        return line(about, Found::Look, format!("{shown} is not there yet; the service makes it"));
    }
    if seen.is_err() || access(state, Access::READ_OK | Access::EXEC_OK).is_err() {
        return line(about, Found::Wrong, format!("you may not read {shown}"))
            .remedy(rights(state, "look things up"));
    }
    let record = state.join("tenths.db");
    if !record.exists() {
        return line(about, Found::Look, format!("{shown}: no record yet; the service begins one"));
    }
    match Reader::open_with(state, bench::parse_plan) {
        Ok(_) => line(about, Found::Well, format!("{shown}, with its record")),
        Err(error) => line(about, Found::Wrong, format!("{shown}: {error}"))
            .remedy("docs/admin.md says what to do with a record that cannot be read"),
    }
}

/// How to get the rights that the group of a folder has.
fn rights(state: &Path, what: &str) -> String {
    use std::os::unix::fs::MetadataExt;
    let group =
        std::fs::metadata(state).ok().and_then(|metadata| intake::group_name(metadata.gid()));
    match group {
        Some(group) if group != "root" => {
            format!(
                "to {what} be in the group {group}: sudo usermod -aG {group} $USER, then log in again"
            )
        }
        Some(_) | None => format!("to {what} be its owner; it belongs to another user"),
    }
}

fn disk(state: &Path) -> Option<DoctorLine> {
    let there = state.ancestors().find(|folder| folder.exists())?;
    let disk = rustix::fs::statvfs(there).ok()?;
    let (free, whole) = (disk.f_bavail * disk.f_frsize, disk.f_blocks * disk.f_frsize);
    let text = format!("{} MB free for the record", free / 1_000_000);
    Some(if daemon::is_little(free, whole) {
        line("disk", Found::Look, text)
            .remedy("make room: a record that cannot grow takes no reading")
    } else {
        line("disk", Found::Well, text)
    })
}

/// Asks the service, and says why it cannot be asked.
fn service(state: &Path, all: &mut Vec<DoctorLine>) -> Option<Status> {
    let (about, path) = ("service", state.join(config::SOCKET));
    let shown = path.display().to_string();
    let status = match socket::status(&path) {
        Ok(status) => status,
        Err(Trouble::Strange(_)) => {
            all.push(
                line(about, Found::Wrong, "it answered with what cannot be read")
                    .remedy("program and service are of two versions: restart the service"),
            );
            return None;
        }
        Err(trouble) => {
            all.push(unreached(about, state, &shown, &trouble));
            return None;
        }
    };
    all.push(if status.healthy {
        line(about, Found::Well, format!("it runs as {:?} and is well", status.bench))
    } else {
        line(about, Found::Look, format!("it runs as {:?} and is not all well", status.bench))
            .remedy("see what with: tenths status")
    });
    Some(status)
}

fn unreached(about: &'static str, state: &Path, shown: &str, trouble: &Trouble) -> DoctorLine {
    use io::ErrorKind::{ConnectionRefused, NotFound, PermissionDenied};
    let kind = if let Trouble::Broken(error) = trouble { Some(error.kind()) } else { None };
    match kind {
        Some(PermissionDenied) => line(about, Found::Wrong, format!("you may not use {shown}"))
            .remedy(rights(state, "use it")),
        Some(NotFound | ConnectionRefused) => {
            let start = if state == Path::new(config::MACHINE_STATE) {
                "start it with: sudo systemctl start tenths"
            } else {
                "start it with: tenths serve"
            };
            line(about, Found::Wrong, "it does not run".to_owned()).remedy(start)
        }
        _ => line(about, Found::Wrong, format!("{shown} does not answer"))
            .remedy("see its log; restart it where nothing else helps"),
    }
}

/// A clock that is behind the newest entry of the record writes times that are not so.
fn clock(state: &Path) -> DoctorLine {
    let written = std::fs::metadata(state.join("tenths.newest")).and_then(|file| file.modified());
    let behind = written.ok().and_then(|at| at.duration_since(SystemTime::now()).ok());
    match behind.filter(|by| *by > Duration::from_mins(1)) {
        Some(by) => {
            let text = format!(
                "it is {} minutes behind the newest entry of the record",
                by.as_secs() / 60
            );
            line("clock", Found::Look, text).remedy("set it: timedatectl")
        }
        None => line("clock", Found::Well, format!("it shows {} (UTC)", now())),
    }
}

/// Ports, folders, devices, the player, calibration dates: what the configuration names.
fn around(loaded: &Loaded, status: Option<&Status>, all: &mut Vec<DoctorLine>) {
    all.extend(loaded.ports.iter().map(|port| ports::line_of(port, status)));
    for drop in &loaded.drops {
        let text = format!("{} of {}", drop.folder.display(), drop.name);
        all.push(if access(&drop.folder, Access::READ_OK | Access::EXEC_OK).is_ok() {
            line("folder", Found::Well, text)
        } else {
            line("folder", Found::Wrong, format!("{text} cannot be read"))
                .remedy("make it, or let the service's user read it")
        });
    }
    for device in &loaded.devices {
        let text = format!("{} at station {}", device.path.display(), device.station);
        all.push(if device.path.exists() {
            line("device", Found::Well, text)
        } else {
            line("device", Found::Wrong, format!("{text} is not there"))
                .remedy("plug it in, or mend its name")
        });
    }
    all.extend(player(&loaded.sound.player));
    for (name, gauge) in &loaded.bench.gauges {
        let Some(calibration) = gauge.calibration_due.and_then(|due| Calibration::at(due, now()))
        else {
            continue;
        };
        let past = matches!(calibration, Calibration::Past(_));
        let found = if past { Found::Wrong } else { Found::Look };
        let text = format!("{name} {}", calibration.words());
        all.push(
            line("calibration", found, text)
                .remedy("have it calibrated, and write its new date into bench.toml"),
        );
    }
}

/// The program that plays sounds, where one is named.
fn player(command: &[String]) -> Option<DoctorLine> {
    let program = command.first()?;
    let found = if program.contains('/') {
        Path::new(program).is_file()
    } else {
        let path = std::env::var_os("PATH").unwrap_or_default();
        std::env::split_paths(&path).any(|folder: PathBuf| folder.join(program).is_file())
    };
    Some(if found {
        line("sound", Found::Well, format!("{program} plays it"))
    } else {
        line("sound", Found::Look, format!("{program} is not found"))
            .remedy("install it, or write another player under [sound]")
    })
}

fn terminal() -> DoctorLine {
    let about = "terminal";
    if !io::stdout().is_terminal() {
        return line(about, Found::Well, "none: what is printed goes elsewhere");
    }
    let set = |name: &str| std::env::var(name).ok().filter(|text| !text.is_empty());
    let locale =
        set("LC_ALL").or_else(|| set("LC_CTYPE")).or_else(|| set("LANG")).unwrap_or_default();
    let utf8 = locale.to_ascii_lowercase().replace('-', "").contains("utf8");
    let width = Screen::of_stdout().width.unwrap_or(NARROW);
    if !utf8 {
        return line(
            about,
            Found::Look,
            format!("its locale {locale:?} is not UTF-8: ± and drawings may look wrong"),
        )
        .remedy("set LANG=C.UTF-8");
    }
    if width < NARROW {
        return line(about, Found::Look, format!("{width} columns are few"))
            .remedy("tables and the bench screen want 80");
    }
    line(about, Found::Well, format!("{width} columns, {locale}"))
}
