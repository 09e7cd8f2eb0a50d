//! `bench.toml` and all files that it names, checked together.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf, absolute};
use std::sync::Arc;

use super::drop::{self, Drop};
use super::finding::{Finding, Level};
use super::gauge::{self, ReadGauge};
use super::people;
use super::place::{MACHINE_STATE, Surroundings, socket_excess};
use super::plan::{self, fit};
use super::port::{self, Port};
use super::profiles::{Folder, Profiles, beside, wanting};
use super::reader::{Document, Table};
use super::shop::{self, Links};
use super::sound::{self, Sound};
use super::station::{self, Device};
use super::text;
use super::words::{Once, RULES, UNITS, UNPROVEN};
use ::gauge::Capture;
use bench::plan::PinnedPlan;
use bench::setup::{GaugeSetup, Setup, StationSetup};
use judgement::Rule;
use quantity::{Name, Unit};

/// The configuration that was read, and all findings about it.
#[derive(Debug)]
pub struct Checked {
    /// Errors and warnings: first those of `bench.toml`, then of profiles, then of plans.
    pub findings: Vec<Finding>,
    /// How many of them, from the first on, are not of plans.
    of_bench: usize,
    /// The bench; `None` when anything but a plan has an error. A plan with an error is only set aside.
    pub loaded: Option<Loaded>,
}

impl Checked {
    /// The errors for which the configuration cannot be used.
    pub fn hold_back(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().take(self.of_bench).filter(|finding| finding.is_error())
    }
}

/// A configuration without errors, except in plans that are set aside. Reading it opens no port and makes
/// no folder, so it can be read again at any time.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The configuration file, absolute.
    pub path: PathBuf,
    /// The state folder, absolute; it may not exist yet.
    pub state: PathBuf,
    /// What measuring and judging need.
    pub bench: Setup,
    /// The ports to open, in the order they are written.
    pub ports: Vec<Port>,
    /// The folders to watch, in the order they are written.
    pub drops: Vec<Drop>,
    /// The sounds at the bench.
    pub sound: Sound,
    /// The pedals and scanners of the stations.
    pub devices: Vec<Device>,
    /// Where record and events are sent on to.
    pub links: Option<Links>,
}

/// Reads a configuration file and everything it names.
#[must_use]
pub fn load(path: &Path) -> Checked {
    load_in(path, &Surroundings::of_process())
}

/// As [`load`], with given surroundings.
#[must_use]
pub fn load_in(path: &Path, around: &Surroundings) -> Checked {
    read(path, around, false)
}

/// The megabytes that the pictures and papers of one job may have together, where bench.toml does not say.
const ATTACHED_MB: i64 = 200;

/// So many days a proof of a gauge counts where nothing else is written (common practice, no source).
const PROOF_DAYS: i64 = 30;

/// Where the record of a bench is, and the unit people see. A question to a running service or to the
/// record needs no more, so errors elsewhere in the configuration do not matter to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Whereabouts {
    /// The state folder, absolute.
    pub state: PathBuf,
    /// The unit people see.
    pub unit: Unit,
}

/// Reads only where the record is.
///
/// # Errors
/// The findings in the `[bench]` table that prevent that.
pub fn whereabouts(path: &Path) -> Result<Whereabouts, Vec<Finding>> {
    let shown = path.display().to_string();
    let (text, full) = read_at(path, &shown).map_err(|finding| vec![finding])?;
    let document = Document::parse(&shown, &text);
    let around = Surroundings::of_process();
    let whole =
        Whole { document: &document, full, shown: path, around: &around, every_profile: false };
    let head = document.root().and_then(|root| Some(whole.head(root.table("bench")?)));
    let known = head.and_then(|head| Some(Whereabouts { state: head.state?, unit: head.unit? }));
    known.ok_or_else(|| {
        let mut findings = document.findings();
        if findings.is_empty() {
            let hint = "begin with [bench] and its unit = \"in\" or \"mm\"".to_owned();
            let (file, text) = (shown.clone(), "there is no [bench]".to_owned());
            let (line, level) = (None, Level::Error);
            findings.push(Finding { file, line, level, text, hint, excerpt: None });
        }
        findings
    })
}

