//! The bench that a command is for: its configuration, its record, its service.

use std::path::PathBuf;

use ::bench::plan::Plan;
use ::record::{Reader, SetAside, StoreError};
use config::{self, Finding, Loaded, NotFound, Surroundings, Whereabouts};
use quantity::{Name, Unit, Wall};
use wire::{LinkKind, LinkStatus};

use super::failure::{About, Failure, REFUSED, Told, UNREACHABLE};
use super::global::Global;
use super::screen;

/// The configuration file to use.
pub(crate) fn config_path(global: &Global) -> Result<PathBuf, Failure> {
    config::find(global.config.as_deref())
        .map_err(|error| Failure::new(REFUSED, error.to_string(), NotFound::HINT))
}

/// What to do where the record is needed and the configuration cannot be read.
const NAME_THE_FOLDER: &str = "see all errors with: tenths config check; or name the bench's state folder in place of a \
     file: --state-folder FOLDER";
const NAME_EITHER: &str = "name it with --config FILE or in TENTHS_CONFIG, or name the bench's state folder: \
     --state-folder FOLDER";

/// Where the record is, whatever else may be wrong in the configuration: a mistake that somebody is just
/// making in a plan must not keep them from taking a touch back. If the folder is named, nothing is read.
pub(crate) fn whereabouts(global: &Global) -> Result<Whereabouts, Failure> {
    let path = config_path(global);
    let known = |path: &PathBuf| {
        let found = config::whereabouts(path);
        found.map_err(|findings| unusable(&findings).hinting(NAME_THE_FOLDER))
    };
    let Some(folder) = &global.state_folder else {
        return known(&path.map_err(|error| error.hinting(NAME_EITHER))?);
    };
    let state = std::path::absolute(folder).unwrap_or_else(|_| folder.clone());
    let written = path.ok().and_then(|path| {
        known(&path).ok().map(|found| found.unit).or_else(|| config::likely_unit(&path))
    });
    let unit = written.or_else(|| unit_of_newest_job(&state)).unwrap_or(Unit::Inch);
    Ok(Whereabouts { state, unit })
}

/// The unit of the newest job's plan: the one people read where nothing says which they want.
fn unit_of_newest_job(state: &std::path::Path) -> Option<Unit> {
    let jobs = Reader::open_with(state, parse_plan).ok()?.jobs().ok()?;
    jobs.last().map(|job| job.plan.plan.unit)
}

/// How the links to the shop are that are configured, those that never ran among them; all that ever ran
/// where no configuration can be read.
pub(crate) fn links(global: &Global, state: &std::path::Path, now: Wall) -> Vec<LinkStatus> {
    let found = shop::standing::links(state);
    let path = config_path(global).ok().filter(|_| global.state_folder.is_none());
    let Some(path) = path else { return found };
    let Some(links) = config::links_of(&path).0 else { return Vec::new() };
    let database = links.database.as_ref().map(|one| (LinkKind::Database, &one.reach));
    let broker = links.broker.as_ref().map(|one| (LinkKind::Broker, &one.reach));
    let configured = database.into_iter().chain(broker);
    configured
        .map(|(link, reach)| {
            let ran = found.iter().find(|one| one.link == link).cloned();
            ran.unwrap_or_else(|| shop::standing::never_ran(link, reach, now))
        })
        .collect()
}

/// The checked configuration; prints every warning and error in it to stderr.
pub(crate) fn loaded_telling_all(global: &Global) -> Result<Loaded, Failure> {
    let checked = config::load(&config_path(global)?);
    for finding in &checked.findings {
        let line = if global.json { wire::finding_line(finding) } else { shown(finding) };
        screen::say(&format!("{line}\n"));
    }
    checked.loaded.ok_or_else(|| unusable(&checked.findings))
}

/// A finding as it is printed: its sentence, then the line that is meant.
pub(crate) fn shown(finding: &Finding) -> String {
    finding.shown().lines().map(wire::printable).collect::<Vec<_>>().join("\n")
}

/// The checked configuration, without a word on what may be wrong with plans.
pub(crate) fn loaded(global: &Global) -> Result<Loaded, Failure> {
    let checked = config::load(&config_path(global)?);
    checked.loaded.ok_or_else(|| unusable(&checked.findings))
}

fn unusable(findings: &[Finding]) -> Failure {
    let errors: Vec<_> = findings.iter().filter(|finding| finding.is_error()).collect();
    let first = errors.first().map_or_else(String::new, |finding| format!("{finding}"));
    let more = match errors.len() {
        0 | 1 => String::new(),
        count => format!(" (and {} more)", count - 1),
    };
    let place = errors.first().map(|finding| (finding.file.clone(), finding.line));
    let (file, line) = place.unwrap_or_default();
    Failure::Told(Told {
        exit: REFUSED,
        text: format!("the configuration cannot be used: {first}{more}"),
        hint: Some("see all errors with: tenths config check".to_owned()),
        about: About::Configuration { file, line },
    })
}

