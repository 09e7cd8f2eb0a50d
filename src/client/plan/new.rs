//! `plan new`: a plan from what a person says of parts, checks and limits, or as a copy of one that comes with the
//! program. It is put in place only if `config check` has nothing against it.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use quantity::{Length, Name, Unit};

use super::found::setup;
use crate::ask::{ask, is_attended, unsaid};
use crate::failure::{Failure, REFUSED, UNREACHABLE};
use crate::global::Global;
use crate::new_file::write_new;
use crate::{bench, screen};
use ::bench::plan::{Holding, Measures, Traits};
use ::bench::setup::Setup;
use wire::printable;

/// The plans that come with the program.
const SAMPLES: [(&str, &str); 4] = [
    ("ring", include_str!("../../../config/plans/ring.toml")),
    ("wheelhead", include_str!("../../../config/plans/wheelhead.toml")),
    ("nose", include_str!("../../../config/plans/nose.toml")),
    ("rebuild", include_str!("../../../config/plans/rebuild.toml")),
];

/// The plan to write.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths plan new spacer   # asks for parts, checks and limits
  tenths plan new spacer --check ring/face-a=parallelism:0.0001 --check ring/face-b=parallelism:0.0001
  tenths plan new rebuild --like rebuild   # a copy of one that comes along")]
pub(crate) struct NewArgs {
    /// What the plan is called: the name of its file without .toml
    name: String,
    /// A check: its part and name, what it measures, and its limit, or min..max, in the bench's unit
    #[arg(long = "check", value_name = "PART/CHECK=MEASURES:LIMIT", conflicts_with = "like")]
    checks: Vec<String>,
    /// The gauge of its checks; if left out, the bench's only one
    #[arg(long, value_name = "NAME")]
    gauge: Option<String>,
    /// The radius on which faces are touched, the middle of the land, in the bench's unit
    #[arg(long, value_name = "LENGTH")]
    radius: Option<String>,
    /// Copy this plan, which comes with the program
    #[arg(long, value_name = "PLAN", value_parser = SAMPLES.map(|(name, _)| name))]
    like: Option<String>,
}

/// One check, as it was said.
struct Said {
    part: String,
    check: String,
    traits: &'static Traits,
    limit: Option<String>,
}

pub(super) fn run(global: &Global, args: &NewArgs) -> Result<u8, Failure> {
    let file = file(global, &args.name)?;
    let text = match &args.like {
        Some(like) => sample(like),
        None => written(global, args)?,
    };
    if let Err(findings) = config::parse_plan(&text, &file.display().to_string()) {
        let found: Vec<String> = findings.iter().map(|one| printable(&one.to_string())).collect();
        let text = format!("nothing was written: {}", found.join("; "));
        return Err(Failure::new(REFUSED, text, "say it in another way: tenths plan new --help"));
    }
    put(&file, &text)?;
    screen::sentence(&format!("{} is written.", printable(&file.to_string_lossy())))?;
    // What speaks against it on this bench: a gauge that is not here, one that is too coarse.
    let shown = file.display().to_string();
    let of_file = |finding: &config::Finding| finding.file == shown;
    let findings = config::check_all(&bench::config_path(global)?);
    let mut wrong = false;
    for finding in findings.iter().filter(|finding| of_file(finding)) {
        wrong |= finding.is_error();
        screen::line(&bench::shown(finding))?;
    }
    let name = ::bench::words::typed(&args.name);
    let next = if wrong {
        format!("Mend what is named above; `tenths plan show {name}` shows it.")
    } else {
        format!("`tenths reload`, then: tenths job open NAME --plan {name}")
    };
    screen::sentence(&next)?;
    Ok(if wrong { REFUSED } else { 0 })
}

fn sample(like: &str) -> String {
    let found = SAMPLES.iter().find(|(name, _)| *name == like);
    found.map_or_else(String::new, |(_, text)| (*text).to_owned())
}

/// The file of a plan, which is not there yet.
fn file(global: &Global, name: &str) -> Result<PathBuf, Failure> {
    let wrong = |error| Failure::plain(REFUSED, format!("{name:?}: {error}"));
    Name::new(name).map_err(wrong)?;
    let file = config::plans_folder(&bench::config_path(global)?).join(format!("{name}.toml"));
    if fs::symlink_metadata(&file).is_ok() {
        let text = format!("{} is there already; nothing was written", file.display());
        return Err(Failure::new(REFUSED, text, "choose another name, or edit that file"));
    }
    Ok(file)
}