/// The folders where the record of a bench may be, when its `bench.toml` cannot be read now: the one named
/// in its line `state`, then the usual ones. They may not exist.
#[must_use]
pub fn likely_states(path: &Path) -> Vec<PathBuf> {
    let full = absolute(path).unwrap_or_else(|_| path.to_owned());
    let base = full.parent().unwrap_or(Path::new("/"));
    let written = line_in_bench(&full, "state").map(|written| beside(base, &written));
    let usual = PathBuf::from(MACHINE_STATE);
    written.into_iter().chain(Surroundings::of_process().state()).chain([usual]).collect()
}

/// The unit people see, taken from its line in a `bench.toml` that has errors elsewhere.
#[must_use]
pub fn likely_unit(path: &Path) -> Option<Unit> {
    let written = line_in_bench(path, "unit")?;
    UNITS[..2].iter().find(|(word, _)| *word == written).map(|(_, unit)| *unit)
}

/// The text given to a key by a line of the table `[bench]`, whatever the other lines are.
fn line_in_bench(path: &Path, key: &str) -> Option<String> {
    let text = text::read(path, "").ok()?;
    let lines = text.lines().map(str::trim).skip_while(|line| *line != "[bench]").skip(1);
    let mut values = lines.take_while(|line| !line.starts_with('[')).filter_map(|line| {
        let (name, value) = line.split_once('=')?;
        let value = value.trim().strip_prefix('"')?;
        (name.trim() == key).then(|| value.split_once('"').map(|(value, _)| value.to_owned()))?
    });
    values.next()
}

/// The folder of the plans of a bench, as its `bench.toml` names it, whatever else is wrong there.
#[must_use]
pub fn plans_folder(path: &Path) -> PathBuf {
    let full = absolute(path).unwrap_or_else(|_| path.to_owned());
    let written = line_in_bench(&full, "plans").unwrap_or_else(|| "plans".to_owned());
    beside(full.parent().unwrap_or(Path::new("/")), &written)
}

/// Reads only the sounds at the bench; the usual ones where that is not possible.
#[must_use]
pub fn sound_of(path: &Path) -> Sound {
    let shown = path.display().to_string();
    let text = text::read(path, &shown).unwrap_or_default();
    let document = Document::parse(&shown, &text);
    let sound = document.root().map(|root| sound::read(&document, root.table("sound")));
    sound.unwrap_or_default()
}

/// Reads only who has a badge; nobody where that is not possible.
#[must_use]
pub fn people_of(path: &Path) -> Vec<Name> {
    let shown = path.display().to_string();
    let text = text::read(path, &shown).unwrap_or_default();
    let document = Document::parse(&shown, &text);
    let bench = document.root().and_then(|root| root.table("bench"));
    bench.map(|bench| people::read(&bench)).unwrap_or_default()
}

/// Reads a configuration file, or `bench.toml` of a folder, and returns all findings. Every plan and every
/// profile is included, whether or not a gauge names it.
#[must_use]
pub fn check_all(path: &Path) -> Vec<Finding> {
    let around = Surroundings::of_process();
    if path.is_dir() {
        return read(&path.join("bench.toml"), &around, true).findings;
    }
    read(path, &around, true).findings
}

/// The text of a configuration, and its place.
fn read_at(path: &Path, shown: &str) -> Result<(String, PathBuf), Finding> {
    let text = text::read(path, shown).map_err(text::Unread::finding)?;
    Ok((text, absolute(path).unwrap_or_else(|_| path.to_owned())))
}

