//! `[[drop]]`: folders that loggers drop their files into.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::gauge::ReadGauge;
use super::profiles::wanting;
use super::reader::{At, Document, Table};
use super::station::no_such_gauge;
use super::words::{Once, name};
use ::gauge::{Columns, RowFormat};
use quantity::{Name, Unit};

/// A folder that a logger drops its files into.
#[derive(Debug, Clone)]
pub struct Drop {
    /// Its name.
    pub name: Name,
    /// The folder, absolute.
    pub folder: PathBuf,
    /// The gauge that its readings come from.
    pub gauge: Name,
    /// How it is known which check a reading belongs to.
    pub tags: Tags,
    /// How its files are written.
    pub format: RowFormat,
    /// How it is known that a file is whole.
    pub complete: Complete,
    /// How long a file must stand still before it counts as whole, where nothing else shows that, in
    /// microseconds.
    pub quiet_us: u64,
}

impl Drop {
    /// Whether a drop read again is the same, so that its folder can be watched on.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        // Time zones are compared by their name.
        format!("{self:?}") == format!("{other:?}")
    }
}

/// How it is known which check the readings of a dropped file belong to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tags {
    /// By the file's name: `JOB__PART__CHECK*.csv`.
    Name,
    /// By columns of the file.
    Columns,
    /// By the check that is active at the station of its gauge.
    Active,
}

/// How it is known that a dropped file is whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Complete {
    /// Its writer closed it, or it was renamed into the folder.
    Close,
    /// Size and time have stood still for [`Drop::quiet_us`].
    Quiet,
}

const TAGS: [(&str, Tags); 3] =
    [("name", Tags::Name), ("columns", Tags::Columns), ("active", Tags::Active)];

/// Reads the drops; `base` is the folder of the file.
pub(super) fn read(
    document: &Document<'_>,
    tables: Vec<Table<'_>>,
    base: &Path,
    gauges: &[ReadGauge],
) -> Vec<Drop> {
    let mut names = Once::new("drops");
    let mut folders: BTreeMap<PathBuf, u32> = BTreeMap::new();
    let mut drops = Vec::new();
    for table in tables {
        drops.extend(read_one(document, table, base, gauges, (&mut names, &mut folders)));
    }
    drops
}

/// The names and folders of the drops before this one.
type Earlier<'e> = (&'e mut Once, &'e mut BTreeMap<PathBuf, u32>);

fn read_one(
    document: &Document<'_>,
    table: Table<'_>,
    base: &Path,
    gauges: &[ReadGauge],
    (names, folders): Earlier<'_>,
) -> Option<Drop> {
    let drop_name = name(&table);
    if let Some(drop_name) = &drop_name {
        names.give(document, drop_name);
    }
    let folder = folder(&table, base, folders);
    let gauge = gauge(&table, gauges);
    table.must_have("tags", "write tags = \"name\", \"columns\" or \"active\"");
    let tags = table.one_of("tags", &TAGS);
    let columns = columns(&table, tags);
    let unit = gauge.and_then(|gauge| gauge.setup.as_ref());
    let unit = unit.map(|setup| setup.unit.unwrap_or(setup.resolution.unit));
    let format = format(&table, columns, unit);
    let (complete, quiet_us) = complete(&table);
    table.finish();
    Some(Drop {
        name: drop_name?.value,
        folder: folder?,
        gauge: gauge?.name.value.clone(),
        tags: tags?.value,
        format: format?,
        complete,
        quiet_us,
    })
}

fn folder(table: &Table<'_>, base: &Path, folders: &mut BTreeMap<PathBuf, u32>) -> Option<PathBuf> {
    table.must_have("folder", "write folder = \"…\", where the files appear");
    let document = table.document();
    let written = table.string("folder")?;
    let folder = base.join(&written.value);
    if let Some(first) = folders.get(&folder) {
        let text = format!("the folder belongs to another drop, on line {first}");
        document.error(written.line, text, "a file may be taken by one drop only");
        return None;
    }
    folders.insert(folder.clone(), written.line);
    if let Some(wanting) = wanting(&folder) {
        let text = format!("the folder {} {wanting}", folder.display());
        document.warning(written.line, text, "make it; until then its drop is absent");
    }
    Some(folder)
}