fn put(file: &Path, text: &str) -> Result<(), Failure> {
    let folder = file.parent().unwrap_or(Path::new("."));
    let written = fs::create_dir_all(folder).and_then(|()| write_new(file, text.as_bytes()));
    written.map_err(|error| {
        let text = format!("cannot write {}: {error}", file.display());
        Failure::new(UNREACHABLE, text, "write it as somebody who may, such as root")
    })
}

/// The text of a plan from what was said of it.
fn written(global: &Global, args: &NewArgs) -> Result<String, Failure> {
    let setup = setup(global)?;
    let gauge = gauge(args, &setup)?;
    let said = if args.checks.is_empty() {
        if !is_attended() {
            return Err(unsaid("--check PART/CHECK=MEASURES:LIMIT, or --like PLAN"));
        }
        asked(setup.unit)?
    } else {
        let read = args.checks.iter().map(|text| read(text, setup.unit));
        read.collect::<Result<Vec<_>, String>>().map_err(|wrong| Failure::plain(REFUSED, wrong))?
    };
    let radius = radius(args, setup.unit, &said)?;
    Ok(text(args, setup.unit, (&gauge, &radius), &said))
}

/// The radius of the faces, where there is one.
fn radius(args: &NewArgs, unit: Unit, said: &[Said]) -> Result<String, Failure> {
    let length = |said: &str| {
        let read = Length::parse_with_unit(said).or_else(|_| Length::parse(said, unit));
        read.map(|_| said.to_owned()).map_err(|error| format!("{said:?}: {error}"))
    };
    match &args.radius {
        Some(radius) => length(radius).map_err(|wrong| Failure::plain(REFUSED, wrong)),
        None if !said.iter().any(|one| one.traits.is_face()) => Ok(String::new()),
        None if is_attended() => {
            let question =
                format!("The radius on which the faces are touched, in {}?", unit.symbol());
            ask(&question, None, length)
        }
        None => Err(unsaid("--radius LENGTH")),
    }
}

fn gauge(args: &NewArgs, setup: &Setup) -> Result<String, Failure> {
    if let Some(gauge) = &args.gauge {
        return Ok(gauge.clone());
    }
    let measure = setup.gauges.iter().filter(|(_, gauge)| !gauge.is_thermometer());
    let all: Vec<&str> = measure.map(|(name, _)| name.as_str()).collect();
    match all.as_slice() {
        [only] => Ok((*only).to_owned()),
        [first, ..] if is_attended() => {
            let question = format!("Which gauge? {}", all.join(", "));
            ask(&question, Some(*first), |said| {
                let known = all.contains(&said);
                if known {
                    Ok(said.to_owned())
                } else {
                    Err("this bench has no such gauge".to_owned())
                }
            })
        }
        _ => Err(unsaid("--gauge NAME")),
    }
}

/// Reads `ring/face-a=parallelism:0.0001`.
fn read(said: &str, unit: Unit) -> Result<Said, String> {
    let form = "write it as PART/CHECK=MEASURES:LIMIT, such as ring/face-a=parallelism:0.0001";
    let (place, what) = said.split_once('=').ok_or_else(|| format!("{said:?}: {form}"))?;
    let (part, check) = place.split_once('/').ok_or_else(|| format!("{said:?}: {form}"))?;
    let (word, limit) =
        what.split_once(':').map_or((what, None), |(word, limit)| (word, Some(limit)));
    let traits = kind(word)?;
    let limit = limit.map(|limit| limits(limit, traits, unit)).transpose()?;
    if limit.is_none() && traits.is_touched() {
        return Err(format!("{said:?} has no limit: {form}"));
    }
    Ok(Said { part: part.to_owned(), check: check.to_owned(), traits, limit })
}

/// A kind that can be described in a line: it needs no other check, and no more than a circle.
fn kind(word: &str) -> Result<&'static Traits, String> {
    let simple: Vec<&'static Traits> = Measures::WORDS
        .iter()
        .filter_map(|(word, _)| Measures::parse(word))
        .filter(|kind| is_simple(kind))
        .collect();
    let found = simple.iter().find(|kind| kind.text() == word);
    found.copied().ok_or_else(|| {
        let words: Vec<&str> = simple.iter().map(|kind| kind.text()).collect();
        format!(
            "{word:?} cannot be asked for here: one of {}; others are written into the file",
            words.join(", ")
        )
    })
}

fn is_simple(kind: &Traits) -> bool {
    let round = kind.goes_round && !kind.reads_a_bar();
    kind.is_answered() || round || (kind.sizes && kind.is_touched())
}