fn read(path: &Path, around: &Surroundings, every_profile: bool) -> Checked {
    let shown = path.display().to_string();
    let (text, full) = match read_at(path, &shown) {
        Ok(read) => read,
        Err(finding) => return Checked { findings: vec![finding], of_bench: 1, loaded: None },
    };
    let document = Document::parse(&shown, &text);
    let (mut rest, mut of_plans) = (Vec::new(), Vec::new());
    let loaded = document.root().and_then(|root| {
        let whole = Whole { document: &document, full, shown: path, around, every_profile };
        whole.read(root, &mut rest, &mut of_plans)
    });
    document.all_is_described();
    let mut findings = document.findings();
    findings.extend(rest);
    let loaded = loaded.filter(|_| !findings.iter().any(Finding::is_error));
    let of_bench = findings.len();
    findings.append(&mut of_plans);
    Checked { findings, of_bench, loaded }
}

/// The content of `[bench]`.
struct Head {
    name: String,
    unit: Option<Unit>,
    rule: Rule,
    state: Option<PathBuf>,
    /// The folder of the plans as written, or the usual name.
    plans: String,
    profiles: String,
    people: Vec<Name>,
    withholds_unproven: bool,
    proof_days: Option<u32>,
    attached_bytes: u64,
}

/// A configuration file while it is being read.
struct Whole<'w> {
    document: &'w Document<'w>,
    full: PathBuf,
    shown: &'w Path,
    around: &'w Surroundings,
    every_profile: bool,
}