fn gauge<'g>(table: &Table<'_>, gauges: &'g [ReadGauge]) -> Option<&'g ReadGauge> {
    table.must_have("gauge", "write gauge = \"…\", the gauge that was read");
    let written: At<String> = table.string("gauge")?;
    let found = gauges.iter().find(|gauge| gauge.name.value.as_str() == written.value);
    if found.is_none() {
        let known: BTreeSet<_> = gauges.iter().map(|gauge| &gauge.name.value).collect();
        no_such_gauge(table.document(), &written, &known);
    }
    found
}

/// The names in the header. `None` where one is missing or wrong, which is a finding.
fn columns(table: &Table<'_>, tags: Option<At<Tags>>) -> Option<Columns> {
    table.must_have("columns", "write columns = { value = \"Value\" }, the names in the header");
    let document = table.document();
    let columns = table.table("columns")?;
    columns.must_have("value", "name the column of the readings: value = \"Value\"");
    let mut lines: BTreeMap<String, &str> = BTreeMap::new();
    let mut one = |key: &'static str| {
        let written = columns.string(key)?;
        if let Some(other) = lines.insert(written.value.clone(), key) {
            let text = format!("{other} and {key} are the same column, \"{}\"", written.value);
            document.error(written.line, text, "name another column, or leave one out");
        }
        Some(written.value)
    };
    let value = one("value");
    let (unit, time, position) = (one("unit"), one("time"), one("position"));
    let tag = (one("job"), one("part"), one("check"));
    if let Some(At { value: Tags::Columns, .. }) = tags {
        for (key, column) in [("job", &tag.0), ("part", &tag.1), ("check", &tag.2)] {
            if column.is_none() && !columns.has(key) {
                let text = format!("tags = \"columns\" needs a column for the {key}");
                let hint = format!("add {key} = \"…\", or let the name of the file say it");
                document.error(columns.line(), text, hint);
            }
        }
    }
    columns.finish();
    let (job, part, check) = tag;
    Some(Columns { value: value?, unit, time, job, part, check, position })
}

/// How the files are written; `unit` is that of the gauge.
fn format(table: &Table<'_>, columns: Option<Columns>, unit: Option<Unit>) -> Option<RowFormat> {
    let delimiters = [(",", b','), (";", b';'), ("\t", b'\t'), ("|", b'|')];
    let delimiter = table.one_of("delimiter", &delimiters).map_or(b',', |at| at.value);
    let decimal = table.one_of("decimal", &[(".", b'.'), (",", b',')]);
    let decimal_line = decimal.map(|at| at.line);
    let decimal = decimal.map_or(b'.', |at| at.value);
    if delimiter == decimal {
        let text = "delimiter and decimal are the same";
        let line = decimal_line.unwrap_or_else(|| table.line_of("delimiter"));
        table.document().error(line, text, "files with a decimal comma use delimiter = \";\"");
    }
    let skip_lines = table.integer("skip_lines", 0..=1000).map_or(0, |at| at.value);
    let time_zone = table.parsed("time_zone", |zone| {
        let unknown = |_| format!("\"{zone}\" is no time zone this machine knows; write \"UTC\" or \"Europe/Berlin\", say");
        jiff::tz::TimeZone::get(zone).map_err(unknown)
    });
    Some(RowFormat {
        columns: columns?,
        delimiter,
        decimal,
        skip_lines: u32::try_from(skip_lines).unwrap_or_default(),
        unit,
        time_zone: time_zone.map(|zone| zone.value),
    })
}

fn complete(table: &Table<'_>) -> (Complete, u64) {
    let quiet = table.one_of("complete", &[("close", false), ("quiet", true)]);
    let quiet_ms = table.integer("quiet_ms", 100..=600_000).map_or(2000, |at| at.value);
    let quiet = quiet.is_some_and(|quiet| quiet.value);
    let complete = if quiet { Complete::Quiet } else { Complete::Close };
    (complete, u64::try_from(quiet_ms).unwrap_or_default() * 1000)
}