/// The socket of the service.
pub(crate) fn socket(global: &Global) -> Result<PathBuf, Failure> {
    let wrong = match whereabouts(global) {
        Ok(found) => return Ok(found.state.join(config::SOCKET)),
        Err(wrong) => wrong,
    };
    let Ok(path) = config_path(global) else { return Err(wrong) };
    state_in_spite(global, &path, wrong).map(|state| state.join(config::SOCKET))
}

/// The state folder of a running service although `bench.toml` cannot be read; prints that. A mistake that
/// somebody is just making must not keep them from taking a touch back.
fn state_in_spite(
    global: &Global,
    path: &std::path::Path,
    wrong: Failure,
) -> Result<PathBuf, Failure> {
    let runs = |state: &PathBuf| state.join(config::SOCKET).exists();
    let Some(state) = config::likely_states(path).into_iter().find(runs) else {
        return Err(wrong);
    };
    // A script gets the service's answer; a line printed here would count as an error.
    if let (Failure::Told(told), false) = (&wrong, global.json) {
        let told = wire::printable(&told.text);
        screen::say(&format!("tenths: {told}; the service that runs is asked all the same\n"));
    }
    Ok(state)
}

/// The sounds at the bench; the usual ones where no configuration says which.
pub(crate) fn sound(global: &Global) -> config::Sound {
    config_path(global).map(|path| config::sound_of(&path)).unwrap_or_default()
}

/// The record, for looking things up, and the unit people see.
pub(crate) fn record(global: &Global) -> Result<(Reader, Unit), Failure> {
    let Whereabouts { state, unit } = whereabouts(global)?;
    let reader = Reader::open_with(&state, parse_plan).map_err(|error| {
        let placed = matches!(error, StoreError::Missing(_) | StoreError::Denied(_));
        let failure = no_record(error);
        if placed { failure.about(About::Place) } else { failure }
    })?;
    Ok((reader, unit))
}

/// By what the record and the service were looked for: whoever looks in the wrong place has to see that.
pub(crate) fn went_by(global: &Global) -> Option<String> {
    if let Some(folder) = &global.state_folder {
        return Some(format!("--state-folder names {}", folder.display()));
    }
    let (path, why) = chosen(global).ok()?;
    Some(format!("the configuration is {}, {why}", path.display()))
}

/// The configuration file to use, whole, and why it is that one.
pub(crate) fn chosen(global: &Global) -> Result<(PathBuf, &'static str), NotFound> {
    let path = config::find(global.config.as_deref())?;
    let why = if global.config.is_some() {
        "named by --config"
    } else if Surroundings::of_process().config.is_some() {
        "named by TENTHS_CONFIG"
    } else {
        "the first that is there"
    };
    Ok((std::path::absolute(&path).unwrap_or(path), why))
}

/// The exit code of an answer. If something damaged was left out of it, that is an error, reported after what
/// could be read.
pub(crate) fn whole(record: &Reader) -> Result<u8, Failure> {
    whole_but(Vec::new(), record)
}

/// The same, where some damage was found earlier.
pub(crate) fn whole_but(mut left_out: Vec<SetAside>, record: &Reader) -> Result<u8, Failure> {
    for aside in record.left_out() {
        if !left_out.iter().any(|known| known.why == aside.why) {
            left_out.push(aside);
        }
    }
    told(left_out)
}

/// The exit code of an answer that left something out, or nothing.
pub(crate) fn told(left_out: Vec<SetAside>) -> Result<u8, Failure> {
    if left_out.is_empty() {
        return Ok(0);
    }
    let more = left_out.len().saturating_sub(TOLD);
    let mut told: Vec<String> = left_out.into_iter().take(TOLD).map(|aside| aside.why).collect();
    if more > 0 {
        told.push(format!("and {more} more"));
    }
    Err(Failure::new(UNREACHABLE, told.join("; "), DAMAGED))
}

/// At most this many damaged rows are named.
const TOLD: usize = 10;

/// What to do about a damaged record.
const DAMAGED: &str =
    "`tenths verify` lists all damage, `tenths restore FILE` puts a backup in its place";

/// The gauges of the bench; `None` where its configuration cannot be used now.
pub(crate) fn gauges(global: &Global) -> Option<Vec<String>> {
    let loaded = config::load(&config_path(global).ok()?).loaded?;
    Some(loaded.bench.gauges.keys().map(ToString::to_string).collect())
}