impl Whole<'_> {
    /// Findings in `bench.toml` go into the document, those in plans into `of_plans`, those in other
    /// files into `rest`.
    fn read(
        &self,
        root: Table<'_>,
        rest: &mut Vec<Finding>,
        of_plans: &mut Vec<Finding>,
    ) -> Option<Loaded> {
        root.must_have("bench", "begin with [bench] and its unit = \"in\" or \"mm\"");
        let head = root.table("bench").map(|table| self.head(table));
        let (plans_named, profiles_named) = head.as_ref().map_or_else(
            || ("plans".to_owned(), "profiles".to_owned()),
            |head| (head.plans.clone(), head.profiles.clone()),
        );
        let mut gauges = self.gauges(&root);
        let profiles_path = beside(self.base(), &profiles_named);
        let profiles_shown = self.shown_base().join(&profiles_named);
        let folder = Folder { path: &profiles_path, shown: &profiles_shown };
        let mut profiles = Profiles::new(folder);
        let ports = port::ports(self.document, &gauges, &mut profiles, self.around);
        settle_units(&mut gauges, &ports);
        if self.every_profile {
            profiles.read_all();
        }
        rest.append(&mut profiles.findings);
        let drops = drop::read(self.document, root.tables("drop"), self.base(), &gauges);
        let place = station::Around { base: self.base(), gauges: &gauges };
        let (stations, devices) = station::read(self.document, root.tables("station"), &place);
        let sound = sound::read(self.document, root.table("sound"));
        let shop = shop::read(root.table("shop"), self.base());
        let links = shop.links.clone();
        if self.every_profile {
            shop.with_mark(self.document);
        }
        self.silent(&gauges, &drops);
        root.finish();
        let known = gauges.iter().map(|gauge| (gauge.name.value.clone(), gauge.setup.clone()));
        let known: BTreeMap<Name, Option<GaugeSetup>> = known.collect();
        let plans_path = beside(self.base(), &plans_named);
        let plans_shown = self.shown_base().join(&plans_named);
        let folder = Folder { path: &plans_path, shown: &plans_shown };
        let sweepers: BTreeSet<Name> = gauges.iter().filter_map(sweeper).collect();
        let plans = plans(folder, (&known, &sweepers), of_plans);
        let bench = setup(head.as_ref()?, known, stations, &drops, plans)?;
        let (path, state) = (self.full.clone(), head?.state?);
        Some(Loaded { path, state, bench, ports, drops, sound, devices, links })
    }

    fn base(&self) -> &Path {
        self.full.parent().unwrap_or(Path::new("/"))
    }

    fn shown_base(&self) -> &Path {
        self.shown.parent().unwrap_or(Path::new(""))
    }

    fn head(&self, table: Table<'_>) -> Head {
        table.must_have("unit", "write unit = \"in\" or unit = \"mm\": what people see");
        let unit = table.one_of("unit", &UNITS[..2]).map(|unit| unit.value);
        let rule = table.one_of("rule", &RULES).map_or(Rule::Guarded, |rule| rule.value);
        let name = table.string("name").map_or_else(|| "bench".to_owned(), |name| name.value);
        let state = self.state(&table);
        let plans = self.folder(&table, "plans");
        let profiles = self.folder(&table, "profiles");
        let people = people::read(&table);
        let withholds_unproven =
            table.one_of("unproven", &UNPROVEN).is_some_and(|written| written.value);
        let days = table.integer("proof_days", 0..=3660).map_or(PROOF_DAYS, |days| days.value);
        let proof_days = u32::try_from(days).ok().filter(|days| *days > 0);
        let attached_mb =
            table.integer("attached_mb", 1..=10_000).map_or(ATTACHED_MB, |mb| mb.value);
        let attached_bytes = attached_mb.unsigned_abs() * 1_000_000;
        table.finish();
        Head {
            name,
            unit,
            rule,
            state,
            plans,
            profiles,
            people,
            withholds_unproven,
            proof_days,
            attached_bytes,
        }
    }

    /// A folder that must exist if it is named.
    fn folder(&self, table: &Table<'_>, key: &str) -> String {
        let Some(written) = table.string(key) else { return key.to_owned() };
        if let Some(wanting) = wanting(&beside(self.base(), &written.value)) {
            let text = format!("the folder {} {wanting}", written.value);
            let hint = "make it, or mend its name; it is looked for beside this file";
            self.document.error(written.line, text, hint);
        }
        written.value
    }

    fn state(&self, table: &Table<'_>) -> Option<PathBuf> {
        let written = table.string("state");
        let line = table.line_of("state");
        let state = match written {
            Some(written) => Some(beside(self.base(), &written.value)),
            None if table.has("state") => return None,
            None => self.around.state_of(&self.full),
        };
        let Some(state) = state else {
            let text = "it is not known where to keep the record: there is no home folder";
            self.document.error(line, text, "write state = \"/var/lib/tenths\", say");
            return None;
        };
        let excess = socket_excess(&state);
        if excess > 0 {
            let shown = state.display();
            let text = format!("the state folder {shown} is too deep for its socket");
            let hint = format!("choose one whose path is shorter by {excess} bytes at least");
            self.document.error(line, text, hint);
        }
        Some(state)
    }

    fn gauges(&self, root: &Table<'_>) -> Vec<ReadGauge> {
        let mut names = Once::new("gauges");
        let mut gauges = Vec::new();
        let tables = root.tables("gauge");
        if tables.is_empty() && !root.has("gauge") {
            let text = "there is no [[gauge]]: nothing can be measured";
            self.document.warning(1, text, "add one for each instrument of the bench");
        }
        for table in tables {
            let Some(gauge) = gauge::read(table, self.base()) else { continue };
            names.give(self.document, &gauge.name);
            gauges.push(gauge);
        }
        gauges
    }

    /// Every gauge that sends must be connected to something.
    fn silent(&self, gauges: &[ReadGauge], drops: &[Drop]) {
        use bench::setup::GaugeKind::{Dial, Height, Indicator, Thermometer};
        for gauge in gauges.iter().filter(|gauge| gauge.wire.is_none()) {
            let sends = match gauge.setup.as_ref().map(|setup| setup.kind) {
                Some(Indicator | Height | Thermometer) => true,
                Some(Dial) | None => false,
            };
            if sends && !drops.iter().any(|drop| drop.gauge == gauge.name.value) {
                let text = format!("gauge \"{}\" has no port and no drop", gauge.name.value);
                let hint = "its readings must be keyed in; write its port, or kind = \"dial\"";
                self.document.warning(gauge.name.line, text, hint);
            }
        }
    }
}