/// A limit as the plan has it: one number, or for a size `min..max`.
fn limits(said: &str, kind: &Traits, unit: Unit) -> Result<String, String> {
    let length = |said: &str| {
        let said = said.trim();
        let read = Length::parse_with_unit(said).or_else(|_| Length::parse(said, unit));
        read.map(|_| said.to_owned()).map_err(|error| format!("{said:?}: {error}"))
    };
    if kind.sizes {
        let (min, max) =
            said.split_once("..").ok_or_else(|| format!("{said:?}: a size has min..max"))?;
        return Ok(format!("min = {:?}\nmax = {:?}\n", length(min)?, length(max)?));
    }
    Ok(format!("tolerance = {:?}\n", length(said)?))
}

/// Asks for parts and checks until an empty answer.
fn asked(unit: Unit) -> Result<Vec<Said>, Failure> {
    let mut all = Vec::new();
    loop {
        let done = if all.is_empty() { "" } else { " (empty: that is all)" };
        let part = ask(&format!("A part?{done}"), None, |said| match said {
            "" if all.is_empty() => Err("a plan has at least one part".to_owned()),
            said => Ok(said.to_owned()),
        })?;
        if part.is_empty() {
            return Ok(all);
        }
        loop {
            let question = format!("A check of {part}, such as face-a? (empty: next part)");
            let check = ask(&question, None, |said| Ok(said.to_owned()))?;
            if check.is_empty() {
                break;
            }
            let traits = ask("What does it measure?", Some("parallelism"), kind)?;
            let limit = if traits.is_touched() {
                let form = if traits.sizes { "min..max" } else { "the limit" };
                let question = format!("{form}, in {}?", unit.symbol());
                Some(ask(&question, None, |said| limits(said, traits, unit))?)
            } else {
                None
            };
            all.push(Said { part: part.clone(), check, traits, limit });
        }
    }
}

/// The text of the plan.
fn text(args: &NewArgs, unit: Unit, (gauge, radius): (&str, &str), said: &[Said]) -> String {
    let mut text = String::new();
    let mut line = |line: String| writeln!(text, "{line}").expect("a String takes everything");
    line(format!(
        "# As it was told to `tenths plan new`. `tenths config keys` has every key.\n\nname = {:?}",
        args.name
    ));
    line(format!("unit = {:?}", unit.to_string()));
    let mut part = None;
    for one in said {
        if part != Some(&one.part) {
            let name = &one.part;
            line(format!(
                "\n[[part]]\nname = {name:?}\nkind = \"other\"                  # spacer, shield, nut, shaft, housing, bearing, bar"
            ));
            part = Some(&one.part);
        }
        line(format!(
            "\n[[part.check]]\nname = {:?}\nmeasures = {:?}",
            one.check,
            one.traits.text()
        ));
        if !one.traits.is_touched() {
            line(format!("question = {:?}", format!("{} of {}?", one.check, one.part)));
            continue;
        }
        line(format!("gauge = {gauge:?}"));
        if let Some(held) = held(one.traits) {
            line(format!("setup = {:?}", held.text()));
        }
        line(format!("positions = {}", if one.traits.sizes { 4 } else { 8 }));
        if one.traits.is_face() {
            line(format!("radius = {radius:?}"));
        }
        line(one.limit.clone().unwrap_or_default().trim_end().to_owned());
        if one.traits.sizes {
            line("master = \"none\"                  # or the size of the one that is touched first: master_size = \"…\"".to_owned());
        }
    }
    text
}

/// The first set-up that can prove a kind; `None` where it needs none.
fn held(kind: &Traits) -> Option<Holding> {
    if kind.held.is_some() {
        return None;
    }
    Holding::ALL.into_iter().find(|held| (kind.cannot_prove)(*held).is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_describes_what_needs_no_other_check_no_bar_and_no_log() {
        let words = Measures::WORDS.iter().map(|(word, _)| *word);
        let (asked, refused): (Vec<&str>, Vec<&str>) = words.partition(|word| kind(word).is_ok());
        let touched_alone =
            ["length", "diameter", "thickness-variation", "parallelism", "flatness"];
        let others = ["runout", "squareness", "face-offset", "confirm", "entry"];
        assert_eq!(asked, [touched_alone, others].concat());
        let rest = ["bar-runout", "difference", "fit", "match", "taper", "end-float", "run-in"];
        assert_eq!(refused, rest);
        for word in rest {
            assert!(kind(word).unwrap_err().contains("written into the file"), "{word}");
        }
    }
}
