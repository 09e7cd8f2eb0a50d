//! What the three look-ups share: the filter, the forms of output, the length of a table.

use jiff::tz::TimeZone;

use crate::quantity::{Unit, Wall};
use crate::report::{Table, csv_text, day_and_time};
use crate::store::Filter;

use super::args::{Global, QueryArgs};
use super::failure::{Failure, REFUSED};
use super::screen::{self, Screen};

/// Rows of a table when nobody asked for more.
const TABLE_ROWS: usize = 50;

/// How a look-up is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    Json,
    Csv,
    /// A table for a person.
    Table,
}

impl Form {
    pub(crate) const fn of(global: &Global, args: &QueryArgs) -> Self {
        if global.json {
            Self::Json
        } else if args.csv {
            Self::Csv
        } else {
            Self::Table
        }
    }
}

/// The filter, without its state. A table that nobody asked to be whole gets one row more than it
/// shows, to know that there are others.
pub(crate) fn filter(args: &QueryArgs, form: Form) -> Filter {
    let asked = args.last.map(|last| usize::try_from(last).unwrap_or(usize::MAX));
    let short = form == Form::Table && !args.all;
    Filter {
        job: args.job.clone(),
        part: args.part.clone(),
        check: args.check.clone(),
        gauge: args.gauge.clone(),
        since: args.since,
        until: args.until,
        last: asked.or(short.then_some(TABLE_ROWS + 1)),
        all: args.all,
        ..Filter::default()
    }
}

/// The records a table shows of those found, oldest first, and whether older ones are left out.
pub(crate) fn newest<'a, T>(records: &'a [T], args: &QueryArgs) -> (&'a [T], bool) {
    if args.last.is_some() || args.all || records.len() <= TABLE_ROWS {
        return (records, false);
    }
    (&records[records.len() - TABLE_ROWS..], true)
}

/// Finds what a `--state` stands for.
pub(crate) fn state_of<T: Copy>(
    typed: Option<&str>,
    known: &[(&'static str, T)],
) -> Result<Option<T>, Failure> {
    let Some(typed) = typed else { return Ok(None) };
    let found = known.iter().find(|(word, _)| *word == typed).map(|(_, value)| *value);
    found.map(Some).ok_or_else(|| {
        let words: Vec<_> = known.iter().map(|(word, _)| *word).collect();
        Failure::new(
            REFUSED,
            format!("there is no state {typed:?}"),
            format!("one of: {}", words.join(", ")),
        )
    })
}

/// Prints lines of JSON.
pub(crate) fn print_json(lines: &[String]) -> Result<(), Failure> {
    lines.iter().try_for_each(|line| screen::line(line)).map_err(Failure::from)
}

/// Prints lines of JSON as comma separated values.
pub(crate) fn print_csv(columns: &[&str], lines: &[String]) -> Result<(), Failure> {
    let text = csv_text(columns, lines).map_err(|text| Failure::plain(70, text))?;
    Ok(screen::text(&text)?)
}

/// Prints a table that fits the window, and what it leaves out.
pub(crate) fn print_table(table: &Table, none: &str, older: bool) -> Result<(), Failure> {
    if table.is_empty() {
        return Ok(screen::line(none)?);
    }
    let (text, left_out) = table.fitted(Screen::of_stdout().width);
    screen::text(&text)?;
    if older {
        screen::line(&format!(
            "Only the newest {TABLE_ROWS} are shown; --all shows all, --last N the newest N."
        ))?;
    }
    if !left_out.is_empty() {
        screen::line(&format!(
            "No room for: {}. A wider window, --csv or --json has it.",
            left_out.join(", ")
        ))?;
    }
    Ok(())
}

/// The heading of a column of values.
pub(crate) const fn value_title(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "value, in",
        Unit::Millimetre => "value, mm",
        Unit::Micrometre => "value, um",
    }
}

/// A moment in the person's zone.
pub(crate) fn when(at: Wall, zone: &TimeZone) -> String {
    day_and_time(at, zone)
}

#[cfg(test)]
pub(crate) mod tests {
    use clap::Parser;

    use super::*;
    use crate::client::args::{Cli, Command};

    pub(crate) fn args(typed: &[&str]) -> (Global, QueryArgs) {
        let cli = Cli::try_parse_from(["tenths", "readings"].iter().chain(typed)).unwrap();
        let Command::Readings(args) = cli.command else { panic!("{typed:?}") };
        (cli.global, args)
    }

    #[test]
    fn every_filter_reaches_the_record() {
        let (global, args) = args(&[
            "J-1042",
            "--part",
            "inner",
            "--check",
            "face-a",
            "--gauge",
            "plate",
            "--since",
            "2027-03-01",
            "--until",
            "2027-03-02T00:00:00Z",
            "--last",
            "7",
            "--all",
            "--csv",
        ]);
        let form = Form::of(&global, &args);
        assert_eq!(form, Form::Csv);
        let text = |text: &str| Some(text.to_owned());
        let expected = Filter {
            job: text("J-1042"),
            part: text("inner"),
            check: text("face-a"),
            gauge: text("plate"),
            since: Some(Wall::parse("2027-03-01").unwrap()),
            until: Some(Wall::parse("2027-03-02").unwrap()),
            last: Some(7),
            all: true,
            ..Filter::default()
        };
        assert_eq!(filter(&args, form), expected);
    }

    #[test]
    fn a_table_is_short_unless_asked_and_scripts_get_everything() {
        let last = |typed: &[&str]| {
            let (global, args) = args(typed);
            filter(&args, Form::of(&global, &args)).last
        };
        assert_eq!(last(&[]), Some(51));
        assert_eq!(last(&["--all"]), None);
        assert_eq!(last(&["--last", "400"]), Some(400));
        assert_eq!(last(&["--json"]), None);
        assert_eq!(last(&["--csv"]), None);
        let found: Vec<u32> = (0..51).collect();
        let (_, plain) = args(&[]);
        assert_eq!(newest(&found, &plain), (&found[1..], true));
        let (_, all) = args(&["--all"]);
        assert_eq!(newest(&found, &all), (&found[..], false));
    }

    #[test]
    fn an_unknown_state_is_refused_with_the_known_ones() {
        let known = [("placed", 1), ("void", 2)];
        assert_eq!(state_of(Some("void"), &known).unwrap(), Some(2));
        assert_eq!(state_of(None, &known).unwrap(), None);
        let Err(Failure::Told(said)) = state_of(Some("viod"), &known) else { panic!("refused") };
        assert_eq!((said.exit, said.hint.as_deref()), (2, Some("one of: placed, void")));
    }
}