/// Gives a gauge on a port the unit of its port, if `bench.toml` states none.
fn settle_units(gauges: &mut [ReadGauge], ports: &[Port]) {
    for port in ports {
        for (name, on_line) in port.gauges.iter().zip(&port.line.gauges) {
            let gauge = gauges.iter_mut().find(|gauge| gauge.name.value == *name);
            if let Some(setup) = gauge.and_then(|gauge| gauge.setup.as_mut()) {
                setup.unit = port::unit_of(&port.line.profile, on_line);
            }
        }
    }
}

/// The name of a gauge that can sweep turns, as far as that is known.
fn sweeper(gauge: &ReadGauge) -> Option<Name> {
    let on_line = gauge.wire.as_ref().map(|wire| wire.on_line.as_ref());
    // Errors in the gauge itself are reported where it is written.
    let sweeps = on_line.is_some_and(|on| on.is_none_or(|on| on.capture == Capture::Sweep));
    sweeps.then(|| gauge.name.value.clone())
}

fn plans(
    folder: Folder<'_>,
    (gauges, sweepers): (&BTreeMap<Name, Option<GaugeSetup>>, &BTreeSet<Name>),
    rest: &mut Vec<Finding>,
) -> Plans {
    let mut plans = Plans::default();
    for stem in folder.stems() {
        let file = folder.shown(&stem);
        let text = match folder.read(&stem) {
            Ok(text) => text,
            Err(unread) => {
                let finding = unread.finding();
                plans.aside.insert(stem, finding.to_string());
                rest.push(finding);
                continue;
            }
        };
        let read = plan::read(&text, &file);
        let mut findings = read.findings;
        if let Some(plan) = &read.plan {
            findings.extend(fit::findings(&file, plan, &read.lines, gauges));
            findings.extend(fit::sweeps(&file, plan, &read.lines, sweepers));
            findings.sort_by_key(|finding| finding.line);
        } else {
            findings.extend(fit::strangers(&file, &read.gauges, gauges));
            findings.sort_by_key(|finding| finding.line);
        }
        let name = Name::new(&stem);
        if let Err(error) = &name {
            let hint = "jobs are opened with the name of the file".to_owned();
            let (text, line, level) = (error.to_string(), None, Level::Error);
            findings.push(Finding { file, line, level, text, hint, excerpt: None });
        }
        let wrong = findings.iter().find(|finding| finding.is_error()).map(ToString::to_string);
        rest.extend(findings.into_iter().map(|finding| finding.placed(&text)));
        match (wrong, name, read.plan) {
            (Some(wrong), _, _) => {
                plans.aside.insert(stem, wrong);
            }
            (None, Ok(name), Some(plan)) => {
                plans.good.insert(name, Arc::new(PinnedPlan { text, plan }));
            }
            (None, _, _) => {}
        }
    }
    plans
}

/// The plans in a folder.
#[derive(Default)]
struct Plans {
    good: BTreeMap<Name, Arc<PinnedPlan>>,
    /// The plans set aside, by the name of their file, with the first error of each.
    aside: BTreeMap<String, String>,
}

fn setup(
    head: &Head,
    gauges: BTreeMap<Name, Option<GaugeSetup>>,
    stations: Vec<StationSetup>,
    drops: &[Drop],
    plans: Plans,
) -> Option<Setup> {
    let gauges = gauges.into_iter().map(|(name, gauge)| Some((name, gauge?)));
    Some(Setup {
        name: head.name.clone(),
        unit: head.unit?,
        rule: head.rule,
        gauges: gauges.collect::<Option<_>>()?,
        stations,
        drops: drops.iter().map(|drop| drop.name.clone()).collect(),
        plans: plans.good,
        plans_aside: plans.aside,
        people: head.people.clone(),
        withholds_unproven: head.withholds_unproven,
        proof_days: head.proof_days,
        attached_bytes: head.attached_bytes,
    })
}

#[cfg(test)]
mod tests;