/// The present text of a plan's file; `None` where the configuration cannot be used or has no such plan any
/// more.
pub(crate) fn plan_on_disk(global: &Global, plan: &Name) -> Option<String> {
    let loaded = config::load(&config_path(global).ok()?).loaded?;
    loaded.bench.plans.get(plan).map(|plan| plan.text.clone())
}

/// Reads the plan that a job was opened with.
pub(crate) fn parse_plan(text: &str) -> Result<Plan, String> {
    config::parse_plan(text, "plan")
        .map_err(|findings| findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
}

/// The error for a person when the record cannot be read.
pub(crate) fn no_record(error: StoreError) -> Failure {
    let (text, error_passes) = (error.to_string(), error.passes());
    match error {
        StoreError::NoSuchJob { near, .. } if near.is_empty() => {
            Failure::new(REFUSED, text, "see all of them with: tenths job list")
        }
        StoreError::NoSuchName { what: "part" | "check", near, .. } if near.is_empty() => {
            Failure::new(REFUSED, text, "see those of a job with: tenths job show JOB")
        }
        StoreError::NoSuchName { near, .. } if near.is_empty() => {
            Failure::new(REFUSED, text, "see all jobs with: tenths job list")
        }
        StoreError::NoSuchJob { .. } | StoreError::NoSuchName { .. } => {
            Failure::new(REFUSED, text, "type it as it is written there")
        }
        StoreError::SeveralJobs { jobs, by_serial, .. } => {
            let newest = jobs.first().map_or("", String::as_str);
            let which =
                if by_serial { "name the job that is meant" } else { "type it as it is written" };
            Failure::new(REFUSED, text, format!("{which}; the newest is {newest}"))
        }
        StoreError::Exists(_) => Failure::new(REFUSED, text, "choose another name"),
        StoreError::Unfinished(_) => Failure::new(
            REFUSED,
            text,
            "name a whole copy; what a killed `tenths backup` left is removed by the next one there",
        ),
        StoreError::InPlace(_) => Failure::new(REFUSED, text, "name a copy that was made of it"),
        StoreError::Missing(_) => {
            Failure::new(UNREACHABLE, text, "the service makes it at its first start: tenths serve")
        }
        StoreError::Denied(_) => Failure::new(UNREACHABLE, text, IN_THE_GROUP),
        StoreError::Older { .. } => Failure::new(UNREACHABLE, text, KEEP),
        StoreError::Newer { .. } => Failure::new(UNREACHABLE, text, "use the newer tenths"),
        StoreError::NoRoom(_) => Failure::new(UNREACHABLE, text, "make room on that disk"),
        StoreError::Locked { .. } => Failure::new(
            UNREACHABLE,
            text,
            "end that program, or let it give the lock back, and try again",
        ),
        StoreError::Held { .. } => Failure::new(
            UNREACHABLE,
            text,
            "stop that one first, or give this one another `state` under [bench]",
        ),
        StoreError::Vanished { .. } => Failure::new(UNREACHABLE, text, PUT_BACK),
        StoreError::NotOurs(_) => Failure::new(REFUSED, text, AS_OWNER),
        StoreError::Open { .. } => Failure::new(REFUSED, text, TAKE_AWAY),
        StoreError::Damaged { .. } | StoreError::DamagedIn { .. } => {
            Failure::new(UNREACHABLE, text, DAMAGED)
        }
        StoreError::Database(_) if !error_passes => Failure::new(UNREACHABLE, text, DAMAGED),
        StoreError::Foreign
        | StoreError::Meanwhile
        | StoreError::File { .. }
        | StoreError::Database(_) => Failure::plain(UNREACHABLE, text),
    }
}

/// What to do where somebody may not read a record or ask a service.
pub(crate) const IN_THE_GROUP: &str = "be a member of the group that it belongs to, usually: sudo usermod -aG tenths $USER, then log in again";

/// What to do where a record has vanished.
const PUT_BACK: &str = "nothing was changed; check a copy with `tenths verify FILE` and put it in place with \
     `tenths restore FILE`; for a new record, first move all of those files to another folder";

/// What to do where root would serve in a folder of somebody else.
const AS_OWNER: &str = "start it as the user that the folder belongs to: systemctl start tenths, or \
     runuser -u USER -- tenths serve";

/// What to do where others can replace a folder, or put something into it.
const TAKE_AWAY: &str = "take their right to write there (chmod go-w FOLDER), or give the state folder to \
     the user that the service runs as";

/// What to do with a record that an earlier program wrote.
const KEEP: &str = "keep the file, the version that wrote it can read it: move it to another place, \
     and `tenths serve` begins a new record";
