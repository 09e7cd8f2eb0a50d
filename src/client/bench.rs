//! The bench a command is about: its configuration, its record, its service.

use std::path::PathBuf;

use ::bench::plan::Plan;
use config::{self, Finding, Loaded, NotFound, Whereabouts};
use quantity::{Name, Unit};
use store::{Reader, SetAside, StoreError};

use super::failure::{About, Failure, REFUSED, Told, UNREACHABLE};
use super::global::Global;
use super::screen;

/// The configuration file that is meant.
pub(crate) fn config_path(global: &Global) -> Result<PathBuf, Failure> {
    config::find(global.config.as_deref())
        .map_err(|error| Failure::new(REFUSED, error.to_string(), NotFound::HINT))
}

/// What helps where the record is asked for and no configuration can be read.
const NAME_THE_FOLDER: &str = "see all of it with: tenths config check; or name the bench's state folder, \
     then no file is needed: --state-folder FOLDER";
const NAME_EITHER: &str = "name it with --config FILE or in TENTHS_CONFIG, or name the bench's state folder: \
     --state-folder FOLDER";

/// Where the record is, whatever else may be wrong in the configuration: a mistake somebody is
/// just making in a plan must not keep a touch from being taken back. Where the folder is named,
/// nothing has to be read at all.
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

/// The unit of the newest job's drawing: what people read where nothing says what they want.
fn unit_of_newest_job(state: &std::path::Path) -> Option<Unit> {
    let jobs = Reader::open_with(state, parse_plan).ok()?.jobs().ok()?;
    jobs.last().map(|job| job.plan.plan.unit)
}

/// The checked configuration, and on stderr everything that is doubtful or wrong in it.
pub(crate) fn loaded_telling_all(global: &Global) -> Result<Loaded, Failure> {
    let checked = config::load(&config_path(global)?);
    for finding in &checked.findings {
        let line = || wire::printable(&finding.to_string());
        let line = if global.json { wire::finding_line(finding) } else { line() };
        screen::say(&format!("{line}\n"));
    }
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
        hint: Some("see all of it with: tenths config check".to_owned()),
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

/// Where the service's socket and people's unit are, to follow what it tells.
pub(crate) fn service(global: &Global) -> Result<(PathBuf, Unit), Failure> {
    let wrong = match whereabouts(global) {
        Ok(found) => return Ok((found.state.join(config::SOCKET), found.unit)),
        Err(wrong) => wrong,
    };
    let Ok(path) = config_path(global) else { return Err(wrong) };
    let Some(unit) = config::likely_unit(&path) else { return Err(wrong) };
    state_in_spite(global, &path, wrong).map(|state| (state.join(config::SOCKET), unit))
}

/// The state folder in which a service runs although `bench.toml` cannot be read, which is said; a
/// mistake that somebody is just making must not keep a touch from being taken back.
fn state_in_spite(
    global: &Global,
    path: &std::path::Path,
    wrong: Failure,
) -> Result<PathBuf, Failure> {
    let runs = |state: &PathBuf| state.join(config::SOCKET).exists();
    let Some(state) = config::likely_states(path).into_iter().find(runs) else {
        return Err(wrong);
    };
    // A script has the service's answer; what it reads here would be an error.
    if let (Failure::Told(told), false) = (&wrong, global.json) {
        let told = wire::printable(&told.text);
        screen::say(&format!("tenths: {told}; the service that runs is asked all the same\n"));
    }
    Ok(state)
}

/// What is heard at the bench; as usual where no configuration says it.
pub(crate) fn sound(global: &Global) -> config::Sound {
    config_path(global).map(|path| config::sound_of(&path)).unwrap_or_default()
}

/// The record, to look things up, and the unit people see.
pub(crate) fn record(global: &Global) -> Result<(Reader, Unit), Failure> {
    let Whereabouts { state, unit } = whereabouts(global)?;
    let reader = Reader::open_with(&state, parse_plan).map_err(no_record)?;
    Ok((reader, unit))
}

/// The exit code of an answer: where something damaged was left out of it, that is an error, told
/// after what could be read.
pub(crate) fn whole(record: &Reader) -> Result<u8, Failure> {
    whole_but(Vec::new(), record)
}

/// The same, where some of it was asked for already.
pub(crate) fn whole_but(mut left_out: Vec<SetAside>, record: &Reader) -> Result<u8, Failure> {
    for aside in record.left_out() {
        if !left_out.iter().any(|known| known.why == aside.why) {
            left_out.push(aside);
        }
    }
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

/// As many damaged rows are named.
const TOLD: usize = 10;

/// What to do about a damaged record.
const DAMAGED: &str =
    "`tenths verify` tells all that is damaged, `tenths restore FILE` puts a backup in its place";

/// The gauges of the bench; none where its configuration cannot be used now.
pub(crate) fn gauges(global: &Global) -> Option<Vec<String>> {
    let loaded = config::load(&config_path(global).ok()?).loaded?;
    Some(loaded.bench.gauges.keys().map(ToString::to_string).collect())
}

/// The text of a plan as it is on disk now; none where the configuration cannot be used, or has no
/// such plan any more.
pub(crate) fn plan_on_disk(global: &Global, plan: &Name) -> Option<String> {
    let loaded = config::load(&config_path(global).ok()?).loaded?;
    loaded.bench.plans.get(plan).map(|plan| plan.text.clone())
}

/// Reads a plan back that a job was opened with.
pub(crate) fn parse_plan(text: &str) -> Result<Plan, String> {
    config::parse_plan(text, "plan")
        .map_err(|findings| findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
}

/// What a person is told when the record cannot be read.
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

/// What to do where a record has vanished.
const PUT_BACK: &str = "nothing was changed; look through a copy with `tenths verify FILE` and make it the record with \
     `tenths restore FILE`; where a new record is meant, move all of those to another folder first";

/// What to do where root would serve in a folder of somebody else.
const AS_OWNER: &str = "start it as the user that the folder belongs to: systemctl start tenths, or \
     runuser -u USER -- tenths serve";

/// What to do where others could put something else into a folder, or in its place.
const TAKE_AWAY: &str = "take their right to write there (chmod go-w FOLDER), or give the state folder to \
     the user that the service runs as";

/// What to do with a record that an earlier program wrote.
const KEEP: &str = "keep the file, the version that wrote it can read it: move it to another place, \
     and `tenths serve` begins a new record";
